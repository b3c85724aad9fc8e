"""What stands beside columns: grace notes, slides from and to nowhere, rakes, the other note of a trill."""

from dataclasses import replace

import pytest

from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import TAB_SPACE, PlateStyle
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.techniques import Finger, Grace, SlideEnd, Stroke, Techniques, Trill
from fretwright.score.values import SIXTEENTH
from plate_reading import hull, ink, middle, step, tab_top
from plate_scores import asked, in_two_voices, written

NECK = Neck()


def grace(string: int, fret: int, *, slurred: bool = True) -> Grace:
    """A grace note on a string of the usual neck."""
    place = Place(string, fret)
    return Grace(place, NECK.pitch_at(place), slurred)


ONE = Techniques(graces=(grace(3, 5),))
TWO = Techniques(graces=(grace(3, 5), grace(3, 6)))


def test_a_grace_note_is_small_and_left_of_its_note_in_both_layers() -> None:
    plate = engrave(asked(written("h3/7 h2/5"), b1t0s3=ONE))
    (small,), head = ink(plate, "grace-head"), ink(plate, "notehead")[0]
    assert hull(small).height == pytest.approx(0.64 * hull(head).height)
    assert hull(small).right < hull(head).left
    (digit,), number = ink(plate, "grace-fret"), ink(plate, "fret")[0]
    assert digit.text == "5"
    assert hull(digit).height < 0.8 * hull(number).height
    assert middle(digit)[0] == pytest.approx(middle(small)[0], abs=0.05)
    assert middle(digit)[1] == pytest.approx(tab_top(plate, 0) + 2 * TAB_SPACE, abs=0.05)


def test_a_lone_grace_note_has_a_flag_with_a_stroke_through_it() -> None:
    plate = engrave(asked(written("h3/7 h2/5"), b1t0s3=ONE))
    (flag,), (stroke,) = ink(plate, "grace-flag"), ink(plate, "grace-stroke")
    assert flag.name == "flag8thUp"
    assert hull(stroke).meets(hull(flag))


def test_several_grace_notes_stand_under_two_small_beams_in_order() -> None:
    plate = engrave(asked(written("h3/7 h2/5"), b1t0s3=TWO))
    assert [each.text for each in ink(plate, "grace-fret")] == ["5", "6"]
    assert len(ink(plate, "grace-beam")) == 2
    assert not ink(plate, "grace-flag")


def test_a_slurred_grace_note_has_its_arc_and_a_plucked_one_has_none() -> None:
    slurred = engrave(asked(written("h3/7 h2/5"), b1t0s3=ONE))
    assert len(ink(slurred, "slur", layer="staff")) == 1
    assert len(ink(slurred, "slur", layer="tab")) == 1
    plucked = Techniques(graces=(grace(3, 5, slurred=False),))
    assert not ink(engrave(asked(written("h3/7 h2/5"), b1t0s3=plucked)), "slur")


def test_the_accidental_of_a_grace_note_holds_for_its_note() -> None:
    """E flat as a grace note to E flat: one sign, before the small head."""
    ways = Techniques(graces=(Grace(Place(2, 4), NECK.pitch_at(Place(2, 4)), True),))
    plate = engrave(asked(written("h2/4 h2/3"), b1t0s2=ways))
    marks = ink(plate, "accidental")
    assert len(marks) == 1
    assert hull(marks[0]).right < hull(ink(plate, "grace-head")[0]).left


def test_grace_notes_of_the_lower_voice_point_down() -> None:
    score = asked(in_two_voices("h1/5 h1/7", "h4/5 h4/7"), b1t0s4=Techniques(graces=(grace(4, 3),)))
    plate = engrave(score)
    assert [each.name for each in ink(plate, "grace-flag")] == ["flag8thDown"]
    assert not overlaps(plate)


@pytest.mark.parametrize(("end", "rises"), [(SlideEnd.BELOW, True), (SlideEnd.ABOVE, False)])
def test_a_slide_in_comes_from_below_or_above(end: SlideEnd, *, rises: bool) -> None:
    plate = engrave(asked(written("h3/7 h2/5"), b1t0s3=Techniques(slide_in=end)))
    for layer, target in (("staff", "notehead"), ("tab", "fret")):
        (stroke,) = ink(plate, "slide", layer=layer)
        assert (stroke.y0 > stroke.y1) == rises
        assert hull(stroke).right < hull(ink(plate, target)[0]).left


@pytest.mark.parametrize(("end", "rises"), [(SlideEnd.BELOW, False), (SlideEnd.ABOVE, True)])
def test_a_slide_out_leaves_to_below_or_above(end: SlideEnd, *, rises: bool) -> None:
    plate = engrave(asked(written("h3/7 h2/5"), b1t0s3=Techniques(slide_out=end)))
    for layer, target in (("staff", "notehead"), ("tab", "fret")):
        (stroke,) = ink(plate, "slide", layer=layer)
        assert (stroke.y0 > stroke.y1) == rises
        assert hull(stroke).left > hull(ink(plate, target)[0]).right


def test_a_shift_slide_is_a_stroke_without_an_arc_or_a_letter() -> None:
    plate = engrave(asked(written("h3/5 h3/9"), b1t1_2s3=Techniques(shift_slide=True)))
    for layer in ("staff", "tab"):
        assert len(ink(plate, "slide", layer=layer)) == 1
        assert not ink(plate, "slur", layer=layer)
    assert not ink(plate, "letter")


@pytest.mark.parametrize(("stroke", "strings"), [(Stroke.DOWN, [5, 4, 3]), (Stroke.UP, [1])])
def test_a_rake_crosses_the_strings_on_its_way(stroke: Stroke, strings: list[int]) -> None:
    plate = engrave(asked(written("h2/8 h2/5"), b1t0s2=Techniques(rake=stroke)))
    crosses = ink(plate, "rake")
    top = tab_top(plate, 0)
    assert [round((middle(each)[1] - top) / TAB_SPACE) + 1 for each in crosses] == strings
    assert hull(crosses[-1]).right < hull(ink(plate, "fret")[0]).left
    assert [each.text for each in ink(plate, "rake-word")] == ["rake"]


def test_the_other_note_of_a_trill_stands_small_in_brackets_behind_its_number() -> None:
    trill = Techniques(trill=Trill(7, NECK.pitch_at(Place(3, 7)), SIXTEENTH))
    plate = engrave(asked(written("h3/5 h2/5"), b1t0s3=trill))
    (other,), number = ink(plate, "auxiliary"), ink(plate, "fret")[0]
    assert other.text == "(7)"
    assert hull(other).left > hull(number).right
    assert other.size < number.size


def test_everything_beside_a_note_keeps_clear_of_its_neighbours() -> None:
    ways = Techniques(graces=TWO.graces, slide_out=SlideEnd.BELOW)
    score = asked(written("s3/5 s3/7 s3/5 s3/7 h.2/5"), b1t1_16s3=ways, b1t1_8s3=ways)
    for style in (PlateStyle(), PlateStyle(staff=False)):
        assert not overlaps(engrave(score, style))


def test_a_grace_note_is_written_at_its_own_height() -> None:
    plate = engrave(asked(written("h3/7 h2/5"), b1t0s3=ONE))  # C4 to D4
    assert step(plate, ink(plate, "grace-head")[0]) == step(plate, ink(plate, "notehead")[0]) - 1


def test_the_finger_of_a_grace_note_stands_small_under_its_number() -> None:
    fingered = replace(grace(3, 5), finger=Finger.INDEX)
    score = asked(written("h3/7 h2/5"), b1t0s3=Techniques(graces=(fingered,)))
    score = score.with_notes(tuple(replace(note, finger=Finger.RING) for note in score.notes))
    plate = engrave(score)
    small, *usual = sorted(ink(plate, "finger"), key=lambda each: hull(each).left)
    assert [each.text for each in (small, *usual)] == ["1", "3", "3"]
    assert hull(small).height < 0.8 * hull(usual[0]).height
    assert middle(small)[0] == pytest.approx(middle(ink(plate, "grace-fret")[0])[0], abs=0.1)
    assert small.y == usual[0].y
    assert not overlaps(plate)
