"""Fretboard diagrams by their primitives: which mark stands where, and that none covers another."""

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import FretboardError, RenderError
from fretwright.engrave.diagram import PAPER, SOFT, Diagram, Labels, fretboard_diagram
from fretwright.engrave.diagram_layout import Layout, lay_out
from fretwright.engrave.diagram_places import subject_of
from fretwright.engrave.ink import Box
from fretwright.engrave.svg import INK_COLOUR
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.shapes import Shape, shape_at
from fretwright.fretboard.tuning import TUNINGS
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Finger
from fretwright.score.score import Score
from fretwright.score.techniques import Techniques
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH
from fretwright.theory.key import Key
from fretwright.theory.scale import SCALE_KINDS, Scale

SVG = "{http://www.w3.org/2000/svg}"
NECK = Neck()
BOX_ONE = shape_at(Scale.parse("B minor pentatonic"), NECK, 7)


def score(*notes: tuple[int, int, int]) -> Score:
    """Eighth notes given as (string, fret, finger), in A minor."""
    events = [
        Event(EIGHTH, (Head(Place(string, fret), NECK.pitch_at(Place(string, fret)), finger=Finger(finger)),))
        for string, fret, finger in notes
    ]
    key = Key.parse("A minor")
    return assemble(Heading("x", "A walk", NECK, key, TempoMap.constant(60)), into_bars(events))


def layout_of(subject: Shape | Score, labels: Labels = "fingers", *, left_handed: bool = False) -> Layout:
    return lay_out(subject_of(subject), labels, left_handed=left_handed, string_names=True)


def rows(layout: Layout) -> dict[int, str]:
    """Labels from left to right on each string."""
    found: dict[int, list[tuple[float, str]]] = {}
    for dot in layout.dots:
        text = dot.label.text if dot.label else "o"
        found.setdefault(dot.stop.place.string, []).append((dot.x_mm, text))
    return {string: " ".join(text for _, text in sorted(row)) for string, row in sorted(found.items())}


def numbers(layout: Layout) -> list[str]:
    shown = [letters for letters in layout.letters if letters.role == "number"]
    return [letters.text for letters in sorted(shown, key=lambda letters: letters.x_mm)]


def texts(diagram: Diagram) -> tuple[str, str]:
    root = ET.fromstring(diagram.svg)  # noqa: S314 - our own output
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    return title.text or "", desc.text or ""


def test_the_first_minor_pentatonic_box_is_drawn_as_books_print_it() -> None:
    # Common practice, no source: fingers 1 4 / 1 3 / 1 3 / 1 3 / 1 4 / 1 4 from the lowest string up.
    layout = layout_of(BOX_ONE)
    assert rows(layout) == {1: "1 4", 2: "1 4", 3: "1 3", 4: "1 3", 5: "1 3", 6: "1 4"}
    assert {dot.stop.place for dot in layout.dots if dot.stop.is_tonic} == {
        Place(6, 7),
        Place(4, 9),
        Place(1, 7),
    }
    assert layout.nut is None
    assert numbers(layout) == ["7", "9"]


def test_degrees_and_notes_are_printed_with_their_signs() -> None:
    # The degrees of the minor pentatonic are 1 b3 4 5 b7 (common practice, no source).
    assert rows(layout_of(BOX_ONE, "degrees"))[6] == "1 ♭3"
    assert rows(layout_of(BOX_ONE, "degrees"))[4] == "♭7 1"
    assert rows(layout_of(BOX_ONE, "notes"))[2] == "F♯ A"


def test_string_one_is_on_top_and_strings_thicken_downwards() -> None:
    layout = layout_of(BOX_ONE)
    heights = [y for y, *_ in layout.strings]
    assert heights == sorted(heights)
    assert [thickness for *_, thickness in layout.strings] == sorted(
        thickness for *_, thickness in layout.strings
    )
    assert [letters.text for letters in layout.letters if letters.role == "name"] == list("EBGDAE")


def test_open_strings_stand_hollow_outside_the_nut() -> None:
    shape = shape_at(Scale.parse("G major"), NECK, 0)
    layout = layout_of(shape)
    opens = [dot for dot in layout.dots if dot.stop.place.fret == 0]
    assert layout.nut is not None
    assert len(opens) == 6
    assert all(dot.box.right < layout.nut for dot in opens)
    assert all(dot.label is None for dot in opens)
    svg = fretboard_diagram(shape).svg
    assert svg.count('class="place open"') == 5
    assert svg.count('class="place tonic open"') == 1  # the open G string
    assert "hollow marks are open strings" in fretboard_diagram(shape).legend


def with_dead_strings(*dead: int) -> Score:
    """The open fifth, fourth and fifth string, and the third fret of the fifth; some by number are dead."""
    whole = score((5, 0, 0), (4, 0, 0), (5, 0, 0), (5, 3, 3))
    asked = Techniques(dead=True)
    return whole.with_notes(
        tuple(replace(note, techniques=asked) if n in dead else note for n, note in enumerate(whole.notes))
    )


def test_a_dead_string_has_a_cross_where_an_open_one_has_its_ring() -> None:
    diagram = fretboard_diagram(with_dead_strings(0, 1, 2))
    opens = [place for place in diagram.boxes if place.fret == 0]
    assert opens == [Place(5, 0), Place(4, 0)]
    assert diagram.svg.count('<path class="dead"') == 2
    assert "open" not in re.findall(r'class="(place[^"]*)"', diagram.svg)
    assert PAPER not in re.findall(r'<(?:circle|rect)[^>]* fill="(#\w+)"', diagram.svg)
    assert diagram.legend == "Numbers are fingers and crosses are dead strings."
    assert "Fifth string: open, dead; fret three, third finger, C. Fourth string: open, dead." in texts(
        diagram
    )
    assert "<rect" not in diagram.svg  # the tonic A is there, and does not sound


def test_a_string_that_rings_once_is_an_open_one() -> None:
    diagram = fretboard_diagram(with_dead_strings(0, 1))
    assert diagram.svg.count('<path class="dead"') == 1
    assert diagram.svg.count('class="place tonic open"') == 1
    assert "hollow marks are open strings" in diagram.legend


def test_nothing_is_written_on_a_dead_string() -> None:
    for labels in ("fingers", "degrees", "notes"):
        dots = layout_of(with_dead_strings(0, 1, 2), labels).dots
        assert [dot.label is None for dot in dots] == [True, False, True]


def test_a_left_handed_diagram_is_the_mirror_image() -> None:
    right, left = layout_of(BOX_ONE), layout_of(BOX_ONE, left_handed=True)
    assert left.width_mm == right.width_mm
    for here, there in zip(right.dots, left.dots, strict=True):
        assert there.x_mm == pytest.approx(right.width_mm - here.x_mm)
        assert there.y_mm == here.y_mm
    assert rows(left)[6] == "4 1"
    assert numbers(left) == ["9", "7"]


def test_the_tonic_differs_in_form_and_no_colour_carries_meaning() -> None:
    svg = fretboard_diagram(BOX_ONE).svg
    assert svg.count("<rect") == 3
    colours = set(re.findall(r'(?:fill|stroke)="(#\w+)"', svg))
    assert colours == {INK_COLOUR, PAPER, SOFT}


def test_the_softest_ink_can_be_read() -> None:
    # WCAG 2.2, success criterion 1.4.3: 4.5 : 1, with its formula for relative luminance.
    def luminance(colour: str) -> float:
        channels = [int(colour[index : index + 2], 16) / 255 for index in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    assert (1 + 0.05) / (luminance(SOFT) + 0.05) > 4.5


def test_a_score_over_several_positions_shows_them_all() -> None:
    layout = layout_of(score((6, 5, 1), (6, 8, 4), (1, 15, 1), (1, 19, 4), (1, 15, 3)))
    assert rows(layout) == {1: "1/3 4", 6: "1 4"}
    assert numbers(layout) == ["5", "7", "9", "12", "15", "17", "19"]
    assert sum(layout.width_mm < dot.x_mm for dot in layout.dots) == 0


def test_marks_in_the_side_follow_the_wood_and_numbers_the_capo() -> None:
    shape = shape_at(Scale.parse("A minor"), Neck(capo=2), 1)
    layout = layout_of(shape)
    # Frets 3, 5 and 7 of the wood are 1, 3 and 5 above a capo on the second fret.
    assert numbers(layout) == ["1", "3", "5"]
    assert [letters.text for letters in layout.letters if letters.role == "capo"] == ["capo 2"]


def test_words_describe_every_place() -> None:
    title, description = texts(fretboard_diagram(BOX_ONE))
    assert title == "B minor pentatonic, box 1, position 7"
    assert description.startswith(
        "Sixth string: fret seven, first finger, the tonic B; fret ten, fourth finger, D. Fifth string:"
    )
    assert description.count("finger") == len(BOX_ONE.notes)


def test_given_words_are_escaped_and_kept() -> None:
    diagram = fretboard_diagram(BOX_ONE, title='<b> & "x"\0', description="]]>\x1b")
    assert texts(diagram) == ('<b> & "x" ', "]]> ")


def test_ids_start_with_the_prefix_and_are_unique() -> None:
    svg = fretboard_diagram(BOX_ONE, id_prefix="one").svg
    ids = re.findall(r'\bid="([^"]+)"', svg)
    assert len(ids) == len(set(ids))
    assert all(each.startswith("one-") for each in ids)
    assert "one-s6f7" in ids


@pytest.mark.parametrize("prefix", ["", "1a", 'a"b', "a b"])
def test_a_prefix_that_is_no_name_is_refused(prefix: str) -> None:
    with pytest.raises(RenderError):
        fretboard_diagram(BOX_ONE, id_prefix=prefix)


def test_nothing_to_show_is_refused() -> None:
    empty = assemble(Heading("x", "Silence", NECK, Key(0), TempoMap.constant(60)), into_bars([Event(EIGHTH)]))
    with pytest.raises(RenderError, match="Silence"):
        fretboard_diagram(empty)


def test_the_same_bytes_twice_and_every_letter_an_outline() -> None:
    svg = fretboard_diagram(BOX_ONE).svg
    assert svg == fretboard_diagram(BOX_ONE).svg
    assert "<text" not in svg
    assert "font" not in svg


def test_boxes_hold_every_place() -> None:
    diagram = fretboard_diagram(BOX_ONE)
    assert set(diagram.boxes) == {note.place for note in BOX_ONE.notes}
    page = Box(0, 0, diagram.width_mm, diagram.height_mm)
    assert all(_inside(box, page) for box in diagram.boxes.values())


@st.composite
def shapes(draw: st.DrawFn) -> Shape:
    """Shapes on necks with four to nine strings, with and without a capo, anywhere they can be had."""
    tuning = draw(st.sampled_from(list(TUNINGS.values())))
    neck = Neck(tuning=tuning, frets=draw(st.integers(12, 36)), capo=draw(st.integers(0, 5)))
    scale = Scale.parse(
        f"{draw(st.sampled_from(['C', 'F#', 'Bb', 'A']))} {draw(st.sampled_from(list(SCALE_KINDS)))}"
    )
    for position in (draw(st.integers(0, 12)), 5, 1):
        try:
            return shape_at(scale, neck, min(position, neck.last_fret))
        except FretboardError:
            continue
    return BOX_ONE


@given(shapes(), st.sampled_from(["fingers", "degrees", "notes"]), st.booleans())
def test_nothing_covers_anything_else(shape: Shape, labels: Labels, left_handed: bool) -> None:
    layout = layout_of(shape, labels, left_handed=left_handed)
    marks = [mark.box for row in (layout.dots, layout.letters, layout.side_dots) for mark in row]
    assert not [pair for pair in combinations(marks, 2) if pair[0].meets(pair[1])]
    for dot in layout.dots:
        if dot.label:
            assert _inside(dot.label.box, dot.box)
    page = Box(0, 0, layout.width_mm, layout.height_mm)
    assert all(_inside(mark, page) for mark in marks)


@given(shapes())
def test_every_diagram_is_well_formed_and_shows_each_place_once(shape: Shape) -> None:
    diagram = fretboard_diagram(shape)
    root = ET.fromstring(diagram.svg)  # noqa: S314 - our own output
    assert sum(1 for _ in _places(root)) == len({note.place for note in shape.notes})


def _places(root: ET.Element) -> Iterator[ET.Element]:
    return (group for group in root.iter(f"{SVG}g") if group.get("class", "").startswith("place"))


def _inside(inner: Box, outer: Box) -> bool:
    return (
        outer.left <= inner.left
        and outer.top <= inner.top
        and inner.right <= outer.right
        and inner.bottom <= outer.bottom
    )
