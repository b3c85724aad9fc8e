"""Chord diagrams by their primitives: which mark stands where, and that nothing covers anything else."""

import re
from collections.abc import Iterator
from io import BytesIO
from itertools import combinations
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import resvg_py
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from fretwright.base.errors import RenderError, UnplayableError
from fretwright.engrave.chord_diagram import (
    ChordDiagramStyle,
    chord_diagram,
    chord_diagrams,
    describe,
    legend,
)
from fretwright.engrave.chord_diagram_layout import Below, ChordLayout, lay_out_chord
from fretwright.engrave.diagram import PAPER, SOFT
from fretwright.engrave.ink import Box
from fretwright.engrave.svg import INK_COLOUR
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS
from fretwright.fretboard.voicing import Voicing, parse_frets
from fretwright.fretboard.voicings import voicing_of, voicings
from fretwright.theory.chord import Chord
from strategies import chords

SVG = "{http://www.w3.org/2000/svg}"


def first(symbol: str, neck: Neck | None = None) -> Voicing:
    return voicings(Chord.parse(symbol), neck)[0]


def held(symbol: str, frets: str) -> Voicing:
    return voicing_of(Chord.parse(symbol), parse_frets(frets))


def layout_of(voicing: Voicing, *, left_handed: bool = False, below: Below = "nothing") -> ChordLayout:
    return lay_out_chord(voicing, name=voicing.chord.pretty, left_handed=left_handed, below=below)


def edge_row(layout: ChordLayout) -> str:
    """Crosses and rings from left to right, a dot for a string that is stopped."""
    marks = {
        mark.x_mm: {"silent": "x", "open": "o"}[mark.kind] for mark in layout.marks if mark.kind != "finger"
    }
    return "".join(marks.get(x, ".") for x, _ in sorted(layout.strings))


def digits(layout: ChordLayout) -> dict[tuple[int, int], str]:
    return {
        (mark.string, mark.fret): mark.digit.text
        for mark in layout.marks
        if mark.kind == "finger" and mark.digit
    }


def words(layout: ChordLayout, role: str) -> list[str]:
    found = sorted((word.x_mm, word.text) for word in layout.words if word.role == role)
    return [text for _, text in found]


def test_c_major_is_drawn_as_books_print_it() -> None:
    # Common practice, no source: x32010, fingers 3 2 1, from the nut, the lowest string on the left.
    layout = layout_of(first("C"))
    assert edge_row(layout) == "x..o.o"
    assert digits(layout) == {(5, 3): "3", (4, 2): "2", (2, 1): "1"}
    assert layout.nut is not None
    assert layout.bars == ()
    assert words(layout, "name") == ["C"]
    assert words(layout, "number") == []
    xs = {mark.string: mark.x_mm for mark in layout.marks}
    assert xs[6] < xs[5] < xs[1]
    heights = {mark.fret: mark.y_mm for mark in layout.marks if mark.kind == "finger"}
    assert heights[1] < heights[2] < heights[3]


def test_a_barre_is_one_bar_with_its_finger_at_the_tip() -> None:
    layout = layout_of(first("Bm"))
    (bar,) = layout.bars
    x = {number: at for number, (at, _) in enumerate(layout.strings, start=1)}
    assert (bar.left_mm, bar.right_mm) == (x[5], x[1])
    assert bar.digit.text == "1"
    assert bar.digit.box.left < x[5] < bar.digit.box.right
    assert digits(layout) == {(4, 4): "3", (3, 4): "4", (2, 3): "2"}
    assert edge_row(layout) == "x....."


def test_higher_positions_start_without_a_nut_at_their_number() -> None:
    layout = layout_of(held("Cm", "8-10-10-8-8-8"))
    assert layout.nut is None
    assert words(layout, "number") == ["8fr"]
    assert len(layout.wires) == 5
    assert layout_of(first("C")).first_fret == 1
    number = next(word for word in layout.words if word.role == "number")
    assert number.box.right < layout.left_mm


def test_left_handed_is_the_mirror_image_with_digits_that_can_be_read() -> None:
    for voicing in (first("C"), first("Bm"), held("Cm", "8-10-10-8-8-8")):
        right, left = layout_of(voicing), layout_of(voicing, left_handed=True)
        assert left.width_mm == right.width_mm
        assert edge_row(left) == edge_row(right)[::-1]
        for here, there in zip(right.marks, left.marks, strict=True):
            assert there.x_mm == pytest.approx(right.width_mm - here.x_mm)
            assert there.y_mm == here.y_mm
        for bar, mirrored in zip(right.bars, left.bars, strict=True):
            assert mirrored.left_mm == pytest.approx(right.width_mm - bar.right_mm)
            assert mirrored.digit.box.left > bar.digit.box.left
        assert "scale" not in chord_diagram(voicing, ChordDiagramStyle(left_handed=True)).svg


def test_notes_or_degrees_stand_under_the_strings_that_sound() -> None:
    assert words(layout_of(first("Bm"), below="notes"), "below") == ["B", "F♯", "B", "D", "F♯"]
    assert words(layout_of(first("Bm"), below="degrees"), "below") == ["1", "5", "1", "♭3", "5"]
    assert words(layout_of(first("C/D"), below="degrees"), "below") == ["D", "5", "1", "3"]


@pytest.mark.parametrize("tuning", ["bass", "GCEA", "7-string", "9-string"])
def test_any_number_of_strings_is_drawn(tuning: str) -> None:
    neck = Neck(TUNINGS[tuning])
    layout = layout_of(first("Am", neck))
    assert len(layout.strings) == neck.tuning.string_count
    assert [thickness for _, thickness in layout.strings] == sorted(t for _, t in layout.strings)


def test_the_capo_is_named() -> None:
    assert words(layout_of(first("D", Neck(capo=2))), "capo") == ["capo 2"]
    assert "Capo at fret two." in describe(first("D", Neck(capo=2)))


def test_the_description_says_everything() -> None:
    assert describe(first("C")) == (
        "Sixth string silent; fifth string fret three, third finger, C; fourth string fret two, second "
        "finger, E; third string open, G; second string fret one, first finger, C; first string open, E."
    )
    assert describe(first("Bm")).startswith("First finger flat over the fifth to first string at fret two. ")


def test_the_legend_names_what_is_there_and_nothing_else() -> None:
    assert (
        legend([first("C")]) == "Numbers on dots are fingers, o is an open string and x is a silent string."
    )
    assert legend([first("F")]) == "Numbers on dots are fingers and a bar is one finger laid flat."


def test_title_and_description_are_read_out_and_escaped() -> None:
    svg = chord_diagram(first("C"), title="C & <D>\x00", description="So & so").svg
    root = ET.fromstring(svg)  # noqa: S314 - our own output
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert (title.text, desc.text) == ("C & <D> ", "So & so")
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == title.get("id") == "chord-title"
    assert root.get("aria-describedby") == desc.get("id") == "chord-desc"


def test_a_sheet_holds_every_chord_in_line() -> None:
    shown = [first(symbol) for symbol in ("C", "F", "Cmaj13#11", "Bm", "G5")]
    sheet = chord_diagrams(shown, per_row=3, title="Five")
    root = ET.fromstring(sheet.svg)  # noqa: S314 - our own output
    pictures = root.findall(f"{SVG}svg")
    assert [picture.findtext(f"{SVG}title") for picture in pictures] == [v.chord.pretty for v in shown]
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert len(sheet.boxes) == len(shown)
    for box in (box for boxes in sheet.boxes for box in boxes.values()):
        assert 0 <= box.left < box.right <= sheet.width_mm
        assert 0 <= box.top < box.bottom <= sheet.height_mm
    assert sheet.boxes[0][Place(5, 3)].left < sheet.boxes[1][Place(5, 3)].left
    assert sheet.boxes[3][Place(5, 2)].top > sheet.boxes[0][Place(5, 3)].bottom


def test_what_cannot_be_drawn_is_refused() -> None:
    with pytest.raises(RenderError, match="no chord"):
        chord_diagrams([])
    with pytest.raises(RenderError, match="cannot start an id"):
        chord_diagram(first("C"), id_prefix="1 x")


def test_only_ink_and_paper_are_used_and_the_bytes_are_the_same_twice() -> None:
    svg = chord_diagram(first("Bm"), ChordDiagramStyle(below="notes")).svg
    assert set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]+)"', svg)) <= {INK_COLOUR, PAPER, SOFT}
    assert "<text" not in svg
    assert svg == chord_diagram(first("Bm"), ChordDiagramStyle(below="notes")).svg


def test_a_renderer_of_svg_paints_what_is_said_to_be_there() -> None:
    """resvg, an independent renderer, finds ink where the boxes are and paper beside the neck."""
    drawn = chord_diagram(first("C"))
    painted = resvg_py.svg_to_bytes(svg_string=drawn.svg, background="white", dpi=254)
    grey = np.asarray(Image.open(BytesIO(bytes(painted))).convert("L"))

    def at(x_mm: float, y_mm: float) -> int:
        return int(grey[round(y_mm * 10), round(x_mm * 10)])

    for place, box in drawn.boxes[0].items():
        middle_y = (box.top + box.bottom) / 2
        rim = at(box.left + 0.15, middle_y)
        assert rim < 128, place
        if place.fret == 0:
            assert at((box.left + box.right) / 2, middle_y) > 200  # a ring is hollow
    assert at(1.0, drawn.height_mm - 1.0) > 250


def ink_of_layout(layout: ChordLayout) -> Iterator[tuple[str, Box]]:
    for mark in layout.marks:
        yield f"{mark.kind} {mark.string}", mark.box
    for bar in layout.bars:
        yield "bar", bar.box
    for word in layout.words:
        yield f"{word.role} {word.text}", word.box
    if layout.nut is not None:
        yield "nut", Box(layout.left_mm, layout.nut - 1.1, layout.right_mm, layout.nut)


@settings(max_examples=60, deadline=None)
@given(
    chords(),
    st.sampled_from(sorted(TUNINGS)),
    st.integers(0, 3),
    st.sampled_from(["nothing", "notes", "degrees"]),
    st.booleans(),
    st.integers(0, 7),
)
def test_nothing_covers_anything_and_all_stays_inside(
    chord: Chord, tuning: str, capo: int, below: Below, left_handed: bool, choice: int
) -> None:
    try:
        found = voicings(chord, Neck(TUNINGS[tuning], capo=capo))
    except UnplayableError:
        return
    voicing = found[min(choice, len(found) - 1)]
    layout = layout_of(voicing, left_handed=left_handed, below=below)
    pieces = list(ink_of_layout(layout))
    for (name, box), (other, other_box) in combinations(pieces, 2):
        assert not box.meets(other_box, 0.01), f"{voicing.text}: {name} over {other}"
    for name, box in pieces:
        assert box.left >= 0 and box.top >= 0, name  # noqa: PT018 - one corner, one fact
        assert box.right <= layout.width_mm and box.bottom <= layout.height_mm, name  # noqa: PT018
    shown = [mark.digit.box for mark in layout.marks if mark.digit] + [bar.digit.box for bar in layout.bars]
    assert len(shown) == len(set(voicing.fingers) - {0})
    assert set(layout.box_of) == set(voicing.places)
