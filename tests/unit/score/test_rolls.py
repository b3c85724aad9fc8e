"""Rolled chords in time: every note on its own, in the order that the page says."""

from dataclasses import replace
from itertools import pairwise

import pytest

from fretwright.score.note import Note
from fretwright.score.score import Score
from fretwright.score.techniques import Roll, Stroke, Techniques
from fretwright.score.timeline import TimedNote, timeline
from plate_scores import written

CHORD = "h5/3+4/2+3/0+2/1+1/0 h5/0+4/2+3/2+2/1+1/0"


def rolled(roll: Roll, text: str = CHORD, stroke: Stroke | None = None) -> Score:
    score = written(text)
    return score.with_notes(
        tuple(replace(note, techniques=Techniques(roll=roll), stroke=stroke) for note in score.notes)
    )


def first_chord(score: Score, bpm: float) -> list[TimedNote]:
    return [timed for timed in timeline(score, bpm).notes if timed.note.onset == 0]


@pytest.mark.parametrize("roll", Roll)
def test_a_roll_goes_through_the_strings_in_even_steps(roll: Roll) -> None:
    chord = sorted(first_chord(rolled(roll), 60), key=lambda timed: timed.sounds_s)
    strings = [timed.note.string for timed in chord]
    assert strings == ([5, 4, 3, 2, 1] if roll is Roll.UP else [1, 2, 3, 4, 5])
    assert chord[0].sounds_s == chord[0].onset_s == 0.0
    steps = [later.sounds_s - earlier.sounds_s for earlier, later in pairwise(chord)]
    assert steps == pytest.approx([0.07] * 4)  # 7 % of a second's quarter


@pytest.mark.parametrize("roll", Roll)
@pytest.mark.parametrize("stroke", [None, *Stroke])
def test_the_roll_goes_before_the_stroke(roll: Roll, stroke: Stroke | None) -> None:
    plain = [timed.late_s for timed in first_chord(rolled(roll), 90)]
    assert [timed.late_s for timed in first_chord(rolled(roll, stroke=stroke), 90)] == plain


def test_a_roll_is_slower_than_a_strum_and_over_before_its_chord() -> None:
    strummed = replace_all(rolled(Roll.UP, stroke=Stroke.DOWN), roll=None)
    for bpm in (40, 80, 160, 300):
        slow = max(timed.late_s for timed in first_chord(rolled(Roll.UP), bpm))
        fast = max(timed.late_s for timed in first_chord(strummed, bpm))
        assert fast < slow <= first_chord(rolled(Roll.UP), bpm)[0].written_s / 2


def test_all_notes_of_a_roll_stop_together() -> None:
    ends = {timed.ends_s for timed in first_chord(rolled(Roll.DOWN), 70)}
    assert len(ends) == 1


def test_only_the_notes_that_are_rolled_wait() -> None:
    score = rolled(Roll.UP)
    notes = tuple(_plain(note) if note.string == 1 else note for note in score.notes)
    late = {timed.note.string: timed.late_s for timed in first_chord(score.with_notes(notes), 60)}
    assert late[1] == 0.0
    assert late[2] == pytest.approx(0.21)


def replace_all(score: Score, roll: Roll | None) -> Score:
    return score.with_notes(
        tuple(replace(note, techniques=replace(note.techniques, roll=roll)) for note in score.notes)
    )


def _plain(note: Note) -> Note:
    return replace(note, techniques=Techniques())
