"""Naming what sounds: the best name first, the others with their reasons."""

import pytest
from hypothesis import assume, given

from fretwright.theory.chord import Chord
from fretwright.theory.chord_names import names_of
from strategies import chords

NAMED = {
    # notes with the bass first: the best name and the second, if any (common practice, no source)
    "C E G": ("C",),
    "E G C": ("C/E",),
    "C E G A": ("C6", "Am7/C"),
    "A C E G": ("Am7", "C/A"),
    "D C E G": ("C/D",),
    "G A C E": ("Am/G",),
    "C E Bb": ("C7",),
    "B D F A": ("Bm7b5", "Dm/B"),
    "C Eb Gb A": ("Cdim7", "Adim7/C"),
    "C E G#": ("Caug", "Abaug/C"),
    "D G A": ("Dsus4", "Gsus2/D"),
    "E B": ("E5",),
    "C F": ("F5/C",),
    "C E G D": ("Cadd9",),
    "C# F G#": ("Db",),
    "C# E G#": ("C#m",),
    "F# A# C#": ("F#",),
}


@pytest.mark.parametrize("notes", NAMED)
def test_the_usual_name_comes_first(notes: str) -> None:
    sounding = [Chord.parse(note).root.pitch_class for note in notes.split()]
    found = names_of(sounding, sounding[0])
    assert tuple(str(name.chord) for name in found)[: len(NAMED[notes])] == NAMED[notes]


def test_each_name_says_why() -> None:
    reasons = {str(name.chord): name.reasons for name in names_of([0, 4, 7, 9], 0)}
    assert reasons["C6"] == ("the root is in the bass",)
    assert reasons["Am7/C"] == ("first inversion, the minor third is in the bass",)
    assert names_of([0, 4, 10], 0)[0].reasons[1] == "the fifth is left out"
    assert names_of([2, 0, 4, 7], 2)[0].reasons == ("the bass D is no note of C",)


@pytest.mark.parametrize("notes", [[0], [0, 1], [0, 1, 2], [0, 4]])
def test_what_is_no_chord_has_no_name(notes: list[int]) -> None:
    assert names_of(notes, notes[0]) == ()


@given(chords())
def test_every_chord_is_among_the_names_of_its_own_notes(chord: Chord) -> None:
    assume(chord.quality.symbol not in {"m#5", "m7#5"})  # they are named as the inversions that they are
    sounding = {note.pitch_class for note in chord.notes} - {
        (chord.root.pitch_class + degree.semitones) % 12 for degree in chord.quality.avoided
    }
    found = names_of(sounding | {chord.bass.pitch_class}, chord.bass.pitch_class)
    assert any(
        name.chord.root.pitch_class == chord.root.pitch_class
        and name.chord.bass.pitch_class == chord.bass.pitch_class
        and name.chord.quality == chord.quality
        for name in found
    )
    assert [name.points for name in found] == sorted(name.points for name in found)
