"""Chord diagrams over the staff, where the way of holding changes."""

from fractions import Fraction

import pytest

from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import Plate, engrave
from fretwright.engrave.style import PlateStyle
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.voicing import Voicing, parse_frets
from fretwright.fretboard.voicings import voicing_of
from fretwright.score.score import Label, LabelKind
from fretwright.theory.chord import Chord
from plate_reading import hull, ink, middle, staff_top
from plate_scores import written


def held(name: str, frets: str) -> Voicing:
    """A chord held as written."""
    return voicing_of(Chord.parse(name), parse_frets(frets), Neck())


def over(at: str, name: str, frets: str | None = None) -> Label:
    """A chord name with the way it is held."""
    return Label(Fraction(at), name, LabelKind.CHORD, held(name, frets) if frets else None)


def charted(*labels: Label, style: PlateStyle | None = None, text: str = "w3/5 w3/7 w3/5 w3/7") -> Plate:
    """A plate under chord names."""
    return engrave(written(text, labels=labels), style or PlateStyle())


def test_a_diagram_stands_between_its_name_and_the_staff() -> None:
    plate = charted(over("0", "C", "x32010"))
    (name,) = ink(plate, "chord")
    grid = [hull(each) for each in ink(plate, "diagram")]
    left, right = min(box.left for box in grid), max(box.right for box in grid)
    assert hull(name).bottom < min(hull(each).top for each in ink(plate, "diagram-mark"))
    assert max(box.bottom for box in grid) < staff_top(plate, 0)
    assert left < middle(name)[0] < right
    assert len(ink(plate, "diagram-dot")) == 3
    assert not overlaps(plate)


def test_fingertips_rings_and_crosses_stand_where_the_voicing_has_them() -> None:
    """x32010 from the lowest string on: silent, third, second, open, first fret, open."""
    plate = charted(over("0", "C", "x32010"))
    strings = sorted({round(hull(e).left, 3) for e in ink(plate, "diagram") if hull(e).height > 1})
    assert len(strings) == 6
    dots = ink(plate, "diagram-dot")
    at = [min(range(6), key=lambda s: abs(strings[s] - middle(dot)[0])) for dot in dots]
    assert at == [1, 2, 4]
    heights = [middle(dot)[1] for dot in dots]
    assert heights[0] > heights[1] > heights[2]
    marks = {min(range(6), key=lambda s: abs(strings[s] - middle(m)[0])) for m in ink(plate, "diagram-mark")}
    assert marks == {0, 3, 5}


def test_a_left_handed_diagram_is_the_mirror_image() -> None:
    right = charted(over("0", "C", "x32010"))
    left = charted(over("0", "C", "x32010"), style=PlateStyle(left_handed=True))

    def offsets(plate: Plate) -> list[float]:
        grid = [hull(each) for each in ink(plate, "diagram")]
        centre = (min(box.left for box in grid) + max(box.right for box in grid)) / 2
        return [round(middle(dot)[0] - centre, 3) for dot in ink(plate, "diagram-dot")]

    assert offsets(left) == pytest.approx(sorted(-dx for dx in offsets(right)), abs=0.01)


def test_a_diagram_is_drawn_only_where_the_way_of_holding_changes() -> None:
    plate = charted(
        over("0", "C", "x32010"), over("1", "C", "x32010"), over("2", "G", "320003"), over("3", "C", "x32010")
    )
    names = [each.text for each in ink(plate, "chord")]
    assert names == ["C", "C", "G", "C"]
    nuts = [each for each in ink(plate, "diagram") if each.thickness == pytest.approx(0.26)]
    assert len(nuts) == 3


def test_a_diagram_up_the_neck_has_a_number_and_no_nut() -> None:
    plate = charted(over("0", "F", "x87565"))
    assert [each.text for each in ink(plate, "diagram-number")] == ["5"]
    assert not [each for each in ink(plate, "diagram") if each.thickness == pytest.approx(0.26)]


def test_a_barre_is_one_thick_line() -> None:
    plate = charted(over("0", "F", "133211"))
    bars = [each for each in ink(plate, "diagram-dot") if hull(each).width > 3]
    assert len(bars) == 1


def test_names_without_voicings_and_plates_without_diagrams() -> None:
    assert not ink(charted(over("0", "C")), "diagram")
    off = charted(over("0", "C", "x32010"), style=PlateStyle(diagrams=False))
    assert not ink(off, "diagram")


def test_changes_on_every_beat_stand_apart() -> None:
    labels = [
        over(f"{n}/4", name, frets)
        for n, (name, frets) in enumerate(
            [("C", "x32010"), ("G", "320003"), ("Am", "x02210"), ("F", "133211")]
        )
    ]
    for style in (PlateStyle(), PlateStyle(width_mm=84), PlateStyle(staff=False)):
        plate = charted(*labels, style=style, text="w3/5")
        assert not overlaps(plate)
        assert len(ink(plate, "chord")) == 4
