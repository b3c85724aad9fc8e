"""Chord names in the standard's kinds (``kind-value`` of MusicXML 4.0), against music21's reading of them."""

from fractions import Fraction

import pytest
from lxml import etree

from fretwright.exchange.chorddegrees import Degree
from fretwright.exchange.chordnames import KINDS, ChordName, join_name, split_name
from fretwright.exchange.musicxml_out import write_musicxml
from fretwright.theory.pitch import NoteName
from musicxml_schema import schema_file
from plate_scores import chord_name, written
from reference_readers import by_music21

_INTERVALS = {
    "": [0, 4, 7], "m": [0, 3, 7], "aug": [0, 4, 8], "dim": [0, 3, 6], "7": [0, 4, 7, 10],
    "maj7": [0, 4, 7, 11], "m7": [0, 3, 7, 10], "dim7": [0, 3, 6, 9], "aug7": [0, 4, 8, 10],
    "m7b5": [0, 3, 6, 10], "mmaj7": [0, 3, 7, 11], "6": [0, 4, 7, 9], "m6": [0, 3, 7, 9],
    "9": [0, 2, 4, 7, 10], "maj9": [0, 2, 4, 7, 11], "m9": [0, 2, 3, 7, 10], "sus2": [0, 2, 7],
    "sus4": [0, 5, 7], "5": [0, 7],
}  # fmt: skip
"""Semitones above the root, folded into one octave; common practice."""


def test_every_kind_is_one_of_the_standards() -> None:
    kinds = etree.parse(schema_file()).iterfind(".//{*}simpleType[@name='kind-value']//{*}enumeration")
    assert set(KINDS.values()) <= {kind.get("value") for kind in kinds}


@pytest.mark.parametrize("ending", _INTERVALS)
def test_music21_gives_each_kind_the_notes_of_its_name(ending: str) -> None:
    from music21 import harmony

    symbol = harmony.ChordSymbol(root="C", kind=KINDS[ending])
    assert sorted({pitch.midi % 12 for pitch in symbol.pitches}) == _INTERVALS[ending]


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("C", ChordName(NoteName("C"), "major", "")),
        ("Bbm7", ChordName(NoteName("B", -1), "minor-seventh", "m7")),
        ("F♯m7♭5", ChordName(NoteName("F", 1), "half-diminished", "m7♭5")),
        ("D/F#", ChordName(NoteName("D"), "major", "", NoteName("F", 1))),
        ("C6/9", ChordName(NoteName("C"), "other", "6/9")),
        ("C6/9/E", ChordName(NoteName("C"), "other", "6/9", NoteName("E"))),
        ("N.C.", ChordName(None, "none", "N.C.")),
    ],
)
def test_a_name_is_taken_apart(name: str, parts: ChordName) -> None:
    assert split_name(name) == parts


@pytest.mark.parametrize("ending", KINDS)
def test_a_name_is_put_together_again(ending: str) -> None:
    assert join_name(split_name(f"Eb{ending}/G")) == f"Eb{ending}/G"


@pytest.mark.parametrize(
    ("kind", "name"), [("dominant", "G7"), ("minor", "Gm"), ("half-diminished", "Gm7b5")]
)
def test_a_kind_without_words_gets_its_usual_ending(kind: str, name: str) -> None:
    assert join_name(ChordName(NoteName("G"), kind, "")) == name


@pytest.mark.parametrize(
    "name",
    ["C7#9", "Dadd9/F#", "C6/9", "G7sus4", "E7b9#5", "Bb13b9", "Am7b5", "F#m11b5", "C7b5", "Ebmaj9#11"],
)
def test_music21_hears_the_notes_of_a_name_that_no_kind_has(name: str) -> None:
    from music21 import harmony

    from fretwright.theory.chord import Chord

    score = written("w5/3", labels=[chord_name(Fraction(0), name)])
    _, stream = by_music21(write_musicxml(score))
    symbol = stream.flatten().getElementsByClass(harmony.ChordSymbol)[0]
    wanted = {note.pitch_class for note in Chord.parse(name).notes} | {Chord.parse(name).bass.pitch_class}
    assert {pitch.midi % 12 for pitch in symbol.pitches} == wanted


@pytest.mark.parametrize(
    ("degree", "text"),
    [
        (Degree(9, 0, "add"), "add9"),
        (Degree(9, 1, "add"), "#9"),
        (Degree(5, -1, "alter"), "b5"),
        (Degree(3, 0, "subtract"), "no3"),
    ],
)
def test_a_degree_is_written_as_names_write_it(degree: Degree, text: str) -> None:
    assert degree.text == text
