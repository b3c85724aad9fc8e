"""What was heard stands where its note stands, over nothing else, and says itself without colour."""

import re
from collections.abc import Iterator
from itertools import combinations, pairwise

import pytest
import resvg_py
from lxml import etree

from fretwright.base.errors import RenderError
from fretwright.engrave.heard import HeardPlate, heard_plate
from fretwright.engrave.heard_pieces import Piece
from fretwright.engrave.plate import Plate, engrave
from fretwright.engrave.style import PlateStyle
from fretwright.score.marks import BetweenMark, Mark, MarkedScore, MarkShape, NoteLevel, NoteTiming
from plate_techniques import chart, everything
from scores import line

WORDS = "6/5 6/8h 5/5 5/7h 4/5 4/7h 3/5 3/7h 2/5 2/8h 1/5 1/8h 1/5 2/8 2/5 3/7 " * 3
SCORE = line(WORDS)
IDS = [note.id for note in SCORE.notes]
MEANINGS = tuple((shape, f"what {shape} means here") for shape in MarkShape)
FULL = MarkedScore(
    "A long word of advice that has to be broken. " * 6,
    tuple(
        Mark(
            note,
            list(MarkShape)[index % (len(MarkShape) - 1)],
            ("missed", "unsure", "early 118 (2)", "E♭4")[index % 4],
        )
        for index, note in enumerate(IDS)
        for _ in range(1 + index % 2)
    ),
    (
        BetweenMark(None, IDS[0], MarkShape.PLUS, "C4"),
        *(BetweenMark(a, b, MarkShape.PLUS, "F♯4") for a, b in pairwise(IDS)),
        BetweenMark(IDS[-1], None, MarkShape.PLUS, "C4"),
    ),
    tuple(NoteTiming(note, index * 7 % 300 - 150.0, 9.4) for index, note in enumerate(IDS)),
    tuple(NoteLevel(note, index * 5 % 60 - 30.0, bool(index % 2)) for index, note in enumerate(IDS)),
    MEANINGS,
)


@pytest.fixture(scope="module", params=[170.0, 84.0])
def plate(request: pytest.FixtureRequest) -> Plate:
    return engrave(SCORE, PlateStyle(width_mm=request.param))


def drawn(plate: Plate, heard: MarkedScore) -> HeardPlate:
    return heard_plate(plate, heard, title="Line <1>", description="what & where")


def column_of(plate: Plate, note: str) -> float:
    """The middle of the fret number, as the plate tells it."""
    box = next(box for box in plate.boxes[note] if box.layer == "tab")
    return box.x + box.width / 2


def of(picture: HeardPlate, note: str, role: str) -> list[Piece]:
    return [piece for piece in picture.pieces if piece.note_id == note and piece.role == role]


def test_every_mark_stands_in_the_column_of_its_note_under_its_own_system(plate: Plate) -> None:
    picture = drawn(plate, FULL)

    assert len(plate.systems) > 1
    for note in IDS:
        system = plate.systems[plate.boxes[note][0].system]
        top = system.ink_bottom + picture.shifts_mm[system.index]
        later = [
            each.ink_top + picture.shifts_mm[each.index]
            for each in plate.systems
            if each.index > system.index
        ]
        pieces = [*of(picture, note, "shape"), *of(picture, note, "dot"), *of(picture, note, "stem")]
        assert len(pieces) == FULL.marks.count(of_mark(note)) + 3
        for piece in pieces:
            assert (piece.box.left + piece.box.right) / 2 == pytest.approx(column_of(plate, note), abs=1e-6)
            assert piece.box.top > top
            assert all(piece.box.bottom < below for below in later)


def of_mark(note: str) -> Mark:
    return next(mark for mark in FULL.marks if mark.note_id == note)


def test_each_word_stands_under_its_shape(plate: Plate) -> None:
    picture = drawn(plate, FULL)

    for note in IDS:
        for mark, word in zip(of(picture, note, "shape"), of(picture, note, "word"), strict=True):
            assert 0 < word.box.top - mark.box.bottom < 1.5
            assert word.box.left <= (mark.box.left + mark.box.right) / 2 <= word.box.right


def test_nothing_runs_into_anything_or_off_the_picture(plate: Plate) -> None:
    picture = drawn(plate, FULL)
    systems = [
        (0.0, system.ink_top + shift, plate.width_mm, system.ink_bottom + shift)
        for system, shift in zip(plate.systems, picture.shifts_mm, strict=True)
    ]
    boxes = [tuple(piece.box) for piece in picture.pieces if piece.role in {"shape", "word", "label", "dot"}]

    assert not list(collisions([*boxes, *systems]))
    for left, top, right, bottom in boxes:
        assert left > -0.01
        assert top > 0
        assert right < plate.width_mm + 0.01
        assert bottom < picture.height_mm + 0.01
    rules = [tuple(piece.box) for piece in picture.pieces if piece.role == "rule"]
    words = [tuple(piece.box) for piece in picture.pieces if piece.role in {"shape", "word", "label"}]
    assert not [pair for pair in collisions([*rules, *words]) if (pair[0] in rules) != (pair[1] in rules)]


def collisions(
    boxes: list[tuple[float, ...]],
) -> Iterator[tuple[tuple[float, ...], tuple[float, ...]]]:
    for a, b in combinations(boxes, 2):
        if min(a[2], b[2]) - max(a[0], b[0]) > 0.01 and min(a[3], b[3]) - max(a[1], b[1]) > 0.01:
            yield a, b


def test_late_is_above_the_line_and_early_below_by_its_size_and_the_band_is_marked() -> None:
    plate = engrave(line("6/5 6/8 5/5 5/7"))
    notes = [note.id for note in line("6/5 6/8 5/5 5/7").notes]
    offs = (0.0, 10.0, -10.0, 20.0)
    timings = tuple(NoteTiming(note, off, 10.0) for note, off in zip(notes, offs, strict=True))

    picture = drawn(plate, MarkedScore("", timings=timings))

    dots = [of(picture, note, "dot")[0] for note in notes]
    middle, late, early, later = ((dot.box.top + dot.box.bottom) / 2 for dot in dots)
    assert middle - late == pytest.approx(early - middle)
    assert middle - later == pytest.approx(2 * (middle - late))
    assert late < middle
    band = of(picture, notes[0], "band")[0].box
    assert [band.top, band.bottom] == pytest.approx([late, early])
    # a ring outside the band, a disc inside it
    assert ["stroke=" in dot.svg for dot in dots] == [False, False, False, True]


def test_a_slur_is_a_ring_and_a_stronger_note_stands_higher() -> None:
    score = line("6/5 6/8h 5/5 5/7h")
    notes = [note.id for note in score.notes]
    levels = tuple(NoteLevel(note, -3.0 * index, bool(index % 2)) for index, note in enumerate(notes))

    picture = drawn(engrave(score), MarkedScore("", levels=levels))

    dots = [of(picture, note, "dot")[0] for note in notes]
    tops = [dot.box.top for dot in dots]
    assert tops == sorted(tops)
    assert tops[2] - tops[1] == pytest.approx(tops[1] - tops[0])
    assert ["stroke=" in dot.svg for dot in dots] == [False, True, False, True]


def test_one_too_many_stands_half_way_between_its_notes() -> None:
    plate = engrave(line("6/5 6/8 5/5 5/7"))
    first, second, *_ = [note.id for note in line("6/5 6/8 5/5 5/7").notes]

    picture = drawn(plate, MarkedScore("", between=(BetweenMark(first, second, MarkShape.PLUS, "A2"),)))

    (plus,) = [piece for piece in picture.pieces if piece.role == "shape"]
    middle = (column_of(plate, first) + column_of(plate, second)) / 2
    assert (plus.box.left + plus.box.right) / 2 == pytest.approx(middle)


def test_every_shape_has_a_form_of_its_own_in_one_ink() -> None:
    plate = engrave(line("6/5 6/8"))
    note = next(iter(plate.boxes))
    forms = set()
    for shape in MarkShape:
        picture = drawn(plate, MarkedScore("", (Mark(note, shape, ""),)))
        forms.add(of(picture, note, "shape")[0].svg)
        # ink, paper, the soft grey of lines and the pale one of bands: no colour that could mean something
        assert set(re.findall(r"#[0-9a-f]{3,6}", picture.svg)) <= {"#1b1a17", "#fff", "#6b6862", "#dcd9d2"}
    assert len(forms) == len(MarkShape)


def test_the_picture_is_one_file_that_says_what_it_is_and_needs_no_font(plate: Plate) -> None:
    picture = drawn(plate, FULL)

    root = etree.fromstring(picture.svg)
    space = "{http://www.w3.org/2000/svg}"
    assert root.findtext(f"{space}title") == "Line <1>"
    assert root.findtext(f"{space}desc") == "what & where"
    assert root.find(f".//{space}text") is None
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))
    assert bytes(resvg_py.svg_to_bytes(svg_string=picture.svg, skip_system_fonts=True)).startswith(b"\x89PNG")
    assert drawn(plate, FULL).svg == picture.svg


def test_a_note_that_is_not_on_the_plate_is_refused() -> None:
    with pytest.raises(RenderError, match="b99t0s1"):
        drawn(engrave(line("6/5 6/8")), MarkedScore("", (Mark("b99t0s1", MarkShape.RING, "missed"),)))


@pytest.mark.parametrize("seed", [2, 8])
def test_marks_stand_under_two_voices_and_small_notes_as_well(seed: int) -> None:
    """Grace notes and bent strings move nothing: each mark is in the column of its own fret number."""
    score, style = everything(seed)
    plate = engrave(score, style)
    marks = tuple(Mark(note.id, MarkShape.RING, "late") for note in score.notes)
    picture = drawn(plate, MarkedScore("Steady.", marks, (), (), (), MEANINGS))
    assert any(note.voice == 2 for note in score.notes)
    assert any(note.techniques.graces for note in score.notes)
    for note in score.notes:
        (shape,) = of(picture, note.id, "shape")
        middle = (shape.box.left + shape.box.right) / 2
        assert middle == pytest.approx(column_of(plate, note.id), abs=1e-6)


def test_marks_stand_under_the_slash_of_their_notes() -> None:
    score, style = chart(2)
    plate = engrave(score, style)
    marks = tuple(Mark(note.id, MarkShape.CROSS, "missed") for note in score.notes)
    picture = drawn(plate, MarkedScore("Steady.", marks, (), (), (), MEANINGS))
    assert score.notes
    assert {piece.note_id for piece in picture.pieces if piece.role == "shape" and piece.note_id} == {
        note.id for note in score.notes
    }
