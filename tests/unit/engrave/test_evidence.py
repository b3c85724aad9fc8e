"""The picture of what a take was understood from, asserted by what stands where."""

from dataclasses import replace

import pytest
import resvg_py
from lxml import etree

from fretwright.base.errors import RenderError
from fretwright.engrave.evidence import LINE_S, evidence_picture
from fretwright.score.evidence import Evidence, Found, Moment, NoteEvidence
from fretwright.score.marks import MarkShape

SVG = "{http://www.w3.org/2000/svg}"
NAMES = ("C4", "C♯4", "D4", "E♭4", "E4")
NOTES = (
    NoteEvidence("b1t0s1", "C4", 60, 0.5, Found(0.5, 60), None, ("played 99 %", "C4 +9.1", "next D4 -6.0")),
    NoteEvidence("b1t1-8s1", "E4", 64, 1.0, Found(1.0, 62), MarkShape.CROSS, ("wrong 95 %", "D4 +7.0")),
    NoteEvidence("b1t1-4s1", "E4", 64, 5.0, None, MarkShape.RING, ("missed 98 %", "at best -9.7")),
)
EVIDENCE = Evidence(
    headline="The second note of bar 1 sounded 2 frets lower than written.",
    length_s=6.5,
    step_s=0.005,
    levels_db=tuple(-float(index % 60) for index in range(1300)),
    rises=tuple(0.01 * (index % 100) for index in range(1300)),
    changes=tuple(0.02 * (index % 50) for index in range(1300)),
    lowest_midi=60,
    pitch_names=NAMES,
    moments=(
        Moment(0.5, (9.1, -12.0, -6.1, -12.0, -12.0)),
        Moment(1.0, (-12.0, -5.0, 7.0, -12.0, 1.0)),
        Moment(4.2, (-12.0,) * 5),
    ),
    notes=NOTES,
    way=(Found(0.5, 60), Found(1.0, 62)),
    too_many=(Found(4.2, 61),),
    others=((Found(0.1, 60), Found(0.3, 64)),),
)


def drawn(evidence: Evidence) -> etree._Element:
    return etree.fromstring(evidence_picture(evidence, title="Up: <why>").encode())


def of_class(root: etree._Element, name: str) -> list[etree._Element]:
    return [each for each in root.iter() if each.get("class") == name]


def test_a_line_holds_four_seconds_and_every_note_stands_in_its_own() -> None:
    root = drawn(EVIDENCE)

    lines = of_class(root, "line")
    assert [float(line.get("data-from")) for line in lines] == [0, LINE_S]
    notes = [[each.get("data-note") for each in of_class(line, "note")] for line in lines]
    assert notes == [["b1t0s1", "b1t1-8s1"], ["b1t1-4s1"]]


def test_the_way_goes_through_what_was_found_and_likelier_is_darker() -> None:
    root = drawn(EVIDENCE)

    assert len(of_class(root, "way")) == 1
    assert len(of_class(root, "other")) == 1
    cells = {int(each.get("data-step")): each for each in of_class(root, "odds")}
    # +9.1, +7.0 and +1.0; what is worse than -6 to 1 is left white
    assert sum(each.get("d").count("M") for each in cells.values()) == 4
    greys = [int(cells[step].get("fill")[1:3], 16) for step in sorted(cells)]
    assert greys == sorted(greys, reverse=True)
    # the way's first corner is at the note's disc, on the row of the lowest pitch
    dot = of_class(root, "dot")[0]
    assert of_class(root, "way")[0].get("d").startswith(f"M{dot.get('cx')} {dot.get('cy')}L")


def test_marks_are_those_of_the_plate() -> None:
    root = drawn(EVIDENCE)

    assert len(of_class(root, "shape")) == 3
    assert len(of_class(root, "dot")) == 1


def test_it_is_sound_svg_without_letters_and_the_same_twice() -> None:
    text = evidence_picture(EVIDENCE, title="Up")
    root = etree.fromstring(text.encode())

    assert not list(root.iter(f"{SVG}text"))
    assert bytes(resvg_py.svg_to_bytes(svg_string=text, skip_system_fonts=True)).startswith(b"\x89PNG")
    assert evidence_picture(EVIDENCE, title="Up") == text
    words = root.find(f"{SVG}desc").text
    assert "b1t1-8s1 (E4, due at 1.00 s): wrong 95 %, D4 +7.0" in words


def test_words_that_stand_there_often_are_drawn_once() -> None:
    root = drawn(replace(EVIDENCE, notes=NOTES * 5))

    outlines = [each.get("d") for each in root.iter(f"{SVG}path") if each.get("id")]
    ids = {each.get("id") for each in root.iter(f"{SVG}path") if each.get("id")}
    used = {each.get("href").removeprefix("#") for each in root.iter(f"{SVG}use")}
    assert outlines
    assert len(outlines) == len(set(outlines))
    assert used == ids


def test_nothing_found_is_drawn_as_nothing() -> None:
    root = drawn(replace(EVIDENCE, moments=(), notes=(), too_many=(), others=()))

    assert not of_class(root, "note")
    assert len(of_class(root, "level")) == 2


def test_an_id_that_cannot_start_so_is_refused() -> None:
    with pytest.raises(RenderError):
        evidence_picture(EVIDENCE, title="Up", id_prefix="4 ids")
