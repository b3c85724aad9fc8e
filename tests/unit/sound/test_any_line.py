"""What must hold for every line that a score can hold, and on every tuning."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.base.units import midi_to_hz
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS, Tuning
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH, HALF, QUARTER, SIXTEENTH, WHOLE
from fretwright.sound.loudness import true_peak_dbtp
from fretwright.sound.render import LEAD_S, SoundOptions, click_track, render
from fretwright.sound.voices import ACOUSTIC_STEEL, VOICES
from fretwright.theory.key import Key
from unit.sound.listening import Item, mono, score_of, sounding_hz, stretch


@st.composite
def lines(draw: st.DrawFn) -> list[Item]:
    """Up to ten notes and rests; a slur may leave a note that has long been damped."""
    items: list[Item] = []
    played: set[int] = set()
    for _ in range(draw(st.integers(1, 10))):
        value = draw(st.sampled_from([SIXTEENTH, EIGHTH, QUARTER]))
        if draw(st.integers(0, 4)) == 0:
            items.append(value)
            continue
        string = draw(st.integers(1, 6))
        attack = draw(st.sampled_from(list(Attack))) if string in played else Attack.PLUCK
        played.add(string)
        items.append((string, draw(st.integers(0, 22)), value, attack))
    return items


@given(lines(), st.sampled_from([30.0, 97.0, 400.0]), st.sampled_from(list(VOICES.values())))
@settings(max_examples=25)
def test_any_line_is_finite_in_range_and_in_order(items: list[Item], bpm: float, voice: object) -> None:
    assert voice in VOICES.values()
    score = score_of(items, bpm)
    chosen = next(known for known in VOICES.values() if known is voice)
    sound = render(score, voice=chosen, options=SoundOptions(click=True))
    assert np.isfinite(sound.samples).all()
    assert true_peak_dbtp(sound.samples.astype(np.float64)) <= -1.0
    onsets = [note.onset_s for note in sound.time_map]
    assert onsets == sorted(onsets)
    assert [note.note_id for note in sound.time_map] == [note.id for note in score.notes]
    assert all(note.duration_s > 0 for note in sound.time_map)
    assert sound.music_ends_s <= sound.duration_s


def test_a_score_of_rests_is_silence() -> None:
    sound = render(score_of([WHOLE]))
    assert not sound.samples.any()
    assert sound.time_map == ()


@pytest.mark.parametrize("tuning", TUNINGS.values(), ids=str)
def test_every_tuning_is_in_tune_at_its_lowest_and_highest(tuning: Tuning) -> None:
    neck = Neck(tuning, scale_length_mm=864.0 if "bass" in tuning.name else 648.0)
    for place in (Place(tuning.string_count, 0), Place(1, 12)):
        events = [Event(WHOLE, (Head(place, neck.pitch_at(place)),))]
        heading = Heading("x", "X", neck, Key(0), TempoMap.constant(100))
        sound = render(assemble(heading, into_bars(events)))
        wanted = midi_to_hz(neck.midi_at(place))
        heard = sounding_hz(stretch(mono(sound.samples), LEAD_S + 0.1, LEAD_S + 1.6), wanted)
        assert abs(1200 * np.log2(heard / wanted)) < 1.5


def test_a_capo_moves_the_pitch_and_nothing_else() -> None:
    from dataclasses import replace

    plain = score_of([(2, 5, HALF, Attack.PLUCK), HALF])
    neck = Neck(capo=2)
    place = Place(2, 3)
    note = replace(plain.notes[0], place=place, pitch=neck.pitch_at(place))
    under_capo = replace(plain, neck=neck, notes=(note,))
    np.testing.assert_array_equal(render(plain).samples, render(under_capo).samples)


def test_notes_of_one_moment_sound_together() -> None:
    """Not yet written by any course, but the model has room for it."""
    neck = Neck()
    heads = tuple(Head(p, neck.pitch_at(p)) for p in (Place(5, 3), Place(4, 2), Place(3, 0)))
    heading = Heading("x", "X", neck, Key(0), TempoMap.constant(60))
    sound = render(assemble(heading, into_bars([Event(WHOLE, heads)])), voice=ACOUSTIC_STEEL)
    assert len({note.onset_s for note in sound.time_map}) == 1
    signal = stretch(mono(sound.samples), LEAD_S + 0.1, LEAD_S + 1.1)
    for midi in (48, 52, 55):
        assert abs(1200 * np.log2(sounding_hz(signal, midi_to_hz(midi)) / midi_to_hz(midi))) < 2.0


def test_a_click_track_needs_no_notes() -> None:
    clicks = click_track(score_of([WHOLE], 120), count_in=False)
    assert clicks.music_starts_s == LEAD_S
    assert np.abs(clicks.samples).max() > 0.1
