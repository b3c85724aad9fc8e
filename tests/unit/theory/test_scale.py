import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import NotationError
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName
from fretwright.theory.scale import SCALE_KINDS, Scale, ScaleKind, scale_kind
from strategies import intervals, scale_kinds, scales

SPELLINGS = {
    "A minor pentatonic": "A C D E G",
    "E minor pentatonic": "E G A B D",
    "C minor pentatonic": "C Eb F G Bb",
    "G minor pentatonic": "G Bb C D F",
    "F# minor pentatonic": "F# A B C# E",
    "Bb minor pentatonic": "Bb Db Eb F Ab",
    "A blues": "A C D Eb E G",
    "E blues": "E G A Bb B D",
    "G blues": "G Bb C Db D F",
    "Bb blues": "Bb Db Eb Fb F Ab",
    "Gb blues": "Gb Bbb Cb Dbb Db Fb",
    "G major pentatonic": "G A B D E",
    "B major": "B C# D# E F# G# A#",
    "F major": "F G A Bb C D E",
    "Bb major": "Bb C D Eb F G A",
    "E natural minor": "E F# G A B C D",
    "C natural minor": "C D Eb F G Ab Bb",
    "A harmonic minor": "A B C D E F G#",
    "F# harmonic minor": "F# G# A B C# D E#",
    "Bb harmonic minor": "Bb C Db Eb F Gb A",
    "C dorian": "C D Eb F G A Bb",
    "C phrygian": "C Db Eb F G Ab Bb",
    "C lydian": "C D E F# G A B",
    "C mixolydian": "C D E F G A Bb",
    "C locrian": "C Db Eb F Gb Ab Bb",
    "Bb phrygian": "Bb Cb Db Eb F Gb Ab",
}
"""Computed from the degree formulas; Gb blues has Cb, not B."""


@pytest.mark.parametrize(("name", "notes"), SPELLINGS.items())
def test_scales_are_spelled_by_their_degrees(name: str, notes: str) -> None:
    assert " ".join(map(str, Scale.parse(name).notes)) == notes


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("b MINOR Pentatonic", "B minor pentatonic"),
        ("Bb major", "Bb major"),
        ("B-flat major", "Bb major"),
        ("F sharp minor", "F# natural minor"),
        ("A aeolian", "A natural minor"),
        ("A  natural   minor scale", "A natural minor"),
        ("Am", "A natural minor"),
        ("Am pentatonic", "A minor pentatonic"),
        ("Am blues", "A blues"),
        ("E minor blues", "E blues"),
        ("E minor-pentatonic", "E minor pentatonic"),
        ("G", "G major"),
        ("C ionian", "C major"),
        ("D dorian mode", "D dorian"),
        ("D pentatonic", "D major pentatonic"),
        ("C whole-tone", "C whole tone"),
        ("C half whole diminished", "C half-whole diminished"),
        ("A 1 b3 4 5 b7", "A minor pentatonic"),
        ("A 1, ♭3, 4, 5", "A 1 b3 4 5"),
    ],
)
def test_scale_names_are_read_as_teachers_write_them(text: str, name: str) -> None:
    assert Scale.parse(text).name == name


@pytest.mark.parametrize(
    "text",
    ["", "H minor", "B mynor", "minor", "A 1 3 2", "A 1 1", "A 2 3", "A 1 8", "A 1 h3", "A " + "1 " * 9999],
)
def test_what_is_no_scale_is_refused_with_a_mend(text: str) -> None:
    with pytest.raises(NotationError) as caught:
        Scale.parse(text)
    assert caught.value.mend


def test_a_slip_in_a_scale_name_is_guessed() -> None:
    with pytest.raises(NotationError, match="Did you mean minor pentatonic"):
        Scale.parse("B minor pentatnic")


def test_no_two_kinds_share_a_name_or_their_degrees() -> None:
    names = [name for kind in SCALE_KINDS.values() for name in (kind.name, *kind.aliases)]
    assert len(names) == len(set(names))
    assert len({kind.degrees for kind in SCALE_KINDS.values()}) == len(SCALE_KINDS)


@pytest.mark.parametrize("kind", SCALE_KINDS.values(), ids=lambda kind: kind.name)
def test_every_name_and_its_degrees_find_the_kind(kind: ScaleKind) -> None:
    assert all(scale_kind(name) is kind for name in (kind.name, *kind.aliases))
    assert scale_kind(" ".join(degree.degree for degree in kind.degrees)) is kind


def test_the_blues_scale_is_the_minor_pentatonic_with_a_flat_fifth() -> None:
    blues, pentatonic = SCALE_KINDS["blues"], SCALE_KINDS["minor pentatonic"]
    assert set(blues.degrees) - set(pentatonic.degrees) == {Interval.of_degree("b5")}


def test_members_keep_the_spelling_of_the_scale_in_every_octave() -> None:
    scale = Scale.parse("Gb blues")
    assert [str(scale.spell(midi)) for midi in (54, 59, 60, 66, 71)] == ["Gb3", "Cb4", "Dbb4", "Gb4", "Cb5"]


@pytest.mark.parametrize(
    ("scale", "midi", "spelled"),
    # The usual chromatic spelling above a tonic; common practice, no source.
    [
        ("A minor pentatonic", 63, "D#4"),
        ("E major", 62, "D4"),
        ("C major", 66, "F#4"),
        ("F major", 71, "B4"),
        ("Ab minor pentatonic", 69, "A4"),
        ("B# minor pentatonic", 66, "F#4"),
        ("Cb major", 72, "C5"),
    ],
)
def test_notes_outside_the_scale_take_the_nearest_sensible_spelling(
    scale: str, midi: int, spelled: str
) -> None:
    assert str(Scale.parse(scale).spell(midi)) == spelled


@given(scales())
def test_scale_names_read_back_as_themselves(scale: Scale) -> None:
    assert Scale.parse(scale.name) == scale


@given(scales(), st.integers(21, 108))
def test_spelling_never_changes_the_sound(scale: Scale, midi: int) -> None:
    pitch = scale.spell(midi)
    assert pitch.midi == midi
    assert (pitch.name in scale.notes) == scale.contains(midi)
    if not scale.contains(midi):
        assert abs(pitch.name.alter) <= 1


@given(scales(), intervals(6))
def test_transposing_a_scale_transposes_each_note(scale: Scale, interval: Interval) -> None:
    moved = scale.transposed(interval)
    assert moved.notes == tuple(note.transposed(interval) for note in scale.notes)
    assert moved.degrees == scale.degrees


@given(scales())
def test_each_degree_is_found_at_its_pitch_class_and_nowhere_else(scale: Scale) -> None:
    found = {pitch_class: scale.degree_of(pitch_class) for pitch_class in range(12)}
    members = {note.pitch_class: degree for note, degree in zip(scale.notes, scale.degrees, strict=True)}
    assert {pitch_class: degree for pitch_class, degree in found.items() if degree} == members


@given(scale_kinds())
def test_every_kind_rises_from_its_tonic_within_an_octave(kind: ScaleKind) -> None:
    heights = [degree.semitones for degree in kind.degrees]
    assert heights[0] == 0
    assert heights == sorted(set(heights))
    assert heights[-1] < 12


def test_a_name_is_needed_to_contain_a_note_not_its_sound_alone() -> None:
    scale = Scale.parse("Bb blues")
    assert NoteName.parse("Fb") in scale.notes
    assert NoteName.parse("E") not in scale.notes
    assert scale.contains(NoteName.parse("E").pitch_class)
