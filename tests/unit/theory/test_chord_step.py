"""Chords by the step of the key that they stand on."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import key as m21key
from music21 import roman

from fretwright.theory.chord_step import chord_on_step
from fretwright.theory.pitch import NoteName

TONICS = ("C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F")
NUMERALS = ("I", "ii", "iii", "IV", "V", "vi", "V7", "ii7", "bVII", "bIII", "bVI", "iv", "II")


@pytest.mark.parametrize(
    ("text", "tonic", "chord"),
    [("I", "A", "A"), ("IV", "E", "A"), ("V7", "G", "D7"), ("vi", "C", "Am"), ("bVII", "D", "C"),
     ("ii7", "Bb", "Cm7"), ("viidim", "C", "Bdim"),
     ("vii\u00f8", "C", "Bm7b5"), ("Imaj7", "F", "Fmaj7"), ("iim7b5", "A", None)],
)  # fmt: skip
def test_numerals(text: str, tonic: str, chord: str | None) -> None:
    """Common practice, no source."""
    found = chord_on_step(text, NoteName.parse(tonic))
    assert (str(found) if found else None) == chord


@pytest.mark.parametrize("text", ["", "A", "Am", "VIII", "Iq", "iI", "1"])
def test_what_is_no_numeral(text: str) -> None:
    assert chord_on_step(text, NoteName.parse("C")) is None


@given(st.sampled_from(NUMERALS), st.sampled_from(TONICS))
def test_the_same_notes_as_music21(text: str, tonic: str) -> None:
    found = chord_on_step(text, NoteName.parse(tonic))
    assert found is not None
    theirs = roman.RomanNumeral(text, m21key.Key(tonic.replace("b", "-")))
    assert {note.pitch_class for note in found.notes} == {pitch.pitchClass for pitch in theirs.pitches}
