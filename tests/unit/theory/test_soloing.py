"""Scales over chords, and notes that chords share."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import harmony

from fretwright.theory.chord import Chord
from fretwright.theory.key import Key
from fretwright.theory.soloing import common_tones, scales_over, scales_over_all

KEYS = ("C major", "G major", "Bb major", "E major", "A minor", "F# minor", "C minor", "Eb minor")
ROOTS = ("C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F")
KINDS = ("", "m", "7", "maj7", "m7", "m7b5", "dim7", "6", "m6", "9", "sus4", "7b9")


def names(chord: str, key: str) -> list[str]:
    return [over.scale.name for over in scales_over(Chord.parse(chord), Key.parse(key))]


@pytest.mark.parametrize(
    ("chord", "key", "first"),
    [("Dm7", "C major", "D dorian"), ("G7", "C major", "G mixolydian"), ("Cmaj7", "C major", "C major"),
     ("Fmaj7", "C major", "F lydian"), ("Bm7b5", "C major", "B locrian"), ("Em7", "C major", "E phrygian"),
     ("Am", "A minor", "A natural minor"), ("E7", "A minor", "A harmonic minor"),
     ("Bdim7", "C minor", "C harmonic minor")],
)  # fmt: skip
def test_the_scale_that_a_chord_has_in_its_key(chord: str, key: str, first: str) -> None:
    """Modes of the steps of a major key, harmonic minor over the fifth: common practice, no source."""
    assert names(chord, key)[0] == first


@given(st.sampled_from(ROOTS), st.sampled_from(KINDS), st.sampled_from(KEYS))
def test_a_scale_holds_the_triad_and_says_what_leaves_the_key(root: str, kind: str, named: str) -> None:
    chord, key = Chord.parse(root + kind), Key.parse(named)
    found = scales_over(chord, key)
    assert 1 <= len(found) <= 3
    for over in found:
        assert all(
            over.scale.contains(note.pitch_class)
            for note, degree in zip(chord.notes, chord.degrees, strict=True)
            if degree.steps <= 4
        )
        outside = {note.pitch_class for note in over.outside}
        inside = {note.pitch_class for note in over.scale.notes} - outside
        assert all(key.scale.contains(pitch) for pitch in inside)
        assert not any(key.scale.contains(pitch) for pitch in outside)
    counts = [len(over.outside) for over in found]
    assert counts == sorted(counts)


@pytest.mark.parametrize(
    ("chords", "key", "scales"),
    [
        ("A7 D7 E7", "A major", ["A blues", "A minor pentatonic"]),
        ("Am7 Dm7", "A minor", ["A blues", "A minor pentatonic", "A natural minor", "A minor pentatonic"]),
        ("C Am F G", "C major", ["C major", "C major pentatonic"]),
        ("C E7 F", "C major", []),
    ],
)
def test_one_scale_for_a_whole_chart(chords: str, key: str, scales: list[str]) -> None:
    found = scales_over_all([Chord.parse(name) for name in chords.split()], Key.parse(key))
    assert [scale.name for scale in found] == list(dict.fromkeys(scales))


@given(st.sampled_from(ROOTS), st.sampled_from(("", "m", "7", "m7")), st.sampled_from(ROOTS))
def test_common_tones_are_those_that_music21_finds(root: str, kind: str, other: str) -> None:
    chord, after = Chord.parse(root + kind), Chord.parse(other)
    shared = {note.pitch_class for note in common_tones(chord, after)}
    figures = (
        f"{root}{kind}".replace("b", "-", 1) if root.endswith("b") else f"{root}{kind}",
        other.replace("b", "-"),
    )
    theirs = [{pitch.pitchClass for pitch in harmony.ChordSymbol(figure).pitches} for figure in figures]
    assert shared == theirs[0] & theirs[1]
