"""How each note goes over a class, and which bar stops people."""

import re

import pytest

from fretwright.ear.verdicts import Verdict
from fretwright.flows.agreement import Rate
from fretwright.flows.class_picture import ClassPicture, NoteOutcome, class_marks, class_picture, class_plate
from fretwright.score.marks import MarkShape
from plate_scores import written

SCORE = written("q6/5 q6/8 q5/5 q5/7 q4/5 q4/7 q3/5 q3/7")
IDS = [note.id for note in SCORE.notes]
MARKS = {"p": Verdict.PLAYED, "m": Verdict.MISSED, "w": Verdict.WRONG, "u": Verdict.UNSURE}


def picture(takes: list[tuple[int, str]]) -> ClassPicture:
    """One take a row: the student, and a letter for each note."""
    return class_picture(
        SCORE,
        [
            NoteOutcome(student, take, note_id, MARKS[letter])
            for take, (student, row) in enumerate(takes)
            for note_id, letter in zip(IDS, row, strict=True)
        ],
    )


def rates(found: ClassPicture) -> list[float]:
    return [round(note.failing, 3) for note in found.notes]


def test_every_student_counts_once_however_much_they_record() -> None:
    found = picture([(1, "mppppppp")] * 9 + [(2, "pppppppp"), (3, "pppppppw")])

    assert rates(found) == [0.333, 0, 0, 0, 0, 0, 0, 0.333]
    assert (found.students, found.takes) == (3, 11)


def test_a_bar_stops_whoever_fails_in_it_in_half_of_their_takes() -> None:
    found = picture(
        [
            (1, "ppppmppp"), (1, "ppppppwp"),  # another note each time, and always in bar 2
            (2, "ppppmppp"), (2, "pppppppp"),
            (3, "ppppmppp"), (3, "pppppppp"), (3, "pppppppp"),
            (4, "mppppppp"),
        ]
    )  # fmt: skip

    assert [(bar.number, bar.stopped) for bar in found.bars] == [(1, Rate(1, 4)), (2, Rate(2, 4))]
    assert found.headline == "Bar 2 stops 2 of 4 students."


def test_of_two_bars_that_stop_as_many_the_one_that_fails_more_is_named() -> None:
    found = picture([(1, "mpppmmpp"), (2, "mpppmpmp")])

    assert [bar.stopped for bar in found.bars] == [Rate(2, 2), Rate(2, 2)]
    assert found.headline == "Bar 2 stops 2 of 2 students."


def test_what_the_ear_left_open_is_not_counted() -> None:
    found = picture([(1, "umpppppp"), (2, "upuppppp")])

    assert [note.note_id for note in found.notes] == IDS[1:]
    assert rates(found)[:2] == [0.5, 0]
    assert found.notes[1].students == 1


def test_nobody_is_stopped_where_everything_is_played() -> None:
    found = picture([(1, "pppppppp"), (2, "pppppppp")])

    assert found.worst is None
    assert found.headline == "No bar stops anybody: 2 students, 2 takes."


def test_without_a_take_the_picture_says_so() -> None:
    assert class_picture(SCORE, []).headline == "Nobody has recorded this exercise yet."
    assert "<svg" in class_plate(SCORE, "Up", class_picture(SCORE, [])).svg


def test_a_note_that_the_score_no_longer_has_is_passed_over() -> None:
    found = class_picture(SCORE, [NoteOutcome(1, 1, "b9t0s1", Verdict.MISSED)])

    assert (found.notes, found.bars, found.takes) == ((), (), 0)


def test_the_rates_stand_under_their_notes_in_shapes_and_words() -> None:
    found = picture([(1, "mpppwppp"), (2, "mppppppp"), (3, "mpppwppp"), (4, "wppppppp")])

    plate = class_plate(SCORE, "Up & back", found)

    assert [(mark.note_id, mark.shape, mark.word) for mark in class_marks(found).marks] == [
        (IDS[0], MarkShape.RING, "100%"),
        (IDS[4], MarkShape.CROSS, "50%"),
    ]
    assert [shape for shape, _ in class_marks(found).meanings] == [MarkShape.RING, MarkShape.CROSS]
    assert {piece.note_id for piece in plate.pieces if piece.role == "shape"} == {IDS[0], IDS[4], None}
    assert "Up &amp; back: the class" in plate.svg
    described = re.search(r"<desc[^>]*>(.*?)</desc>", plate.svg)
    assert described is not None
    assert f"{IDS[0]}: 100%" in described[1]
    assert "bar 1: 4 of 4, bar 2: 2 of 4" in described[1]


@pytest.mark.parametrize(("slips", "marked"), [(1, False), (2, True)])
def test_one_slip_in_twenty_takes_is_left_off_the_plate(slips: int, *, marked: bool) -> None:
    takes = [(student, "mppppppp" if student < slips else "pppppppp") for student in range(20)]

    assert bool(class_marks(picture(takes)).marks) is marked
