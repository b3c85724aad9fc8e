"""Bends and vibrato, on tones whose course of pitch is known to the cent."""

from fractions import Fraction

import numpy as np
import pytest

from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.bends import heard_bend
from fretwright.ear.curves import Curve, pitch_curve
from fretwright.ear.listen import listen
from fretwright.ear.take import RATE_HZ, Take
from fretwright.ear.verdicts import BendVerdict, Hearing, Verdict, VibratoVerdict
from fretwright.ear.vibrato import heard_vibrato
from fretwright.fretboard.neck import Neck
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.score import Score
from fretwright.score.techniques import (
    PLAIN,
    USUAL_VIBRATO,
    WIDE_VIBRATO,
    Bend,
    Techniques,
    bend_and_release,
    bend_up,
    pre_bend,
    pre_bend_and_release,
)
from fretwright.score.tempo import Ladder, TempoMap
from fretwright.score.timeline import timeline
from fretwright.score.values import HALF
from fretwright.theory.key import Key
from scores import head

WHOLE_TONE = Fraction(2)
HERTZ = 440.0
CORNERS = {
    "up": ([0.0, 0.4], [0.0, 200.0]),
    "up and back": ([0.0, 0.3, 0.7, 1.0], [0.0, 200.0, 200.0, 0.0]),
    "pulled before": ([0.0], [200.0]),
    "pulled before and let down": ([0.0, 0.6, 0.9], [200.0, 200.0, 0.0]),
}
BENDS = {
    "up": bend_up(WHOLE_TONE),
    "up and back": bend_and_release(WHOLE_TONE),
    "pulled before": pre_bend(WHOLE_TONE),
    "pulled before and let down": pre_bend_and_release(WHOLE_TONE),
}


def tone(hertz: float, cents: Floats, stiffness: float = 8e-5) -> Samples:
    """A dying string whose partials are stretched by its stiffness (Fletcher 1964), at a pitch that moves."""
    time_s = np.arange(len(cents)) / RATE_HZ
    out = np.zeros(len(cents))
    for partial in range(1, 9):
        stretched = partial * np.sqrt((1 + stiffness * partial**2) / (1 + stiffness))
        phase = 2 * np.pi * np.cumsum(stretched * hertz * 2 ** (cents / 1200)) / RATE_HZ
        out += np.sin(phase + partial) * np.exp(-time_s * (0.8 + 0.5 * partial)) / partial
    noisy = 0.2 * out + np.random.default_rng(3).normal(0, 1e-3, len(out))
    return noisy.astype(np.float32)


def course(corners: tuple[list[float], list[float]], length_s: float = 1.4, off: float = 0.0) -> Floats:
    """Straight lines between corners; ``off`` is added to the top."""
    times_s, cents = corners
    levels = [level + off if level == max(cents) else level for level in cents]
    found: Floats = np.interp(np.arange(round(length_s * RATE_HZ)) / RATE_HZ, times_s, levels)
    return found


def curve_of(cents: Floats, hertz: float = HERTZ) -> Curve:
    return pitch_curve(tone(hertz, cents), (0.0, len(cents) / RATE_HZ - 0.03), hertz, (-150.0, 450.0))


@pytest.mark.parametrize("hertz", [110.0, 233.08, 440.0, 932.33])
@pytest.mark.parametrize("name", CORNERS)
def test_a_course_of_pitch_is_followed_to_some_cents(name: str, hertz: float) -> None:
    cents = course(CORNERS[name])

    curve = curve_of(cents, hertz)

    inside = (curve.times_s > 0.05) & (curve.times_s < 1.25)
    true = np.interp(curve.times_s, np.arange(len(cents)) / RATE_HZ, cents)
    assert curve.is_clear
    assert np.abs(curve.cents - true)[inside].max() < 12
    assert np.median(np.abs(curve.cents - true)[inside]) < 2


@pytest.mark.parametrize("off", [-60.0, -15.0, 0.0, 45.0])
@pytest.mark.parametrize("name", CORNERS)
def test_where_a_bend_arrives_is_told(name: str, off: float) -> None:
    told = heard_bend(curve_of(course(CORNERS[name], off=off)), BENDS[name], swings=False)

    assert told.off_cents == pytest.approx(off, abs=5)
    assert told.reached_cents == pytest.approx(200 + off, abs=5)
    expected = BendVerdict.SHORT if off < -20 else BendVerdict.SHARP if off > 20 else BendVerdict.REACHED
    assert told.verdict is expected
    assert (told.reach_ms is None) == BENDS[name].starts_bent
    assert (told.start_off_cents is None) == (not BENDS[name].starts_bent)
    assert (told.end_off_cents is None) == (not BENDS[name].is_released)


def test_how_long_a_bend_takes_is_told() -> None:
    told = heard_bend(curve_of(course(([0.0, 0.5], [0.0, 200.0]))), bend_up(WHOLE_TONE), swings=False)

    # it is within 20 cents after nine tenths of the way
    assert told.reach_ms == pytest.approx(450, abs=25)


def test_a_string_that_was_not_pulled_falls_short_by_all_of_it() -> None:
    told = heard_bend(curve_of(np.zeros(RATE_HZ)), bend_up(WHOLE_TONE), swings=False)

    assert told.verdict is BendVerdict.SHORT
    assert told.reached_cents == pytest.approx(0, abs=4)


def test_a_bend_that_does_not_come_all_the_way_back_is_told() -> None:
    cents = course(([0.0, 0.3, 0.7, 1.0], [0.0, 200.0, 200.0, 40.0]))

    told = heard_bend(curve_of(cents), bend_and_release(WHOLE_TONE), swings=False)

    assert told.end_off_cents == pytest.approx(40, abs=4)


@pytest.mark.parametrize("rate_hz", [4.0, 5.5, 7.0])
@pytest.mark.parametrize("width_cents", [25.0, 60.0, 120.0])
def test_rate_and_width_of_a_vibrato_are_told(rate_hz: float, width_cents: float) -> None:
    time_s = np.arange(round(1.2 * RATE_HZ)) / RATE_HZ
    cents = 0.5 * width_cents * np.sin(2 * np.pi * rate_hz * time_s)

    told = heard_vibrato(curve_of(cents), USUAL_VIBRATO)

    assert told.verdict is VibratoVerdict.SWINGS
    assert told.rate_hz == pytest.approx(rate_hz, rel=0.02)
    assert told.width_cents == pytest.approx(width_cents, rel=0.06)


def test_a_still_note_has_no_vibrato() -> None:
    assert heard_vibrato(curve_of(np.zeros(RATE_HZ)), USUAL_VIBRATO).verdict is VibratoVerdict.STILL


def test_of_a_note_that_is_short_or_hidden_nothing_is_told(rng: np.random.Generator) -> None:
    short = curve_of(np.zeros(round(0.2 * RATE_HZ)))
    hiss = pitch_curve(rng.normal(0, 0.1, RATE_HZ).astype(np.float32), (0.0, 0.9), HERTZ, (-150.0, 450.0))
    outside = pitch_curve(np.zeros(100, dtype=np.float32), (0.0, 1.0), HERTZ, (-150.0, 450.0))

    assert heard_vibrato(short, USUAL_VIBRATO).verdict is VibratoVerdict.UNSURE
    assert heard_bend(hiss, bend_up(WHOLE_TONE), swings=False).verdict is BendVerdict.UNSURE
    assert heard_bend(outside, bend_up(WHOLE_TONE), swings=False).verdict is BendVerdict.UNSURE
    assert heard_vibrato(outside, USUAL_VIBRATO).verdict is VibratoVerdict.UNSURE


def exercise(bends: dict[int, Techniques]) -> Score:
    """Halves at 80 beats a minute, some with a bend or a vibrato."""
    neck = Neck()
    events = [
        Event(HALF, (written(head(word, neck), bends.get(index, PLAIN)),))
        for index, word in enumerate(["3/5", "3/7", "2/5", "2/8", "1/5", "1/8", "2/8", "2/5"])
    ]
    return assemble(Heading("bends", "Bends", neck, Key(0), TempoMap.constant(80)), into_bars(events))


def written(one: Head, techniques: Techniques) -> Head:
    return Head(one.place, one.pitch, one.attack, techniques=techniques)


def heard(score: Score, tops: dict[int, tuple[list[float], list[float]]]) -> Hearing:
    played = timeline(score)
    out = (
        np.random.default_rng(1).normal(0, 1e-3, round((played.length_s + 1.5) * RATE_HZ)).astype(np.float32)
    )
    for index, timed in enumerate(played.notes):
        cents = course(tops.get(index, ([0.0], [0.0])), 1.45)
        note = tone(440.0 * 2 ** ((timed.note.midi - 69) / 12), cents)
        note[-200:] *= np.linspace(1, 0, 200, dtype=np.float32)
        start = round((0.5 + timed.onset_s) * RATE_HZ)
        out[start : start + len(note)] += note[: len(out) - start]
    found = listen(Take(out), played, Ladder(60, 120))
    assert isinstance(found, Hearing)
    return found


def test_bent_notes_are_played_as_written_and_add_none() -> None:
    bends: dict[int, Bend] = dict(zip((1, 3, 5, 6), BENDS.values(), strict=True))
    score = exercise({index: Techniques(bend=bend) for index, bend in bends.items()})

    found = heard(score, dict(zip((1, 3, 5, 6), CORNERS.values(), strict=True)))

    assert [note.verdict for note in found.notes] == [Verdict.PLAYED] * 8
    assert found.extras == ()
    told = [note.bend.verdict if note.bend is not None else None for note in found.notes]
    assert told == [BendVerdict.REACHED if index in bends else None for index in range(8)]
    assert all((note.pitch_cents is None) == (note.bend is not None) for note in found.notes)


def test_the_headline_names_a_bend_that_falls_short() -> None:
    score = exercise({3: Techniques(bend=bend_up(WHOLE_TONE)), 5: Techniques(vibrato=USUAL_VIBRATO)})

    found = heard(score, {3: ([0.0, 0.4], [0.0, 140.0])})

    assert found.notes[3].bend is not None
    assert found.notes[3].bend.off_cents == pytest.approx(-60, abs=6)
    assert found.advice.headline.startswith("The bend on the second note of bar 2 falls short by ")
    assert found.notes[5].vibrato is not None
    assert found.notes[5].vibrato.verdict is VibratoVerdict.STILL
    assert found.advice.observations[0].startswith("No vibrato was heard on the second note of bar 3")


def test_a_last_note_that_swings_widely_for_long_is_no_second_time_through() -> None:
    score = exercise({7: Techniques(vibrato=WIDE_VIBRATO)})
    played = timeline(score)
    out = np.random.default_rng(1).normal(0, 1e-3, round((played.length_s + 4) * RATE_HZ)).astype(np.float32)
    for index, timed in enumerate(played.notes):
        time_s = np.arange(round((5.0 if index == 7 else 1.45) * RATE_HZ)) / RATE_HZ
        cents = 60 * np.sin(2 * np.pi * 5 * time_s) if index == 7 else 0 * time_s
        note = tone(440.0 * 2 ** ((timed.note.midi - 69) / 12), cents)
        start = round((0.5 + timed.onset_s) * RATE_HZ)
        out[start : start + len(note)] += note[: len(out) - start]

    found = listen(Take(out), played, Ladder(60, 120))

    assert isinstance(found, Hearing)
    assert len(found.passes) == 1
    assert [note.verdict for note in found.notes] == [Verdict.PLAYED] * 8
    assert found.extras == ()
    # it swings: its pitch is not off
    assert found.notes[7].pitch_cents is None


def test_a_second_pluck_inside_a_bent_note_is_one_too_many() -> None:
    score = exercise({1: Techniques(bend=bend_up(WHOLE_TONE))})
    played = timeline(score)
    found = heard(score, {1: CORNERS["up"]})
    assert found.extras == ()

    out = np.zeros(round((played.length_s + 1.5) * RATE_HZ), dtype=np.float32)
    for index, timed in enumerate(played.notes):
        pieces = {0.0: course(CORNERS["up"] if index == 1 else ([0.0], [0.0]), 0.8 if index == 1 else 1.45)}
        if index == 1:
            pieces[0.8] = np.full(round(0.65 * RATE_HZ), 200.0)
        for at_s, cents in pieces.items():
            note = tone(440.0 * 2 ** ((timed.note.midi - 69) / 12), cents)
            start = round((0.5 + timed.onset_s + at_s) * RATE_HZ)
            out[start : start + len(note)] += note[: len(out) - start]
    again = listen(Take(out), played, Ladder(60, 120))

    assert isinstance(again, Hearing)
    assert len(again.extras) == 1
