"""Techniques in MIDI, as independent readers find them (mido for events, pretty_midi for notes)."""

from dataclasses import replace
from fractions import Fraction
from io import BytesIO
from itertools import pairwise

import mido
import pretty_midi
import pytest
from hypothesis import HealthCheck, given, settings

from fretwright.exchange.midi_out import WHEEL_SEMITONES, MidiOptions, write_midi
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.techniques import (
    Bend,
    Grace,
    Harmonic,
    HarmonicKind,
    Techniques,
    Trill,
    Vibrato,
    bend_and_release,
    bend_up,
    pre_bend,
)
from fretwright.score.values import SIXTEENTH
from plate_scores import written
from strategies import technique_scores

NECK = Neck(frets=24)


def asked(text: str, techniques: Techniques, attack: Attack = Attack.PLUCK) -> Score:
    """A score with something asked of its first note, at 80 quarters a minute: a whole note lasts 3 s."""
    score = written(text, neck=NECK)
    first = replace(score.notes[0], techniques=techniques, attack=attack)
    return score.with_notes((first, *score.notes[1:]))


def read(score: Score) -> pretty_midi.PrettyMIDI:
    return pretty_midi.PrettyMIDI(BytesIO(write_midi(score)))


def notes(score: Score) -> list[tuple[float, float, int]]:
    found = [(each.start, each.end, each.pitch) for part in read(score).instruments for each in part.notes]
    return sorted((round(start, 3), round(end, 3), pitch) for start, end, pitch in found)


def bends(score: Score) -> list[tuple[float, float]]:
    """Times and semitones of the pitch wheel."""
    parts = read(score).instruments
    return [(each.time, each.pitch / 8192 * WHEEL_SEMITONES) for part in parts for each in part.pitch_bends]


@pytest.mark.parametrize(
    ("bend", "heights"),
    [
        # 3 s long: semitones after 0, 1/3, 1/2 and 9/10 of it
        (bend_up(Fraction(2)), (0.0, 2.0, 2.0, 2.0)),
        (bend_and_release(Fraction(1)), (0.0, 1.0, 1.0, 0.0)),
        (pre_bend(Fraction(3)), (3.0, 3.0, 3.0, 3.0)),
    ],
)
def test_a_bend_reaches_its_target_on_its_curve(bend: Bend, heights: tuple[float, ...]) -> None:
    found = bends(asked("w2/8", Techniques(bend=bend)))
    for at_s, height in zip((0.0, 1.0, 1.5, 2.7), heights, strict=True):
        before = [semitones for time, semitones in found if time <= at_s + 0.03]
        assert before[-1] == pytest.approx(height, abs=0.06)
    assert found[-1][0] == pytest.approx(3.0, abs=0.01)
    assert found[-1][1] == 0.0


def test_the_wheels_range_is_set_before_the_first_note() -> None:
    score = asked("w2/8", Techniques(bend=bend_up(Fraction(2))))
    (track,) = mido.MidiFile(file=BytesIO(write_midi(score))).tracks[1:]
    controls = [(each.control, each.value) for each in track if each.type == "control_change"]
    # registered parameter 0 (101 = 0, 100 = 0): semitones in controller 6 (MIDI 1.0 detailed specification)
    assert controls[:4] == [(101, 0), (100, 0), (6, 12), (38, 0)]
    kinds = [each.type for each in track]
    assert kinds.index("pitchwheel") < kinds.index("note_on")


def test_a_vibrato_swings_as_wide_and_as_fast_as_it_is_asked() -> None:
    found = bends(asked("w2/8", Techniques(vibrato=Vibrato(5.0, 80.0))))[:-1]
    heights = [semitones for _, semitones in found]
    assert max(heights) - min(heights) == pytest.approx(0.8, rel=0.05)
    turns = sum(1 for a, b in pairwise(heights) if a <= 0 < b)
    assert turns == pytest.approx(15, abs=1)  # 5 swings a second for 3 s


def test_other_strings_are_not_bent_along() -> None:
    score = written("w2/8+3/7", neck=NECK)
    high = replace(score.notes[1], techniques=Techniques(bend=bend_up(Fraction(2))))
    (track,) = mido.MidiFile(file=BytesIO(write_midi(score.with_notes((score.notes[0], high))))).tracks[1:]
    on = {each.note: each.channel for each in track if each.type == "note_on"}
    bent = {each.channel for each in track if each.type == "pitchwheel"}
    assert bent == {on[high.midi]}
    assert on[score.notes[0].midi] not in bent


def test_a_trill_alternates_and_fills_its_time() -> None:
    other = Trill(10, NECK.pitch_at(Place(2, 10)), SIXTEENTH)
    found = notes(asked("h2/8 h2/5", Techniques(trill=other)))[:-1]
    assert [pitch for _, _, pitch in found] == [67, 69] * 4  # eight sixteenths of G4 and A4
    assert found[-1][1] == pytest.approx(1.5, abs=0.01)


def test_a_tremolo_strikes_again_and_again() -> None:
    found = notes(asked("h2/8 h2/5", Techniques(tremolo=SIXTEENTH)))[:-1]
    assert [pitch for _, _, pitch in found] == [67] * 8


def test_a_small_note_comes_just_before_the_beat() -> None:
    score = written("h2/5 h2/8", neck=NECK)
    place = Place(2, 7)
    small = Techniques(graces=(Grace(place, NECK.pitch_at(place)),))
    second = replace(score.notes[1], techniques=small, attack=Attack.HAMMER_ON)
    found = notes(score.with_notes((score.notes[0], second)))
    main = next(each for each in found if each[2] == 67)
    grace = next(each for each in found if each[2] == 66)
    assert main[0] == pytest.approx(1.5, abs=0.001)
    assert grace[0] < grace[1] <= main[0] + 0.001


def test_harmonics_stand_at_their_sounding_pitch() -> None:
    harmonic = Harmonic(HarmonicKind.NATURAL, 7)
    score = asked("w3/7", Techniques(harmonic=harmonic))
    sounding = replace(score.notes[0], pitch=NECK.pitch_at(Place(1, 10)))  # D5, third partial of G3
    assert [pitch for _, _, pitch in notes(score.with_notes((sounding,)))] == [74]


def test_staccato_is_half_as_long_and_what_rings_goes_on() -> None:
    assert notes(asked("q2/8 q2/5 h2/3", Techniques(staccato=True)))[0] == (0.0, 0.375, 67)
    ringing = notes(asked("q2/8 q3/5 h3/3", Techniques(let_ring=True)))
    assert ringing[0] == (0.0, 0.75, 67)  # the next note of its voice ends the passage
    score = written("q2/8 q3/5 h3/3", neck=NECK)
    all_ring = tuple(replace(note, techniques=Techniques(let_ring=True)) for note in score.notes)
    assert notes(score.with_notes(all_ring))[0] == (0.0, 3.0, 67)


@given(technique_scores())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_score_can_be_written_both_ways(score: Score) -> None:
    for options in (MidiOptions(), MidiOptions(track_per_string=True)):
        data = write_midi(score, options)
        assert data == write_midi(score, options)
        tracks = mido.MidiFile(file=BytesIO(data)).tracks
        on = sum(1 for track in tracks for each in track if each.type == "note_on")
        off = sum(1 for track in tracks for each in track if each.type == "note_off")
        assert on == off > 0
        assert not any(getattr(each, "channel", 0) == 9 for track in tracks for each in track)
