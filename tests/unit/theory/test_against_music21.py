"""Scales, keys, intervals and pitches against music21, an independent reference, over every usual tonic."""

import warnings
from types import ModuleType

import pytest

from fretwright.theory.interval import Interval
from fretwright.theory.key import Key
from fretwright.theory.pitch import LETTERS, NoteName, Pitch
from fretwright.theory.scale import SCALE_KINDS, Scale

TONICS = [NoteName(letter, alter) for letter in LETTERS for alter in (-1, 0, 1)]

SAME_SPELLING = {
    "major": "MajorScale",
    "natural minor": "MinorScale",
    "harmonic minor": "HarmonicMinorScale",
    "melodic minor": "MelodicMinorScale",
    "dorian": "DorianScale",
    "phrygian": "PhrygianScale",
    "lydian": "LydianScale",
    "mixolydian": "MixolydianScale",
    "locrian": "LocrianScale",
}
SAME_SOUND = {
    "whole tone": ("WholeToneScale", {}),
    "diminished": ("OctatonicScale", {"mode": "M2"}),
    "half-whole diminished": ("OctatonicScale", {"mode": "m2"}),
    "chromatic": ("ChromaticScale", {}),
}
"""Scales that music21 respells to single accidentals, so that only their sound can be compared."""
BY_INTERVALS = {
    # music21 has no classes for these; its intervals spell them. Common practice, no source.
    "minor pentatonic": "P1 m3 P4 P5 m7",
    "major pentatonic": "P1 M2 M3 P5 M6",
    "blues": "P1 m3 P4 d5 P5 m7",
    "major blues": "P1 M2 m3 M3 P5 M6",
}


@pytest.fixture(scope="module")
def music21() -> ModuleType:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import music21
    return music21


def _reference_name(name: NoteName) -> str:
    """A note name in music21's spelling, where a flat is a hyphen."""
    return str(name).replace("b", "-")


def test_every_kind_is_compared() -> None:
    assert {*SAME_SPELLING, *SAME_SOUND, *BY_INTERVALS} == set(SCALE_KINDS)


@pytest.mark.parametrize("tonic", TONICS, ids=str)
@pytest.mark.parametrize("kind", SAME_SPELLING)
def test_scales_are_spelled_as_music21_spells_them(music21: ModuleType, kind: str, tonic: NoteName) -> None:
    start = music21.pitch.Pitch(f"{_reference_name(tonic)}4")
    reference = getattr(music21.scale, SAME_SPELLING[kind])(start)
    pitches = reference.getPitches(start, start.transpose("P8"))
    expected = [pitch.name for pitch in pitches[:-1]]
    assert [_reference_name(note) for note in Scale(tonic, SCALE_KINDS[kind]).notes] == expected


@pytest.mark.parametrize("tonic", TONICS, ids=str)
@pytest.mark.parametrize("kind", SAME_SOUND)
def test_symmetrical_scales_sound_as_those_of_music21(
    music21: ModuleType, kind: str, tonic: NoteName
) -> None:
    start = music21.pitch.Pitch(f"{_reference_name(tonic)}4")
    class_name, options = SAME_SOUND[kind]
    reference = getattr(music21.scale, class_name)(start, **options)
    pitches = reference.getPitches(start, start.transpose("P8"))
    expected = {pitch.pitchClass for pitch in pitches}
    assert {note.pitch_class for note in Scale(tonic, SCALE_KINDS[kind]).notes} == expected


@pytest.mark.parametrize("tonic", TONICS, ids=str)
@pytest.mark.parametrize("kind", BY_INTERVALS)
def test_pentatonic_and_blues_scales_are_spelled_by_music21s_intervals(
    music21: ModuleType, kind: str, tonic: NoteName
) -> None:
    start = music21.pitch.Pitch(f"{_reference_name(tonic)}4")
    expected = [start.transpose(interval).name for interval in BY_INTERVALS[kind].split()]
    assert [_reference_name(note) for note in Scale(tonic, SCALE_KINDS[kind]).notes] == expected


@pytest.mark.parametrize("fifths", range(-7, 8))
@pytest.mark.parametrize("minor", [False, True])
def test_keys_have_the_tonic_and_signature_of_music21(music21: ModuleType, fifths: int, minor: bool) -> None:
    key = Key(fifths, minor=minor)
    reference = music21.key.KeySignature(fifths).asKey("minor" if minor else "major")
    assert _reference_name(key.tonic) == reference.tonic.name
    expected = {pitch.step: round(pitch.alter) for pitch in reference.alteredPitches}
    assert list(key.accidentals.items()) == list(expected.items())


@pytest.mark.parametrize("kind", sorted(SAME_SPELLING.keys() - {"harmonic minor", "melodic minor"}))
def test_modes_have_the_signature_of_music21(music21: ModuleType, kind: str) -> None:
    mode = kind.removeprefix("natural ")
    for tonic in TONICS:
        reference = music21.key.Key(_reference_name(tonic), mode).sharps
        if abs(reference) <= 7:
            assert Key.of_scale(Scale(tonic, SCALE_KINDS[kind])).fifths == reference, tonic


def test_intervals_between_pitches_are_those_of_music21(music21: ModuleType) -> None:
    low = Pitch.parse("F#3")
    for tonic in TONICS:
        for octave in (2, 3, 4, 5):
            high = Pitch(tonic, octave)
            reference = music21.interval.Interval(
                music21.pitch.Pitch("F#3"), music21.pitch.Pitch(f"{_reference_name(tonic)}{octave}")
            )
            interval = Interval.between(low, high)
            assert interval.semitones == reference.semitones
            if interval.steps >= 0 and interval.semitones >= 0:
                assert str(interval) == reference.name


def test_pitches_have_the_number_step_and_frequency_of_music21(music21: ModuleType) -> None:
    for tonic in TONICS:
        for octave in range(8):
            pitch = Pitch(tonic, octave)
            reference = music21.pitch.Pitch(f"{_reference_name(tonic)}{octave}")
            assert pitch.midi == round(reference.ps)
            assert pitch.diatonic == reference.diatonicNoteNum - 1
            assert pitch.frequency_hz() == pytest.approx(reference.frequency, rel=1e-9)
