"""Rolled chords on the page: an upright wave before the heads, and before the fret numbers."""

from dataclasses import replace

import pytest

from fretwright.engrave.ink import Patch, Trace
from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import TAB_SPACE, PlateStyle
from fretwright.engrave.walkthrough import walk_through
from fretwright.score.score import Score, Writing
from fretwright.score.techniques import Roll, Techniques
from plate_reading import hull, ink, middle, tab_top
from plate_scores import written

CHORD = "h5/3+4/2+3/1+2/1+1/0 h5/3+4/2+3/0+2/1+1/0"


def rolled(roll: Roll, strings: tuple[int, ...] = (5, 4, 3, 2, 1)) -> Score:
    """Two chords, the first one rolled on some of its strings."""
    score = written(CHORD)
    return score.with_notes(
        tuple(
            replace(note, techniques=Techniques(roll=roll))
            if not note.onset and note.string in strings
            else note
            for note in score.notes
        )
    )


def test_a_wave_stands_before_signs_and_heads_from_the_highest_to_the_lowest() -> None:
    plate = engrave(rolled(Roll.UP))
    (wave,) = ink(plate, "roll", layer="staff")
    assert isinstance(wave, Trace)
    heads = [hull(each) for each in ink(plate, "notehead")[:5]]
    sharp = hull(ink(plate, "accidental")[0])
    assert hull(wave).right < sharp.left < min(head.left for head in heads)
    assert hull(wave).top < min(head.top for head in heads)
    assert hull(wave).bottom > max(head.bottom for head in heads)
    assert not overlaps(plate)


def test_the_wave_in_the_tab_passes_the_strings_that_are_rolled() -> None:
    plate = engrave(rolled(Roll.UP, strings=(4, 3, 2)))
    (wave,) = ink(plate, "roll", layer="tab")
    top = tab_top(plate, 0)
    assert top < hull(wave).top < top + TAB_SPACE
    assert top + 3 * TAB_SPACE < hull(wave).bottom < top + 4 * TAB_SPACE


@pytest.mark.parametrize("layer", ["staff", "tab"])
def test_a_roll_down_has_an_arrow_at_its_foot(layer: str) -> None:
    assert not [each for each in ink(engrave(rolled(Roll.UP)), "roll") if isinstance(each, Patch)]
    wave, arrow = sorted(
        ink(engrave(rolled(Roll.DOWN)), "roll", layer=layer), key=lambda each: hull(each).bottom
    )
    assert isinstance(wave, Trace)
    assert isinstance(arrow, Patch)
    tip = max(arrow.points, key=lambda point: point[1])
    assert tip[0] == pytest.approx(middle(arrow)[0])
    assert middle(arrow)[0] == pytest.approx(middle(wave)[0], abs=0.05)


@pytest.mark.parametrize("roll", Roll)
def test_tab_alone_and_slashes_have_it_too(roll: Roll) -> None:
    alone = engrave(rolled(roll), PlateStyle(staff=False))
    assert ink(alone, "roll", layer="tab")
    assert not ink(alone, "roll", layer="staff")
    slashes = engrave(replace(rolled(roll), writing=Writing.SLASHES))
    assert ink(slashes, "roll", layer="staff")
    assert not overlaps(alone)
    assert not overlaps(slashes)


def test_a_roll_is_told_once_for_its_chord() -> None:
    told = " ".join(sentence.text for sentence in walk_through(rolled(Roll.DOWN)).sentences)
    assert told.count("rolled downwards, fifth string, fret three") == 1
    assert told.count("rolled") == 1


def test_a_roll_of_some_notes_is_told_of_them() -> None:
    told = " ".join(sentence.text for sentence in walk_through(rolled(Roll.UP, strings=(5, 4))).sentences)
    assert "fifth string, fret three, rolled upwards" in told
    assert told.count("rolled upwards") == 2
