"""Chord symbols: what is understood, how it is spelled, and what is refused with which mend."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.base.errors import NotationError
from fretwright.theory.chord import Chord
from fretwright.theory.chord_symbol import COMMON_SYMBOLS, read_quality
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName
from strategies import chords, intervals

# Spelled by degrees: common practice, no source; the notes are computed from the degrees by hand.
SPELLED = {
    "C": "C E G",
    "Am": "A C E",
    "F#m7b5": "F# A C E",
    "Cdim7": "C Eb Gb Bbb",
    "Abm": "Ab Cb Eb",
    "B+": "B D# F##",
    "Dsus4": "D G A",
    "Asus2": "A B E",
    "Esus2sus4": "E F# A B",
    "G5": "G D",
    "C6": "C E G A",
    "C6/9": "C E G A D",
    "Bbmaj7": "Bb D F A",
    "Cm(maj7)": "C Eb G B",
    "G9": "G B D F A",
    "E7#9": "E G# B D F##",
    "A7b9": "A C# E G Bb",
    "D11": "D F# A C E G",
    "C13": "C E G Bb D F A",
    "Dbmaj13#11": "Db F Ab C Eb G Bb",
    "C7#5#9": "C E G# Bb D#",
    "Cadd9": "C E G D",
    "Gm7add11": "G Bb D F C",
    "D9sus4": "D G A C E",
    "C(b5)": "C E Gb",
    "Cb5": "Cb Gb",
    "C7no5": "C E Bb",
}

ONE_CHORD = (
    ("Cm7", "C-7", "Cmi7", "Cmin7", "C minor 7", "C−7"),
    ("Cmaj7", "CM7", "Cma7", "CΔ", "CΔ7", "C△7", "C major7"),
    ("Cm7b5", "Cø", "Cø7", "C-7b5", "Cm7(b5)", "Cm7♭5", "Chalfdim7", "Cm7-5"),
    ("Cdim7", "C°7", "Co7", "Cdiminished7"),
    ("Caug", "C+", "C(#5)", "C+5"),
    ("C7#5", "C+7", "Caug7", "C7+", "C7+5", "C7aug"),
    ("C7b9#11", "C7(b9,#11)", "C7(#11 b9)", "C7b9(#11)", "C7♭9♯11"),
    ("Csus4", "Csus", "C sus4"),
    ("C7sus4b9", "C7b9sus4", "C7(b9)sus"),
    ("C69", "C6/9", "C6add9", "C(6/9)"),
    ("Cm(maj7)", "CmM7", "Cmmaj7", "C-Δ7", "Cm(M7)"),
    ("Cmaj9", "CM9", "CΔ9", "Cma9"),
    ("C5", "Cno3", "C(omit3)"),
    ("Cadd9", "C(add9)", "Cadd2", "C add 9"),
    ("Csus2sus4", "Csus24", "Csus4add9"),
    ("Cdim", "C°", "Cm(b5)", "Co"),
    ("Bb/D", "B♭/D", "Bb major/D"),
)


@pytest.mark.parametrize("symbol", SPELLED)
def test_a_chord_is_spelled_by_its_degrees(symbol: str) -> None:
    assert " ".join(str(note) for note in Chord.parse(symbol).notes) == SPELLED[symbol]


@pytest.mark.parametrize("ways", ONE_CHORD, ids=lambda ways: ways[0])
def test_every_way_of_writing_a_chord_gives_the_same_chord(ways: tuple[str, ...]) -> None:
    assert {Chord.parse(way) for way in ways} == {Chord.parse(ways[0])}
    assert str(Chord.parse(ways[-1])) == ways[0]


@pytest.mark.parametrize("symbol", COMMON_SYMBOLS)
def test_a_common_symbol_is_its_own_canonical_form(symbol: str) -> None:
    assert read_quality(symbol).symbol == symbol


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("H7", "Did you mean B7?"),
        ("am", "Did you mean Am?"),
        ("Cmai7", "Did you mean Cmaj7?"),
        ("Csu4", "Did you mean Csus4?"),
        ("C2", "Write sus2"),
        ("Calt", "Write out what is altered"),
        ("C7alt", "Write out what is altered"),
        ("C(b9)", "after the root"),
        ("Cm5", "after the root"),
        ("C7(b9", "after the root"),
        ("C57", "after the root"),
        ("Cmsus4", "after the root"),
        ("", "such as Am"),
        ("N.C.", "such as Am"),
        ("C/H", "such as Am"),
        ("C" * 200, "such as Am"),
        ("C" + "#9" * 30, "after the root"),
    ],
)
def test_what_is_no_chord_is_refused_with_a_mend(text: str, expected: str) -> None:
    with pytest.raises(NotationError) as refused:
        Chord.parse(text)
    assert expected in refused.value.mend
    assert len(refused.value.message) < 200


def test_a_slash_puts_another_note_in_the_bass() -> None:
    chord = Chord.parse("F#m7b5/A")
    assert (str(chord.root), str(chord.bass), chord.inversion) == ("F#", "A", 1)
    assert Chord.parse("C/D").inversion is None
    assert Chord.parse("C").inversion == 0
    assert Chord.parse("C/D").pitch_classes == {0, 2, 4, 7}


@pytest.mark.parametrize(
    ("symbol", "pretty", "spoken"),
    [
        ("F#m7b5/A", "F♯m7♭5/A", "F sharp minor seven flat five over A"),
        ("Bb", "B♭", "B flat major"),
        ("Eb7#9", "E♭7♯9", "E flat seven sharp nine"),
        ("C(b5)", "C(♭5)", "C major flat five"),
        ("Cb5", "C♭5", "C flat power chord"),
        ("Dsus4", "Dsus4", "D sus four"),
        ("C69", "C69", "C six nine"),
        ("Gadd9", "Gadd9", "G add nine"),
        ("Cm(maj7)", "Cm(maj7)", "C minor major seven"),
    ],
)
def test_print_and_speech(symbol: str, pretty: str, spoken: str) -> None:
    chord = Chord.parse(symbol)
    assert (chord.pretty, chord.spoken) == (pretty, spoken)


@pytest.mark.parametrize(
    ("symbol", "may_go", "not_played"),
    [
        ("C", "", ""),
        ("Am7", "5", ""),
        ("C6", "", ""),  # without its fifth it is Am over C
        ("C69", "5", ""),
        ("C7b5", "", ""),
        ("C9", "5", ""),
        ("C11", "3 5 9", ""),
        ("Cm11", "5 9", ""),
        ("C13", "5 9 11", "11"),
        ("Cm13", "5 9 11", ""),
        ("C13#11", "5 9", ""),
    ],
)
def test_what_a_guitarist_may_leave_out(symbol: str, may_go: str, not_played: str) -> None:
    quality = Chord.parse(symbol).quality
    assert {degree.degree for degree in quality.omittable} == set(may_go.split())
    assert {degree.degree for degree in quality.avoided} == set(not_played.split())


def test_a_note_from_outside_is_spelled_against_the_major_scale_of_the_root() -> None:
    spelled = [str(Chord.parse("C").spell(midi).name) for midi in range(60, 72)]
    assert spelled == ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"]
    assert str(Chord.parse("A/G#").spell(68)) == "G#4"


@given(chords())
def test_a_chord_comes_back_from_its_name(chord: Chord) -> None:
    assert Chord.parse(str(chord)) == chord
    assert Chord.parse(chord.pretty) == chord


@given(chords(), intervals(max_steps=6))
def test_transposing_moves_every_note_alike(chord: Chord, interval: Interval) -> None:
    moved = chord.transposed(interval)
    assert moved.notes == tuple(note.transposed(interval) for note in chord.notes)
    assert moved.degrees == chord.degrees
    assert moved.transposed(-interval) == chord


@given(chords())
def test_a_chord_has_its_root_and_each_sound_once(chord: Chord) -> None:
    classes = [note.pitch_class for note in chord.notes]
    assert chord.notes[0] == chord.root
    assert len(set(classes)) == len(classes) >= 2
    assert chord.quality.omittable | chord.quality.avoided < set(chord.degrees)
    assert all(
        chord.degree_of(note.pitch_class) == d for note, d in zip(chord.notes, chord.degrees, strict=True)
    )


def test_parts_can_be_given_one_by_one() -> None:
    assert Chord.of(NoteName.parse("D"), "m7", NoteName.parse("C")) == Chord.parse("Dm7/C")


PARTS = (
    "b # m - + maj M dim ° ø aug sus sus2 sus4 add no omit 2 3 4 5 6 7 9 11 13 69 b5 #5 b9 #9 #11 b13 ( ) / "
    ", Δ /E /9"
)


def read(text: str) -> Chord | NotationError:
    try:
        return Chord.parse(text)
    except NotationError as refused:
        return refused


@settings(max_examples=300)
@given(st.sampled_from("ABCDEFG"), st.lists(st.sampled_from(PARTS.split()), max_size=6))
def test_whatever_is_read_comes_back_from_its_name(root: str, parts: list[str]) -> None:
    found = read(root + "".join(parts))
    if isinstance(found, NotationError):
        assert found.mend
        return
    assert read(str(found)) == found
    assert len(found.notes) >= 2
    assert found.spoken


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_with_a_mend(text: str) -> None:
    found = read(text)
    assert isinstance(found, Chord) or found.mend
