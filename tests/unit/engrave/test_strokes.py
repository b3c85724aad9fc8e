"""The picking hand: letters of its fingers, strokes that strike and strokes that pass through the air."""

from dataclasses import replace
from fractions import Fraction

import pytest

from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.score.note import Note
from fretwright.score.score import AirStroke, Score
from fretwright.score.techniques import PickingFinger, Stroke, Techniques
from plate_reading import hull, ink, middle, tab_top
from plate_scores import written


def plucked(score: Score, *fingers: str) -> Score:
    """The notes of a score with a picking finger each, in order."""
    notes: list[Note] = [
        replace(note, picking_finger=PickingFinger(finger))
        for note, finger in zip(score.notes, fingers, strict=True)
    ]
    return score.with_notes(tuple(notes))


def test_letters_of_the_picking_fingers_stand_in_one_row_over_the_tab() -> None:
    plate = engrave(plucked(written("q5/3 q3/0 q2/1 q1/0"), "p", "i", "m", "a"))
    letters = ink(plate, "picking")
    assert [each.text for each in letters] == list("pima")
    assert len({each.y for each in letters}) == 1
    assert all(hull(each).bottom < tab_top(plate, 0) for each in letters)
    for letter, number in zip(letters, ink(plate, "fret"), strict=True):
        assert middle(letter)[0] == pytest.approx(middle(number)[0], abs=0.05)


def test_letters_of_a_chord_are_stacked_with_the_highest_string_on_top() -> None:
    plate = engrave(plucked(written("w5/3+3/0+2/1"), "p", "i", "m"))
    letters = sorted(ink(plate, "picking"), key=lambda each: each.y)
    assert [each.text for each in letters] == ["m", "i", "p"]


def test_a_stroke_in_the_air_stands_in_brackets_between_the_notes() -> None:
    score = written("q6/3+5/2+4/0 q6/3+5/2+4/0 h6/3+5/2+4/0", strokes=True)
    air = (AirStroke(Fraction(1, 8), Stroke.UP), AirStroke(Fraction(3, 4), Stroke.DOWN))
    plate = engrave(replace(score, air_strokes=air))
    strokes = ink(plate, "stroke")
    struck = [each for each in strokes if each.note is not None]
    passing = [each for each in strokes if each.note is None]
    assert len(struck) == 3
    assert [each.name for each in passing] == ["stringsUpBow", "stringsDownBow"]
    brackets = ink(plate, "bracket")
    assert len(brackets) == 4
    left, right = brackets[:2]
    assert hull(left).right < hull(passing[0]).left < hull(passing[0]).right < hull(right).left
    xs = [middle(each)[0] for each in ink(plate, "fret")]
    assert xs[0] < middle(passing[0])[0] < xs[3]
    assert not overlaps(plate)


def test_a_stroke_in_the_air_gives_way_to_one_that_strikes() -> None:
    score = written("h6/3+5/2 h6/3+5/2", strokes=True)
    plate = engrave(replace(score, air_strokes=(AirStroke(Fraction(1, 2), Stroke.UP),)))
    assert not ink(plate, "bracket")


def test_strokes_can_be_left_out() -> None:
    score = replace(written("w6/3", strokes=True), air_strokes=(AirStroke(Fraction(1, 2), Stroke.UP),))
    assert not ink(engrave(score, PlateStyle(strokes=False)), "stroke")


def test_an_accented_and_a_muted_strum_are_told_from_a_plain_one() -> None:
    score = written("q5/3+4/2+3/0 q5/3+4/2+3/0 h5/3+4/2+3/0", strokes=True)
    ways = {Fraction(1, 4): Techniques(accent=True), Fraction(1, 2): Techniques(dead=True)}
    plate = engrave(
        score.with_notes(tuple(replace(n, techniques=ways.get(n.onset, n.techniques)) for n in score.notes))
    )
    assert len(ink(plate, "articulation")) == 1
    assert [each.name for each in ink(plate, "notehead")].count("noteheadCircleX") == 3
