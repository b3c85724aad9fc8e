"""Tuning by ear: what is compared, and how far it is off."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import FretboardError
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import STANDARD, TUNINGS, Tuning
from fretwright.fretboard.tuning_steps import steps_by_frets, steps_by_harmonics


def test_the_frets_of_the_usual_way() -> None:
    """Fret five, and four between the third and the second string: common practice, no source."""
    steps = steps_by_frets(STANDARD)
    assert [(step.reference.place.string, step.reference.place.fret) for step in steps] == [
        (6, 5), (5, 5), (4, 5), (3, 4), (2, 5)
    ]  # fmt: skip
    assert {step.own.place.fret for step in steps} == {0}


@given(st.sampled_from(sorted(TUNINGS)))
def test_what_is_compared_by_frets_sounds_the_same(name: str) -> None:
    tuning = TUNINGS[name]
    neck = Neck(tuning)
    steps = steps_by_frets(tuning)
    assert [step.string for step in steps] == list(reversed(tuning.strings[:-1]))
    for step in steps:
        assert neck.midi_at(step.reference.place) == neck.midi_at(step.own.place)
        assert step.reference.place.string > step.own.place.string
        assert step.beats_per_s == pytest.approx(0, abs=1e-9)


def test_harmonics_of_the_two_thickest_strings() -> None:
    """330.000 against 329.628 Hz, 1.955 cents: computed (ISO 16, A4 = 440 Hz)."""
    step = steps_by_harmonics(STANDARD)[0]
    assert (step.reference.place, step.reference.partial) == (Place(6, 5), 4)
    assert (step.own.place, step.own.partial) == (Place(5, 7), 3)
    assert step.reference.frequency_hz == pytest.approx(329.628, abs=5e-4)
    assert step.own.frequency_hz == pytest.approx(330.0, abs=5e-4)
    assert step.off_cents == pytest.approx(-1.955, abs=5e-4)
    assert step.beats_per_s == pytest.approx(0.372, abs=1e-3)


def test_the_errors_add_up() -> None:
    off = [round(step.off_in_all_cents, 3) for step in steps_by_harmonics(STANDARD)]
    assert off == [-1.955, -3.91, -5.865, 1.955, 0.0]


@given(st.sampled_from(sorted(TUNINGS)))
def test_harmonics_that_do_not_beat_are_alike(name: str) -> None:
    tuning = TUNINGS[name]
    for step in steps_by_harmonics(tuning):
        own_open = tuning.open_pitch(step.string).frequency_hz() * 2 ** (step.off_cents / 1200)
        assert own_open * step.own.partial == pytest.approx(step.reference.frequency_hz)
        assert max(step.own.partial, step.reference.partial) > 1
        fret = step.own.place.fret
        if step.own.is_harmonic:
            assert fret == round(12 * math.log2(step.own.partial / (step.own.partial - 1)))


def test_a_string_too_far_from_all_others() -> None:
    with pytest.raises(FretboardError, match="octave"):
        steps_by_frets(Tuning.parse("E1 A1 D2 G4"))


def test_a_string_below_the_one_before_it_is_fretted_itself() -> None:
    steps = steps_by_frets(Tuning.parse("GCEA"))
    assert steps[0].reference.place == Place(4, 0)
    assert steps[0].own.place == Place(3, 7)
