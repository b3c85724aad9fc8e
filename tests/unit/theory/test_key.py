import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import NotationError
from fretwright.theory.key import Key, simplest
from fretwright.theory.pitch import NoteName
from fretwright.theory.scale import Scale
from strategies import keys, scales

CIRCLE_OF_FIFTHS = {
    "C major": 0, "G major": 1, "D major": 2, "A major": 3, "E major": 4, "B major": 5, "F# major": 6,
    "C# major": 7, "F major": -1, "Bb major": -2, "Eb major": -3, "Ab major": -4, "Db major": -5,
    "Gb major": -6, "Cb major": -7, "A minor": 0, "E minor": 1, "B minor": 2, "F# minor": 3, "C# minor": 4,
    "G# minor": 5, "D# minor": 6, "A# minor": 7, "D minor": -1, "G minor": -2, "C minor": -3, "F minor": -4,
    "Bb minor": -5, "Eb minor": -6, "Ab minor": -7,
}  # fmt: skip
"""Common practice, no source."""


@pytest.mark.parametrize(("name", "fifths"), CIRCLE_OF_FIFTHS.items())
def test_every_key_has_the_signature_of_the_circle_of_fifths(name: str, fifths: int) -> None:
    key = Key.parse(name)
    assert (key.fifths, key.name) == (fifths, name)


def test_accidentals_come_in_the_order_of_print() -> None:
    # common practice, no source
    assert list(Key(7).accidentals.items()) == [(letter, 1) for letter in "FCGDAEB"]
    assert list(Key(-7).accidentals.items()) == [(letter, -1) for letter in "BEADGCF"]
    assert list(Key(3).accidentals) == ["F", "C", "G"]
    assert Key(-2).alter_of("B") == -1
    assert Key(-2).alter_of("A") == 0


@pytest.mark.parametrize("text", ["F#m", "f# min", "F sharp minor", "F♯ Minor"])
def test_keys_are_read_as_teachers_write_them(text: str) -> None:
    assert Key.parse(text) == Key(3, minor=True)


@pytest.mark.parametrize("text", ["", "H", "B mynor", "G# major", "Fb major", "E# minor", "minor"])
def test_what_is_no_key_is_refused_with_a_mend(text: str) -> None:
    with pytest.raises(NotationError) as caught:
        Key.parse(text)
    assert caught.value.mend


def test_a_key_beyond_seven_accidentals_is_mended_by_its_enharmonic() -> None:
    with pytest.raises(NotationError, match="Write Ab major instead"):
        Key.parse("G# major")
    with pytest.raises(NotationError):
        Key(8)


@pytest.mark.parametrize(
    ("scale", "key"),
    # What a method book prints over a scale; common practice, no source.
    [
        ("B minor pentatonic", Key(2, minor=True)),
        ("A blues", Key(0, minor=True)),
        ("G blues", Key(-2, minor=True)),
        ("C major blues", Key(0)),
        ("G major pentatonic", Key(1)),
        ("F# harmonic minor", Key(3, minor=True)),
        ("C melodic minor", Key(-3, minor=True)),
        ("D dorian", Key(0, minor=True)),
        ("E phrygian", Key(0, minor=True)),
        ("F lydian", Key(0)),
        ("G mixolydian", Key(0)),
        ("B locrian", Key(0, minor=True)),
        ("B dorian", Key(3, minor=True)),
        ("Bb phrygian", Key(-6, minor=True)),
        ("A mixolydian", Key(2)),
        ("C whole tone", Key(0)),
        ("Eb diminished", Key(0, minor=True)),
        ("B chromatic", Key(0)),
    ],
)
def test_the_signature_over_a_scale_is_the_one_a_method_book_prints(scale: str, key: Key) -> None:
    assert Key.of_scale(Scale.parse(scale)) == key


def test_a_scale_beyond_seven_accidentals_has_no_signature_and_an_enharmonic() -> None:
    scale = Scale.parse("G# major")
    assert Key.of_scale(scale) == Key(0)
    assert simplest(scale).name == "Ab major"
    assert simplest(Scale.parse("Fb minor pentatonic")).name == "E minor pentatonic"
    assert simplest(Scale.parse("F# blues")).name == "F# blues"


@pytest.mark.parametrize(
    ("key", "midi", "spelled"),
    # Raised sixth and seventh of a minor key: common practice, no source.
    [
        (Key(0, minor=True), 68, "G#4"),
        (Key(0, minor=True), 66, "F#4"),
        (Key(-2, minor=True), 66, "F#4"),
        (Key(-5, minor=True), 69, "A4"),
        (Key(6, minor=True), 62, "C##4"),
        (Key(7, minor=True), 67, "F##4"),
        (Key(7), 67, "G4"),
        (Key(-1), 70, "Bb4"),
        (Key(2), 66, "F#4"),
    ],
)
def test_a_key_spells_its_usual_chromatic_notes(key: Key, midi: int, spelled: str) -> None:
    assert str(key.spell(midi)) == spelled


@given(keys())
def test_key_names_read_back_as_themselves(key: Key) -> None:
    assert Key.parse(key.name) == key


@given(keys())
def test_the_signature_holds_exactly_the_accidentals_of_the_scale(key: Key) -> None:
    assert {note.letter: note.alter for note in key.scale.notes if note.alter} == dict(key.accidentals)
    assert key.tonic == key.scale.tonic
    assert Key.of_scale(key.scale) == key


@given(keys(), st.integers(21, 108))
def test_spelling_in_a_key_never_changes_the_sound(key: Key, midi: int) -> None:
    pitch = key.spell(midi)
    assert pitch.midi == midi
    if key.scale.contains(midi):
        assert pitch.name.alter == key.alter_of(pitch.name.letter)


@given(scales())
def test_the_simplest_spelling_sounds_the_same_and_fits_a_signature(scale: Scale) -> None:
    plain = simplest(scale)
    assert plain.tonic.pitch_class == scale.tonic.pitch_class
    assert plain.kind == scale.kind
    assert simplest(plain) == plain


def test_enharmonic_keys_are_different_keys() -> None:
    assert Key.parse("F# major") != Key.parse("Gb major")
    assert Key.parse("F# major").tonic == NoteName("F", 1)
