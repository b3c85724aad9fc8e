"""Bends: an arrow from this number, with this word at its tip, and the goal on the staff."""

from fractions import Fraction

import pytest

from fretwright.engrave.beside import amount_text
from fretwright.engrave.ink import Patch, Trace
from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import Plate, engrave
from fretwright.engrave.style import TAB_SPACE, PlateStyle
from fretwright.score.techniques import (
    Bend,
    Techniques,
    bend_and_release,
    bend_up,
    pre_bend,
    pre_bend_and_release,
)
from plate_reading import hull, ink, middle, step, tab_top
from plate_scores import asked, written


def bent(bend: Bend, text: str = "h3/7 h2/5", style: PlateStyle | None = None) -> Plate:
    """A plate whose first note is bent."""
    return engrave(asked(written(text), b1t0s3=Techniques(bend=bend)), style or PlateStyle())


# Common practice, no source: amounts are counted in whole tones, a whole tone is "full".
@pytest.mark.parametrize(
    ("semitones", "printed"),
    [("1/2", "¼"), ("1", "½"), ("3/2", "¾"), ("2", "full"), ("3", "1½"), ("4", "2"), ("5/2", "1¼")],
)
def test_amounts_are_told_in_tones(semitones: str, printed: str) -> None:
    assert amount_text(Fraction(semitones)) == printed
    assert [each.text for each in ink(bent(bend_up(Fraction(semitones))), "bend-amount")] == [printed]


def test_an_arrow_rises_from_the_number_over_the_tab() -> None:
    plate = bent(bend_up(Fraction(2)))
    number = hull(ink(plate, "fret", "b1t0s3")[0])
    strokes = [each for each in ink(plate, "bend", layer="tab") if isinstance(each, Trace)]
    (head,) = [each for each in ink(plate, "bend", layer="tab") if isinstance(each, Patch)]
    (stroke,) = strokes
    assert number.right < hull(stroke).left < number.right + 0.5
    string = tab_top(plate, 0) + 2 * TAB_SPACE
    assert stroke.points[0][1] == pytest.approx(string, abs=0.4)
    tip = min(y for _, y in head.points)
    assert tip < tab_top(plate, 0) - 1
    (amount,) = ink(plate, "bend-amount")
    assert middle(amount)[0] == pytest.approx(middle(head)[0], abs=0.02)
    assert hull(amount).bottom < tip


def test_the_arrow_of_a_release_comes_back_to_the_string() -> None:
    plate = bent(bend_and_release(Fraction(2)))
    heads = [each for each in ink(plate, "bend", layer="tab") if isinstance(each, Patch)]
    assert len(heads) == 2
    up, down = sorted(heads, key=lambda each: middle(each)[0])
    assert middle(up)[1] < tab_top(plate, 0)
    assert hull(down).bottom == pytest.approx(tab_top(plate, 0) + 2 * TAB_SPACE - 0.61, abs=0.05)
    assert [each.text for each in ink(plate, "bend-amount")] == ["full"]


def test_a_note_bent_before_it_is_struck_has_a_straight_arrow() -> None:
    plate = bent(pre_bend(Fraction(2)))
    (stroke,) = [each for each in ink(plate, "bend", layer="tab") if isinstance(each, Trace)]
    assert hull(stroke).width < 0.7
    released = bent(pre_bend_and_release(Fraction(1)))
    assert len([each for each in ink(released, "bend", layer="tab") if isinstance(each, Patch)]) == 2


def test_two_bends_of_a_chord_have_arrows_beside_each_other() -> None:
    score = asked(
        written("h3/7+2/8 h2/5"),
        b1t0s3=Techniques(bend=bend_up(Fraction(2))),
        b1t0s2=Techniques(bend=bend_up(Fraction(1))),
    )
    plate = engrave(score)
    amounts = ink(plate, "bend-amount")
    assert [(each.text, each.note) for each in amounts] == [("½", "b1t0s2"), ("full", "b1t0s3")]
    assert amounts[0].y == amounts[1].y
    assert not overlaps(plate)


def test_the_staff_shows_the_goal_as_a_small_head_in_brackets() -> None:
    plate = bent(bend_up(Fraction(2)))  # D4, bent to E4
    (head, _), (goal,) = ink(plate, "notehead"), ink(plate, "bend-goal")
    assert step(plate, goal) == step(plate, head) + 1
    assert hull(goal).left > hull(head).right
    assert hull(goal).height < hull(head).height
    assert len(ink(plate, "bracket", "b1t0s3")) == 2


def test_a_goal_outside_the_key_has_its_accidental() -> None:
    plate = engrave(asked(written("h3/7 h2/5", key="C major"), b1t0s3=Techniques(bend=bend_up(Fraction(1)))))
    marks = [each.name for each in ink(plate, "accidental")]
    assert len(marks) == 1  # D bent to E flat or D sharp, as the key spells it
    assert marks[0] in {"accidentalFlat", "accidentalSharp"}


def test_a_quarter_tone_has_no_goal_on_the_staff() -> None:
    plate = bent(bend_up(Fraction(1, 2)))
    assert not ink(plate, "bend-goal")
    assert len(ink(plate, "bend", layer="staff")) == 1


def test_the_next_number_stands_clear_of_the_arrow() -> None:
    plate = bent(bend_and_release(Fraction(2)), "s3/7 s3/5 e3/7 q3/5 h3/7")
    arrow = max(hull(each).right for each in ink(plate, "bend", layer="tab"))
    assert hull(ink(plate, "fret", "b1t1-16s3")[0]).left > arrow
    assert not overlaps(plate)


def test_tab_alone_has_the_arrow_and_no_goal() -> None:
    plate = bent(bend_up(Fraction(2)), style=PlateStyle(staff=False))
    assert ink(plate, "bend-amount")
    assert not ink(plate, "bend-goal")
    assert not overlaps(plate)
