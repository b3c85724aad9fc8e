"""Shapes come out with the fingers that method books print: common practice, no source.

A shape is written as the frets of strings 6 to 1, a fingering likewise. Where books differ, the one that
keeps the hand in one position is listed.
"""

import pytest

from fretwright.fingering.finger import finger
from fretwright.fingering.hand import MEDIUM
from fretwright.fretboard.neck import Neck
from scores import fingers_of, line, shape

MINOR_PENTATONIC_BOXES = {
    # in A, from the box at fret 5 up
    "5 8 / 5 7 / 5 7 / 5 7 / 5 8 / 5 8": "1 4 1 3 1 3 1 3 1 4 1 4",
    "8 10 / 7 10 / 7 10 / 7 9 / 8 10 / 8 10": "2 4 1 4 1 4 1 3 2 4 2 4",
    "10 12 / 10 12 / 10 12 / 9 12 / 10 13 / 10 12": "2 4 2 4 2 4 1 4 2 4 2 4",
    "12 15 / 12 15 / 12 14 / 12 14 / 13 15 / 12 15": "1 4 1 4 1 3 1 3 2 4 1 4",
    "15 17 / 15 17 / 14 17 / 14 17 / 15 17 / 15 17": "2 4 2 4 1 4 1 4 2 4 2 4",
}
THREE_PER_STRING = {
    # the major scale in G from each of its degrees
    "3 5 7 / 3 5 7 / 4 5 7 / 4 5 7 / 5 7 8 / 5 7 8": "1 2 4 1 2 4 1 2 4 1 2 4 1 3 4 1 3 4",
    "5 7 8 / 5 7 9 / 5 7 9 / 5 7 9 / 7 8 10 / 7 8 10": "1 3 4 1 2 4 1 2 4 1 2 4 1 2 4 1 2 4",
    "7 8 10 / 7 9 10 / 7 9 10 / 7 9 11 / 8 10 12 / 8 10 12": "1 2 4 1 3 4 1 3 4 1 2 4 1 2 4 1 2 4",
    "8 10 12 / 9 10 12 / 9 10 12 / 9 11 12 / 10 12 13 / 10 12 14": "1 2 4 1 2 4 1 2 4 1 3 4 1 3 4 1 2 4",
    "10 12 14 / 10 12 14 / 10 12 14 / 11 12 14 / 12 13 15 / 12 14 15": "1 2 4 1 2 4 1 2 4 1 2 4 1 2 4 1 3 4",
    "12 14 15 / 12 14 15 / 12 14 16 / 12 14 16 / 13 15 17 / 14 15 17": "1 3 4 1 3 4 1 2 4 1 2 4 1 2 4 1 2 4",
    # in B flat, since books do not print it so near the nut as G has it
    "5 6 8 / 5 6 8 / 5 7 8 / 5 7 8 / 6 8 10 / 6 8 10": "1 2 4 1 2 4 1 3 4 1 3 4 1 2 4 1 2 4",
}
MAJOR_SHAPES = {
    "3 5 / 2 3 5 / 2 4 5 / 2 4 5 / 3 5 / 2 3 5": "2 4 1 2 4 1 3 4 1 3 4 2 4 1 2 4",
    "5 7 8 / 5 7 8 / 5 7 / 4 5 7 / 5 6 8 / 5 7 8": "1 3 4 1 3 4 1 3 1 2 4 1 2 4 1 3 4",
    "7 8 10 / 7 8 10 / 7 9 10 / 7 9 10 / 8 10 / 7 8 10": "1 2 4 1 2 4 1 3 4 1 3 4 2 4 1 2 4",
    "10 12 13 / 10 12 / 9 10 12 / 9 10 12 / 10 12 13 / 10 12 13": "1 3 4 1 3 1 2 4 1 2 4 1 3 4 1 3 4",
    "12 13 15 / 12 14 15 / 12 14 15 / 12 14 / 12 13 15 / 12 13 15": "1 2 4 1 3 4 1 3 4 1 3 1 2 4 1 2 4",
}
OPEN_POSITION = {
    "0 3 / 0 2 / 0 2 / 0 2 / 0 3 / 0 3": "0 3 0 2 0 2 0 2 0 3 0 3",
    "0 3 / 0 3 / 0 2 / 0 2 / 1 3 / 0 3": "0 3 0 3 0 2 0 2 1 3 0 3",
    "0 3 / 0 1 2 / 0 2 / 0 2 3 / 0 3 / 0 3": "0 3 0 1 2 0 2 0 2 3 0 3 0 3",
    "0 1 3 / 0 2 3 / 0 2 3 / 0 2 / 0 1 3 / 0 1 3": "0 1 3 0 2 3 0 2 3 0 2 0 1 3 0 1 3",
    "0 1 3 / 0 1 3 / 0 2 3 / 0 2 3 / 1 3 / 0 1 3": "0 1 3 0 1 3 0 2 3 0 2 3 1 3 0 1 3",
}
CLOSED = {**MINOR_PENTATONIC_BOXES, **THREE_PER_STRING, **MAJOR_SHAPES}


@pytest.mark.parametrize("frets", [*CLOSED, *OPEN_POSITION])
def test_a_shape_is_fingered_as_printed_on_the_way_up(frets: str) -> None:
    found = finger(shape(frets))
    assert fingers_of(found.score) == {**CLOSED, **OPEN_POSITION}[frets]
    assert not found.problems


@pytest.mark.parametrize("frets", CLOSED)
def test_a_shape_is_fingered_alike_on_the_way_down(frets: str) -> None:
    words = [f"{6 - i}/{fret}" for i, strings in enumerate(frets.split(" / ")) for fret in strings.split()]
    down = finger(line(" ".join(reversed(words))))
    assert fingers_of(down.score) == CLOSED[frets][::-1]


@pytest.mark.parametrize("scale_length_mm", [628.0, 648.0, 660.0])
@pytest.mark.parametrize("frets", MINOR_PENTATONIC_BOXES)
def test_the_boxes_are_fingered_alike_on_every_usual_scale_length(frets: str, scale_length_mm: float) -> None:
    found = finger(shape(frets, neck=Neck(scale_length_mm=scale_length_mm)))
    assert fingers_of(found.score) == MINOR_PENTATONIC_BOXES[frets]


@pytest.mark.parametrize("fret", [1, 3, 5, 8, 12])
def test_the_first_box_keeps_its_fingers_all_along_the_neck(fret: int) -> None:
    frets = [[fret, fret + 3], *[[fret, fret + 2]] * 3, *[[fret, fret + 3]] * 2]
    found = finger(shape(" / ".join(" ".join(map(str, string)) for string in frets)))
    assert fingers_of(found.score) == "1 4 1 3 1 3 1 3 1 4 1 4"
    assert set(found.positions.values()) == {fret}


def test_four_neighbouring_frets_take_four_fingers() -> None:
    found = finger(shape("5 6 7 8 / 5 6 7 8 / 5 6 7 8"))
    assert fingers_of(found.score) == "1 2 3 4 " * 2 + "1 2 3 4"
    assert set(found.positions.values()) == {5}


CHORDS = {
    # frets and fingers of usual chords; where several fingerings are usual, all of them
    "C 5/3+4/2+3/0+2/1+1/0": {"3 2 0 1 0"},
    "A 5/0+4/2+3/2+2/2+1/0": {"0 1 2 3 0", "0 2 1 3 0"},
    "G 6/3+5/2+4/0+3/0+2/0+1/3": {"2 1 0 0 0 3", "3 2 0 0 0 4"},
    "E 6/0+5/2+4/2+3/1+2/0+1/0": {"0 2 3 1 0 0"},
    "D 4/0+3/2+2/3+1/2": {"0 1 3 2"},
    "Am 5/0+4/2+3/2+2/1+1/0": {"0 2 3 1 0"},
    "Em 6/0+5/2+4/2+3/0+2/0+1/0": {"0 2 3 0 0 0", "0 1 2 0 0 0"},
    "Dm 4/0+3/2+2/3+1/1": {"0 2 3 1"},
    "F 6/1+5/3+4/3+3/2+2/1+1/1": {"1 3 4 2 1 1"},
    "Bm 5/2+4/4+3/4+2/3+1/2": {"1 3 4 2 1"},
    "Bb 5/1+4/3+3/3+2/3+1/1": {"1 2 3 4 1", "1 3 3 3 1"},
    "Fm 6/1+5/3+4/3+3/1+2/1+1/1": {"1 3 4 1 1 1"},
    "C7 5/3+4/2+3/3+2/1+1/0": {"3 2 4 1 0"},
    "B7 5/2+4/1+3/2+2/0+1/2": {"2 1 3 0 4"},
    "G7 6/3+5/2+4/0+3/0+2/0+1/1": {"3 2 0 0 0 1"},
}


@pytest.mark.parametrize("chord", CHORDS)
def test_a_chord_takes_one_of_its_usual_fingerings(chord: str) -> None:
    found = finger(line(chord.split()[1]), MEDIUM)
    assert fingers_of(found.score) in CHORDS[chord]
    assert not found.problems
