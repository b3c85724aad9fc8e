"""Chord tones against music21 (its own theory, live) and pychord (its answers, kept in tests/data/chords)."""

import json
import warnings
from pathlib import Path
from types import ModuleType

import pytest

from fretwright.base.errors import NotationError
from fretwright.theory.chord import Chord
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import LETTERS, NoteName

ROOTS = [NoteName(letter, alter) for letter in LETTERS for alter in (-1, 0, 1)]
PYCHORD: dict[str, str] = json.loads(
    (Path(__file__).parents[2] / "data" / "chords" / "pychord-1.4.1.json").read_text(encoding="utf-8")
)

KINDS = {
    # ours: music21's name of the kind
    "": "major", "m": "minor", "aug": "augmented", "dim": "diminished", "7": "dominant-seventh",
    "maj7": "major-seventh", "m(maj7)": "minor-major-seventh", "m7": "minor-seventh",
    "maj7#5": "augmented-major-seventh", "7#5": "augmented-seventh", "m7b5": "half-diminished-seventh",
    "dim7": "diminished-seventh", "7b5": "seventh-flat-five", "6": "major-sixth", "m6": "minor-sixth",
    "maj9": "major-ninth", "9": "dominant-ninth", "m(maj9)": "minor-major-ninth", "m9": "minor-ninth",
    "maj9#5": "augmented-major-ninth", "9#5": "augmented-dominant-ninth", "m9b5": "half-diminished-ninth",
    "m7b5b9": "half-diminished-minor-ninth", "dim9": "diminished-ninth", "11": "dominant-11th",
    "dim7b9": "diminished-minor-ninth", "maj11": "major-11th", "m(maj11)": "minor-major-11th",
    "m11": "minor-11th", "maj11#5": "augmented-major-11th", "11#5": "augmented-11th",
    "m11b5": "half-diminished-11th", "dim11": "diminished-11th", "maj13": "major-13th",
    "13": "dominant-13th", "m(maj13)": "minor-major-13th", "m13": "minor-13th",
    "maj13#5": "augmented-major-13th", "13#5": "augmented-dominant-13th", "m13b5": "half-diminished-13th",
    "sus2": "suspended-second", "sus4": "suspended-fourth", "7sus4": "suspended-fourth-seventh",
    "5": "power",
}  # fmt: skip
READ_IN_TWO_WAYS = [f"{root}{number}" for root in ("C", "F#", "Bb") for number in (2, 4)]
"""Others read them as suspensions."""
NOT_CHORDS_OF_OURS = {"Neapolitan", "Italian", "French", "German", "pedal", "Tristan"}
"""Functional harmony and curiosities, which no chord symbol names."""


@pytest.fixture(scope="module")
def harmony() -> ModuleType:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from music21 import harmony
    return harmony


def test_every_kind_of_music21_is_compared(harmony: ModuleType) -> None:
    assert set(KINDS.values()) | NOT_CHORDS_OF_OURS == set(harmony.CHORD_TYPES)


@pytest.mark.parametrize("symbol", KINDS)
def test_a_kind_has_the_degrees_that_music21_gives_it(harmony: ModuleType, symbol: str) -> None:
    formula = harmony.CHORD_TYPES[KINDS[symbol]][0]
    expected = [Interval.of_degree(degree.replace("-", "b")) for degree in formula.split(",")]
    assert sorted(Chord.parse(f"C{symbol}").degrees) == sorted(expected)


@pytest.mark.parametrize("root", ROOTS, ids=str)
def test_a_chord_is_spelled_as_music21_spells_it(harmony: ModuleType, root: NoteName) -> None:
    for symbol, kind in KINDS.items():
        reference = harmony.ChordSymbol(root=str(root).replace("b", "-"), kind=kind)
        expected = {pitch.name.replace("-", "b") for pitch in reference.pitches}
        assert {str(note) for note in Chord.of(root, symbol).notes} == expected, symbol


@pytest.mark.parametrize("symbol", [symbol for symbol in PYCHORD if symbol not in READ_IN_TWO_WAYS])
def test_a_chord_sounds_as_pychord_says(symbol: str) -> None:
    expected = {NoteName.parse(name).pitch_class for name in PYCHORD[symbol].split()}
    if symbol.endswith("7b9b13"):
        expected -= {(Chord.parse(symbol).root.pitch_class + 5) % 12}  # it puts an eleventh in between
    assert {note.pitch_class for note in Chord.parse(symbol).notes} == expected


@pytest.mark.parametrize("symbol", READ_IN_TWO_WAYS)
def test_what_pychord_takes_for_an_added_note_is_refused(symbol: str) -> None:
    with pytest.raises(NotationError, match="add"):
        Chord.parse(symbol)
