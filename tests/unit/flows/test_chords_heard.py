"""A hearing of chords as data, as text, as a picture, and as practice sees it."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from fretwright.ear.chord_words import remarks_on_chords
from fretwright.ear.verdicts import Advice, HeardAttack, HeardNote, HeardPass, HeardStroke, Hearing, Verdict
from fretwright.flows.hearing_picture import marks_of
from fretwright.flows.hearings import hearing_of, stored_hearing
from fretwright.flows.planning import is_heard, outcome_of
from fretwright.flows.practise import hearing_data, hearing_text
from fretwright.practice.faults import faults_of, is_clean
from fretwright.practice.history import FaultKind
from fretwright.score.marks import MarkShape
from fretwright.score.score import Score
from fretwright.score.timeline import timeline
from fretwright.score.values import QUARTER
from scores import line

SCHEMA = json.loads(
    (Path(__file__).parents[3] / "docs" / "schemas" / "hear.schema.json").read_text(encoding="utf-8")
)
C = "5/3+4/2+3/0+2/1+1/0"
G = "6/3+5/2+4/0+3/0+2/0+1/3"
SCORE = line(" ".join([C] * 4 + [G] * 4), value=QUARTER)
SECOND_STRING = 3
"""Place of string 2 in the first C chord, of five strings from the lowest up."""
DEAD: dict[str, Any] = {
    "verdict": Verdict.MISSED, "onset_s": None, "timing_ms": None, "heard_midi": None, "attack": None,
}  # fmt: skip


def hearing(
    score: Score, changes: dict[int, dict[str, Any]] | None = None, late: int | None = None
) -> Hearing:
    """A take as written, half a second into its recording, but for notes changed and one stroke that is
    late."""
    played = timeline(score)
    onsets = sorted({timed.onset_s for timed in played.notes})
    off_ms = {onset_s: 90.0 if place == late else 0.0 for place, onset_s in enumerate(onsets)}
    notes = tuple(
        replace(
            HeardNote(
                timed.note.id,
                Verdict.PLAYED,
                0.99,
                onset_s=0.5 + timed.onset_s,
                timing_ms=off_ms[timed.onset_s],
                heard_midi=timed.note.midi,
                attack=HeardAttack.PLUCK,
            ),
            **(changes or {}).get(index, {}),
        )
        for index, timed in enumerate(played.notes)
    )
    strokes = tuple(
        HeardStroke(
            tuple(index for index, timed in enumerate(played.notes) if timed.onset_s == onset_s),
            0.5 + onset_s,
            off_ms[onset_s],
            spread_ms=30.0,
            level_db=0.0,
        )
        for onset_s in onsets
    )
    whole = HeardPass(0.5, 0.5 + played.length_s, complete=True)
    advice = Advice("The chords ring.", (), 80.0, "Go on.")
    return Hearing(played.bpm, 0.5, 0.0, 0, (whole,), notes, (), 3.0, 0.0, 0.0, advice, strokes)


def dead_in(*strokes: int) -> dict[int, dict[str, Any]]:
    return {5 * stroke + SECOND_STRING: DEAD for stroke in strokes}


def test_the_data_keep_to_their_schema_and_name_the_strokes() -> None:
    data = hearing_data("02-chords/c-to-g", hearing(SCORE, dead_in(1)))

    jsonschema.validate(data, SCHEMA)
    assert [len(stroke["notes"]) for stroke in data["strokes"]] == [5] * 4 + [6] * 4
    assert data["strokes"][1]["notes"] == [note["id"] for note in data["notes"][5:10]]


def test_what_is_stored_comes_back() -> None:
    found = hearing(SCORE, dead_in(0, 2))

    assert hearing_of(json.loads(json.dumps(stored_hearing(found)))) == found


def test_a_take_judged_before_chords_were_heard_still_reads() -> None:
    stored = stored_hearing(hearing(SCORE))
    del stored["strokes"]

    assert hearing_of(stored).strokes == ()


def test_the_text_has_a_line_for_every_stroke() -> None:
    text = hearing_text(hearing(SCORE))

    rows = text[text.index("spread") :].splitlines()[1:]
    assert len(rows) == 8
    assert all("30 ms" in row for row in rows)


def test_a_dead_string_is_marked_with_its_number() -> None:
    marked = marks_of(SCORE, hearing(SCORE, dead_in(1)))

    assert [(mark.shape, mark.word) for mark in marked.marks] == [(MarkShape.RING, "2nd string dead")]


def test_a_late_stroke_is_marked_once_and_not_for_every_string() -> None:
    found = hearing(SCORE, dead_in(2), late=2)

    marked = marks_of(SCORE, found)

    assert sorted(mark.word for mark in marked.marks) == ["2nd string dead", "late 90"]
    assert len(marked.timings) == 8


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            dead_in(0, 1, 3),
            (
                "In the C chord of bar 1 the 2nd string is dead in 3 of 4 strokes: "
                "press just behind the fret, and let no other finger lean on it."
            ),
        ),
        (
            {2: DEAD},
            (
                "In the C chord of bar 1 the 3rd string is dead in 1 of 4 strokes: "
                "stand the fingers up, so that none touches it."
            ),
        ),
        (
            {SECOND_STRING: {"verdict": Verdict.WRONG, "heard_midi": 59}},
            (
                "In the C chord of bar 1 the 2nd string sounds open in 1 of 4 strokes: "
                "its finger does not hold it down."
            ),
        ),
        (
            {SECOND_STRING: {"verdict": Verdict.WRONG, "heard_midi": 62}},
            (
                "In the C chord of bar 1 the 2nd string sounds 2 frets higher than written in 1 of 4 "
                "strokes: look where its finger lands."
            ),
        ),
    ],
)
def test_what_a_teacher_says(changes: dict[int, dict[str, Any]], said: str) -> None:
    found = hearing(SCORE, changes)

    assert remarks_on_chords(timeline(SCORE).notes, found.notes, found.strokes, 0) == (said,)


def test_nothing_is_said_of_chords_that_came_as_written() -> None:
    found = hearing(SCORE)

    assert remarks_on_chords(timeline(SCORE).notes, found.notes, found.strokes, 0) == ()


def test_practice_takes_chords_like_any_other_exercise() -> None:
    clean, faulty = outcome_of(SCORE, hearing(SCORE)), outcome_of(SCORE, hearing(SCORE, dead_in(0, 1, 3)))

    assert is_heard(SCORE)
    assert is_clean(clean)
    assert [(fault.kind, fault.bar) for fault in faults_of(faulty)] == [(FaultKind.NOTES, 1)]
