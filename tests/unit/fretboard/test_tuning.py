import pytest
from hypothesis import given

from fretwright.base.errors import FretboardError, NotationError
from fretwright.fretboard.tuning import TUNINGS, Tuning
from fretwright.theory.pitch import Pitch
from strategies import tunings


@pytest.mark.parametrize(
    ("name", "notes"),
    # Named tunings: common practice, no source.
    [
        ("standard", "E2 A2 D3 G3 B3 E4"),
        ("drop D", "D2 A2 D3 G3 B3 E4"),
        ("double drop D", "D2 A2 D3 G3 B3 D4"),
        ("DADGAD", "D2 A2 D3 G3 A3 D4"),
        ("open G", "D2 G2 D3 G3 B3 D4"),
        ("open D", "D2 A2 D3 F#3 A3 D4"),
        ("open E", "E2 B2 E3 G#3 B3 E4"),
        ("open A", "E2 A2 E3 A3 C#4 E4"),
        ("open C", "C2 G2 C3 G3 C4 E4"),
        ("open D minor", "D2 A2 D3 F3 A3 D4"),
        ("open E minor", "E2 B2 E3 G3 B3 E4"),
        ("drop C", "C2 G2 C3 F3 A3 D4"),
        ("drop C#", "C#2 G#2 C#3 F#3 A#3 D#4"),
        ("Eb standard", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("half step down", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("whole step down", "D2 G2 C3 F3 A3 D4"),
        ("baritone", "B1 E2 A2 D3 F#3 B3"),
        ("bass", "E1 A1 D2 G2"),
        ("5-string bass", "B0 E1 A1 D2 G2"),
        ("7-string", "B1 E2 A2 D3 G3 B3 E4"),
        ("8-string", "F#1 B1 E2 A2 D3 G3 B3 E4"),
        ("GCEA", "G4 C4 E4 A4"),
    ],
)
def test_named_tunings_have_the_notes_of_practice(name: str, notes: str) -> None:
    assert Tuning.parse(name).notes == notes


def test_string_1_is_the_highest_and_standard_tuning_has_its_midi_notes() -> None:
    standard = Tuning.parse("standard")
    assert [standard.open_pitch(string).midi for string in standard.strings] == [64, 59, 55, 50, 45, 40]


@pytest.mark.parametrize(
    ("text", "notes", "name"),
    [
        ("dadgad", "D2 A2 D3 G3 A3 D4", "DADGAD"),
        ("Drop-D tuning", "D2 A2 D3 G3 B3 E4", "drop D"),
        ("D A D G B E", "D2 A2 D3 G3 B3 E4", "drop D"),
        ("EADGBe", "E2 A2 D3 G3 B3 E4", "standard"),
        ("eadgbe", "E2 A2 D3 G3 B3 E4", "standard"),
        ("C G C F A D", "C2 G2 C3 F3 A3 D4", "drop C"),
        ("Eb Ab Db Gb Bb Eb", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4", "half step down"),
        ("EADG", "E1 A1 D2 G2", "bass"),
        ("BEADGBE", "B1 E2 A2 D3 G3 B3 E4", "7-string"),
        ("E2, A2, D3, G3, B3, E4", "E2 A2 D3 G3 B3 E4", "standard"),
        ("F A C G C E", "F2 A2 C3 G3 C4 E4", "F2 A2 C3 G3 C4 E4"),
        ("D2 A2 D3 A3 B3 E4", "D2 A2 D3 A3 B3 E4", "D2 A2 D3 A3 B3 E4"),
        ("E E E E B E", "E2 E2 E3 E3 B3 E4", "E2 E2 E3 E3 B3 E4"),
    ],
)
def test_tunings_are_read_by_name_or_by_notes_from_the_lowest_string(
    text: str, notes: str, name: str
) -> None:
    tuning = Tuning.parse(text)
    assert (tuning.notes, tuning.name) == (notes, name)


@pytest.mark.parametrize(
    "text", ["", "DADGAX", "standart", "E2 A2 D G B E", "1 2 3 4", "D" * 50, "E A D H B E"]
)
def test_what_is_no_tuning_is_refused_with_a_mend(text: str) -> None:
    with pytest.raises(NotationError) as caught:
        Tuning.parse(text)
    assert caught.value.mend


def test_a_slip_in_the_name_of_a_tuning_is_guessed() -> None:
    with pytest.raises(NotationError, match="Did you mean standard"):
        Tuning.parse("standart")


@pytest.mark.parametrize("text", ["E A D", "E2 A2 D3", "A B C D E F G A B C"])
def test_too_few_or_too_many_strings_are_refused_with_a_mend(text: str) -> None:
    with pytest.raises(FretboardError) as caught:
        Tuning.parse(text)
    assert caught.value.mend


def test_a_reentrant_tuning_keeps_the_order_of_its_strings() -> None:
    tuning = Tuning.parse("G4 C4 E4 A4")
    assert tuning.is_reentrant
    assert tuning.open_pitch(4) == Pitch.parse("G4")
    assert not Tuning.parse("standard").is_reentrant


def test_a_string_that_is_not_there_is_refused_with_a_mend() -> None:
    with pytest.raises(FretboardError) as caught:
        Tuning.parse("standard").open_pitch(7)
    assert "6" in caught.value.mend


def test_no_two_tunings_share_their_strings() -> None:
    assert len({tuning.open_pitches for tuning in TUNINGS.values()}) == len(TUNINGS)


@given(tunings())
def test_tunings_read_back_from_their_name_and_their_notes(tuning: Tuning) -> None:
    assert Tuning.parse(tuning.name) == tuning
    assert Tuning.parse(tuning.notes) == tuning
