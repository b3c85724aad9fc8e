"""Shapes against the trade: frets and fingers of every usual shape, string by string from the lowest.

All tables here are common practice, no source. A string is written ``frets:fingers``.
"""

import pytest

from fretwright.base.errors import FretboardError
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.shapes import Shape, positions_of, shape_at, shape_by_strings
from fretwright.fretboard.tuning import Tuning
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName
from fretwright.theory.scale import Scale

MINOR_PENTATONIC_BOXES = {
    # in A; box: position, strings 6 to 1
    1: (5, "5 8:1 4 / 5 7:1 3 / 5 7:1 3 / 5 7:1 3 / 5 8:1 4 / 5 8:1 4"),
    2: (7, "8 10:2 4 / 7 10:1 4 / 7 10:1 4 / 7 9:1 3 / 8 10:2 4 / 8 10:2 4"),
    3: (10, "10 12:1 3 / 10 12:1 3 / 10 12:1 3 / 9 12:1 4 / 10 13:1 4 / 10 12:1 3"),
    4: (12, "12 15:1 4 / 12 15:1 4 / 12 14:1 3 / 12 14:1 3 / 13 15:2 4 / 12 15:1 4"),
    5: (14, "15 17:2 4 / 15 17:2 4 / 14 17:1 4 / 14 17:1 4 / 15 17:2 4 / 15 17:2 4"),
}
MAJOR_SHAPES = {
    # in C, by the open chord whose form lies in it
    "A": (2, "3 5:2 4 / 2 3 5:1 2 4 / 2 3 5:1 2 4 / 2 4 5:1 3 4 / 3 5 6:1 3 4 / 3 5:2 4"),
    "G": (5, "5 7 8:1 3 4 / 5 7 8:1 3 4 / 5 7:1 3 / 4 5 7:1 2 4 / 5 6 8:1 2 4 / 5 7 8:1 3 4"),
    "E": (7, "7 8 10:1 2 4 / 7 8 10:1 2 4 / 7 9 10:1 3 4 / 7 9 10:1 3 4 / 8 10:2 4 / 7 8 10:1 2 4"),
    "D": (10, "10 12 13:1 3 4 / 10 12:1 3 / 9 10 12:1 2 4 / 9 10 12:1 2 4 / 10 12 13:1 3 4 / 10 12 13:1 3 4"),
    "C": (
        12,
        "12 13 15:1 2 4 / 12 14 15:1 3 4 / 12 14 15:1 3 4 / 12 14:1 3 / 12 13 15:1 2 4 / 12 13 15:1 2 4",
    ),
}
THREE_PER_STRING = {
    # in G, by the degree on the lowest string
    "1": "3 5 7:1 2 4 / 3 5 7:1 2 4 / 4 5 7:1 2 4 / 4 5 7:1 2 4 / 5 7 8:1 3 4 / 5 7 8:1 3 4",
    "2": "5 7 8:1 3 4 / 5 7 9:1 2 4 / 5 7 9:1 2 4 / 5 7 9:1 2 4 / 7 8 10:1 2 4 / 7 8 10:1 2 4",
    "3": "7 8 10:1 2 4 / 7 9 10:1 3 4 / 7 9 10:1 3 4 / 7 9 11:1 2 4 / 8 10 12:1 2 4 / 8 10 12:1 2 4",
    "4": "8 10 12:1 2 4 / 9 10 12:1 2 4 / 9 10 12:1 2 4 / 9 11 12:1 3 4 / 10 12 13:1 3 4 / 10 12 14:1 2 4",
    "5": "10 12 14:1 2 4 / 10 12 14:1 2 4 / 10 12 14:1 2 4 / 11 12 14:1 2 4"
    " / 12 13 15:1 2 4 / 12 14 15:1 3 4",
    "6": "12 14 15:1 3 4 / 12 14 15:1 3 4 / 12 14 16:1 2 4 / 12 14 16:1 2 4"
    " / 13 15 17:1 2 4 / 14 15 17:1 2 4",
    "7": "2 3 5:1 2 4 / 2 3 5:1 2 4 / 2 4 5:1 3 4 / 2 4 5:1 3 4 / 3 5 7:1 2 4 / 3 5 7:1 2 4",
}
OPEN_POSITION = {
    "E minor pentatonic": "0 3:0 3 / 0 2:0 2 / 0 2:0 2 / 0 2:0 2 / 0 3:0 3 / 0 3:0 3",
    "A minor pentatonic": "0 3:0 3 / 0 3:0 3 / 0 2:0 2 / 0 2:0 2 / 1 3:1 3 / 0 3:0 3",
    "E blues": "0 3:0 3 / 0 1 2:0 1 2 / 0 2:0 2 / 0 2 3:0 2 3 / 0 3:0 3 / 0 3:0 3",
    "G major pentatonic": "0 3:0 3 / 0 2:0 2 / 0 2:0 2 / 0 2:0 2 / 0 3:0 3 / 0 3:0 3",
    "C major": "0 1 3:0 1 3 / 0 2 3:0 2 3 / 0 2 3:0 2 3 / 0 2:0 2 / 0 1 3:0 1 3 / 0 1 3:0 1 3",
    "G major": "0 2 3:0 2 3 / 0 2 3:0 2 3 / 0 2 4:0 2 4 / 0 2:0 2 / 0 1 3:0 1 3 / 0 2 3:0 2 3",
    "E major": "0 2 4:0 2 4 / 0 2 4:0 2 4 / 1 2 4:1 2 4 / 1 2:1 2 / 0 2 4:0 2 4 / 0 2 4:0 2 4",
    "F major": "0 1 3:0 1 3 / 0 1 3:0 1 3 / 0 2 3:0 2 3 / 0 2 3:0 2 3 / 1 3:1 3 / 0 1 3:0 1 3",
}
HALF_STEPS_OF_TONICS = {
    "C": 0, "Db": 1, "D": 2, "Eb": 3, "E": 4, "F": 5, "F#": 6, "G": 7, "Ab": 8, "A": 9, "Bb": 10, "B": 11,
}  # fmt: skip
LONG_NECK = Neck(frets=36)


def written(shape: Shape, *, moved_down: int = 0) -> str:
    """A shape in the notation of the tables."""
    strings = []
    for string in reversed(shape.neck.tuning.strings):
        notes = shape.on_string(string)
        frets = " ".join(str(note.place.fret - moved_down) for note in notes)
        strings.append(f"{frets}:{' '.join(str(note.finger) for note in notes)}")
    return " / ".join(strings)


@pytest.mark.parametrize("tonic", HALF_STEPS_OF_TONICS)
@pytest.mark.parametrize("box", MINOR_PENTATONIC_BOXES)
def test_the_five_minor_pentatonic_boxes_are_as_printed_in_every_key(box: int, tonic: str) -> None:
    position, expected = MINOR_PENTATONIC_BOXES[box]
    up = (HALF_STEPS_OF_TONICS[tonic] - HALF_STEPS_OF_TONICS["A"]) % 12
    shape = shape_at(Scale.parse(f"{tonic} minor pentatonic"), LONG_NECK, position + up)
    assert written(shape, moved_down=up) == expected
    assert (shape.box, shape.position) == (box, position + up)


@pytest.mark.parametrize("tonic", HALF_STEPS_OF_TONICS)
@pytest.mark.parametrize("form", MAJOR_SHAPES)
def test_the_five_major_shapes_are_as_printed_in_every_key(form: str, tonic: str) -> None:
    position, expected = MAJOR_SHAPES[form]
    up = HALF_STEPS_OF_TONICS[tonic]
    shape = shape_at(Scale.parse(f"{tonic} major"), LONG_NECK, position + up)
    assert written(shape, moved_down=up) == expected
    assert shape.box is None


@pytest.mark.parametrize("tonic", HALF_STEPS_OF_TONICS)
@pytest.mark.parametrize("degree", THREE_PER_STRING)
def test_the_seven_shapes_with_three_notes_per_string_are_as_printed_in_every_key(
    degree: str, tonic: str
) -> None:
    expected = THREE_PER_STRING[degree]
    first = int(expected.split()[0])
    up = (HALF_STEPS_OF_TONICS[tonic] - HALF_STEPS_OF_TONICS["G"]) % 12
    scale = Scale.parse(f"{tonic} major")
    shape = shape_by_strings(scale, LONG_NECK, 3, Interval.of_degree(degree), first + up)
    assert written(shape, moved_down=up) == expected
    assert shape.position == first + up


@pytest.mark.parametrize(("name", "expected"), OPEN_POSITION.items())
@pytest.mark.parametrize("asked", [0, 1])
def test_open_position_is_as_printed_with_the_first_finger_at_the_first_fret(
    name: str, expected: str, asked: int
) -> None:
    shape = shape_at(Scale.parse(name), Neck(), asked)
    assert written(shape) == expected
    assert shape.position == 0
    assert "open position" in shape.name


@pytest.mark.parametrize(
    ("name", "position", "expected"),
    [
        # the box with the flat fifths that the trade prints in it
        ("A blues", 5, "5 8:1 4 / 5 6 7:1 2 3 / 5 7:1 3 / 5 7 8:1 3 4 / 5 8:1 4 / 5 8:1 4"),
        (
            "A natural minor",
            5,
            "5 7 8:1 3 4 / 5 7 8:1 3 4 / 5 7:1 3 / 4 5 7:1 2 4 / 5 6 8:1 2 4 / 5 7 8:1 3 4",
        ),
        ("G major pentatonic", 2, "3 5:2 4 / 2 5:1 4 / 2 5:1 4 / 2 4:1 3 / 3 5:2 4 / 3 5:2 4"),
        ("F minor pentatonic", 1, "1 4:1 4 / 1 3:1 3 / 1 3:1 3 / 1 3:1 3 / 1 4:1 4 / 1 4:1 4"),
        (
            "C chromatic",
            5,
            " / ".join([*["5 6 7 8 9:1 2 3 4 4"] * 3, "5 6 7 8:1 2 3 4", *["5 6 7 8 9:1 2 3 4 4"] * 2]),
        ),
    ],
)
def test_other_shapes_are_as_printed(name: str, position: int, expected: str) -> None:
    assert written(shape_at(Scale.parse(name), Neck(), position)) == expected


def test_position_1_is_closed_where_the_hand_can_stay_at_rest_and_position_0_is_open() -> None:
    scale = Scale.parse("F# major")
    closed, opened = shape_at(scale, Neck(), 1), shape_at(scale, Neck(), 0)
    outer = "1 2 4:1 2 4 / 1 2 4:1 2 4 / 1 3 4:1 3 4"
    assert written(closed) == f"{outer} / 1 3 4:1 3 4 / 2 4:2 4 / 1 2 4:1 2 4"
    assert written(opened) == f"{outer} / 1 3:1 3 / 0 2 4:0 2 4 / 1 2 4:1 2 4"
    assert (closed.position, opened.position) == (1, 0)


def test_the_a_minor_pentatonic_box_at_fret_5_has_its_twelve_notes() -> None:
    shape = shape_at(Scale.parse("A minor pentatonic"), Neck(), 5)
    # computed from the tuning
    expected = [45, 48, 50, 52, 55, 57, 60, 62, 64, 67, 69, 72]
    assert [note.pitch.midi for note in shape.notes] == expected
    assert [note.degree.degree for note in shape.notes] == ["1", "b3", "4", "5", "b7"] * 2 + ["1", "b3"]
    assert shape.lowest_tonic == shape.notes[0]
    assert shape.name == "A minor pentatonic, box 1, position 5"


@pytest.mark.parametrize("tonic", HALF_STEPS_OF_TONICS)
@pytest.mark.parametrize("kind", ["minor pentatonic", "major pentatonic", "major", "natural minor", "blues"])
def test_five_positions_to_the_octave_lie_along_the_neck(kind: str, tonic: str) -> None:
    shapes = positions_of(Scale.parse(f"{tonic} {kind}"), LONG_NECK)
    positions = [shape.position for shape in shapes]
    assert positions == sorted(set(positions))
    for low in range(2, 20):
        assert sum(low <= position < low + 12 for position in positions) == 5


def test_the_boxes_follow_each_other_along_the_neck() -> None:
    shapes = positions_of(Scale.parse("A minor pentatonic"), Neck())
    assert [(shape.box, shape.position) for shape in shapes] == [
        (4, 0), (5, 2), (1, 5), (2, 7), (3, 10), (4, 12), (5, 14), (1, 17), (2, 19),
    ]  # fmt: skip


@pytest.mark.parametrize("kind", ["minor pentatonic", "major", "blues", "harmonic minor", "mixolydian"])
def test_both_e_strings_look_alike_in_standard_tuning(kind: str) -> None:
    for shape in positions_of(Scale.parse(f"C {kind}"), Neck()):
        low, high = ([(n.place.fret, n.finger) for n in shape.on_string(s)] for s in (6, 1))
        assert low == high


def test_a_teacher_may_put_box_3_a_fret_lower() -> None:
    # Both are in use; the hand sits where the teacher says. Common practice, no source.
    shape = shape_at(Scale.parse("A minor pentatonic"), Neck(), 9)
    assert written(shape) == "10 12:2 4 / 10 12:2 4 / 10 12:2 4 / 9 12:1 4 / 10 13:1 4 / 10 12:2 4"
    assert shape.box == 3


def test_a_capo_moves_the_shape_with_it() -> None:
    bare = shape_at(Scale.parse("E minor pentatonic"), Neck(), 0)
    capped = shape_at(Scale.parse("G minor pentatonic"), Neck(capo=3), 0)
    assert written(capped) == written(bare)
    assert capped.notes[0].pitch.midi == bare.notes[0].pitch.midi + 3


@pytest.mark.parametrize(
    ("tuning", "scale", "position", "expected"),
    # Worked out by hand from the rule: each scale note once, the hand as still as it can be.
    [
        ("drop D", "D minor pentatonic", 0, "0 3 5:0 2 4 / 0 3:0 3 / 0 3:0 3 / 0 2:0 2 / 1 3:1 3 / 1 3:1 3"),
        ("bass", "G major", 2, "2 3 5:1 2 4 / 2 3 5:1 2 4 / 2 4 5:1 3 4 / 2 4 5:1 3 4"),
        (
            "7-string",
            "A minor pentatonic",
            5,
            "5 8:1 4 / 5 8:1 4 / 5 7:1 3 / 5 7:1 3 / 5 7:1 3 / 5 8:1 4 / 5 8:1 4",
        ),
        ("all fourths", "A minor pentatonic", 5, "5 8:1 4 / 5 7:1 3 / 5 7:1 3 / 5 7:1 3 / 4 7:1 4 / 4 7:1 4"),
        ("GCEA", "C major", 0, "0:0 / 0 2:0 2 / 0 1:0 1 / 0 2 3:0 2 3"),
    ],
)
def test_other_tunings_and_numbers_of_strings_have_shapes(
    tuning: str, scale: str, position: int, expected: str
) -> None:
    shape = shape_at(Scale.parse(scale), Neck(Tuning.parse(tuning)), position)
    assert written(shape) == expected


def test_only_the_intervals_of_standard_tuning_have_boxes() -> None:
    scale = Scale.parse("A minor pentatonic")
    assert shape_at(scale, Neck(Tuning.parse("half step down")), 6).box == 1
    assert shape_at(scale, Neck(Tuning.parse("drop D")), 5).box is None
    assert shape_at(Scale.parse("A blues"), Neck(), 5).box == 1
    assert shape_at(Scale.parse("A blues"), Neck(), 7).box == 2


def test_a_start_may_be_a_note_a_degree_or_left_to_the_position() -> None:
    scale, neck = Scale.parse("G major"), Neck()
    by_note = shape_by_strings(scale, neck, 3, NoteName("G"))
    assert by_note == shape_by_strings(scale, neck, 3, Interval.of_degree("1"), 4)
    assert by_note == shape_by_strings(scale, neck, 3, position=3)
    assert by_note.notes[0].place.fret == 3
    assert shape_by_strings(scale, Neck(frets=24), 3, NoteName("G"), 14).notes[0].place.fret == 15
    assert shape_by_strings(scale, neck, 3, position=4).notes[0].place.fret == 5


def test_three_per_string_begins_in_open_position_where_it_starts_on_an_open_string() -> None:
    shape = shape_by_strings(Scale.parse("G major"), Neck(), 3, NoteName("E"))
    assert written(shape) == (
        "0 2 3:0 2 3 / 0 2 3:0 2 3 / 0 2 4:0 2 4 / 0 2 4:0 2 4 / 1 3 5:1 2 4 / 2 3 5:1 2 4"
    )


def test_three_notes_of_a_pentatonic_per_string_are_no_box() -> None:
    assert shape_by_strings(Scale.parse("A minor pentatonic"), Neck(), 3, position=5).box is None


def test_two_per_string_gives_the_pentatonic_boxes_back() -> None:
    scale, neck = Scale.parse("A minor pentatonic"), Neck()
    for box, degree in enumerate(scale.degrees, start=1):
        shape = shape_by_strings(scale, neck, 2, degree, MINOR_PENTATONIC_BOXES[box][0])
        assert written(shape) == MINOR_PENTATONIC_BOXES[box][1]
        assert shape.box == box


@pytest.mark.parametrize("position", [-1, 21, 22, 99])
def test_a_position_off_the_neck_is_refused_with_a_mend(position: int) -> None:
    with pytest.raises(FretboardError) as caught:
        shape_at(Scale.parse("C major"), Neck(), position)
    assert caught.value.mend


def test_notes_per_string_that_cannot_be_laid_out_are_refused_with_a_mend() -> None:
    scale = Scale.parse("G major")
    for per_string, start in [(0, None), (7, None), (6, NoteName("G")), (3, NoteName("G", 1))]:
        with pytest.raises(FretboardError) as caught:
            shape_by_strings(scale, Neck(), per_string, start, 12)
        assert caught.value.mend
