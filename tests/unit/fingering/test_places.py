"""Strings and frets for pitches."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.base.errors import UnplayableError
from fretwright.fingering.hand import LARGE, SMALL
from fretwright.fingering.places import PitchedNote, choose_places
from fretwright.fretboard.neck import Neck, Place

EIGHTH = Fraction(1, 8)
NECK = Neck()


def row(*midis: int) -> list[PitchedNote]:
    """Eighth notes one after the other."""
    return [PitchedNote(EIGHTH * i, EIGHTH, midi) for i, midi in enumerate(midis)]


def together(*midis: int, duration: Fraction = EIGHTH) -> list[PitchedNote]:
    return [PitchedNote(Fraction(0), duration, midi) for midi in midis]


def written(places: tuple[Place, ...]) -> str:
    return " ".join(f"{place.string}/{place.fret}" for place in places)


def test_the_a_minor_pentatonic_comes_out_as_the_box_at_fret_five() -> None:
    """FACTS: MIDI 45 48 50 52 55 57 60 62 64 67 69 72 is the box 5-8 / 5-7 / 5-7 / 5-7 / 5-8 / 5-8."""
    found = choose_places(row(45, 48, 50, 52, 55, 57, 60, 62, 64, 67, 69, 72), NECK, position=5)
    assert written(found) == "6/5 6/8 5/5 5/7 4/5 4/7 3/5 3/7 2/5 2/8 1/5 1/8"


@pytest.mark.parametrize(
    ("midis", "expected"),
    [
        # FACTS: the open chords C E G C E, A E A C# E and E B E G# B E
        ((48, 52, 55, 60, 64), "5/3 4/2 3/0 2/1 1/0"),
        ((45, 52, 57, 61, 64), "5/0 4/2 3/2 2/2 1/0"),
        ((40, 47, 52, 56, 59, 64), "6/0 5/2 4/2 3/1 2/0 1/0"),
    ],
)
def test_open_chords_are_found_from_their_pitches(midis: tuple[int, ...], expected: str) -> None:
    assert written(choose_places(together(*midis), NECK)) == expected


def test_places_come_back_in_the_order_given() -> None:
    pitches = row(45, 48, 50, 52)
    forwards = choose_places(pitches, NECK)
    assert choose_places(pitches[::-1], NECK) == forwards[::-1]


def test_a_held_note_keeps_its_string_to_itself() -> None:
    held = PitchedNote(Fraction(0), Fraction(1), 52)
    found = choose_places([held, *(PitchedNote(EIGHTH * i, EIGHTH, 53) for i in range(1, 4))], NECK)
    assert all(place.string != found[0].string for place in found[1:])


def test_what_cannot_be_held_is_let_go() -> None:
    # E2 has one place; F2 a moment later lies on the same string
    held = [PitchedNote(Fraction(0), Fraction(1), 40), PitchedNote(EIGHTH, EIGHTH, 41)]
    assert written(choose_places(held, NECK)) == "6/0 6/1"


def test_a_pitch_off_the_neck_is_refused_with_what_there_is() -> None:
    with pytest.raises(UnplayableError, match=r"B1 is not on this neck.*from E2 to D6"):
        choose_places(row(60, 35), NECK)


def test_notes_no_hand_can_hold_together_are_refused() -> None:
    with pytest.raises(UnplayableError, match=r"E2, F2"):
        choose_places(together(40, 41), NECK)
    with pytest.raises(UnplayableError, match="together"):
        choose_places(together(60, 61, 62, 63, 64, 65, 66), NECK)


def test_a_chord_may_be_too_wide_for_a_small_hand_alone() -> None:
    # F2 lies at fret 1 alone and A4 at fret 5 of string 1 or further up: 126 mm on a 648 mm neck
    assert written(choose_places(together(41, 69), NECK, LARGE)) == "6/1 1/5"
    with pytest.raises(UnplayableError, match="small hand"):
        choose_places(together(41, 69), NECK, SMALL)


def test_nothing_to_play_takes_no_place() -> None:
    assert choose_places([], NECK) == ()


@given(st.lists(st.integers(40, 86), min_size=1, max_size=12))
@settings(max_examples=40)
def test_every_pitch_sounds_as_written(midis: list[int]) -> None:
    places = choose_places(row(*midis), NECK)
    assert [NECK.midi_at(place) for place in places] == midis
    assert places == choose_places(row(*midis), NECK)


@given(st.lists(st.integers(45, 76), min_size=2, max_size=8), st.integers(1, 5))
@settings(max_examples=20)
def test_under_a_capo_the_same_shapes_sound_higher(midis: list[int], capo: int) -> None:
    """A capo narrows the frets but leaves every place as many frets from its open string."""
    moved = choose_places(row(*(midi + capo for midi in midis)), Neck(capo=capo))
    assert [Neck(capo=capo).midi_at(place) - capo for place in moved] == midis
