import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import NotationError
from fretwright.base.units import hz_to_midi
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName, Pitch
from strategies import intervals, note_names, pitches

OPEN_STRINGS = [
    ("E2", 40, 82.407, 164.814),
    ("A2", 45, 110.000, 220.0),
    ("D3", 50, 146.832, 293.665),
    ("G3", 55, 195.998, 391.995),
    ("B3", 59, 246.942, 493.883),
    ("E4", 64, 329.628, 659.255),
]
"""Open string, MIDI note, hertz open and at fret 12: computed from ISO 16:1975."""


@pytest.mark.parametrize(("text", "midi", "open_hz", "octave_hz"), OPEN_STRINGS)
def test_open_strings_sound_at_the_frequencies_of_iso_16(
    text: str, midi: int, open_hz: float, octave_hz: float
) -> None:
    pitch = Pitch.parse(text)
    assert pitch.midi == midi
    assert pitch.frequency_hz() == pytest.approx(open_hz, abs=0.0005)
    assert pitch.transposed(Interval.parse("P8")).frequency_hz() == pytest.approx(octave_hz, abs=0.0005)


def test_a4_is_440_hz_as_iso_16_sets_it_and_follows_another_standard_when_asked() -> None:
    a4 = Pitch.parse("A4")
    assert (a4.midi, a4.frequency_hz()) == (69, 440.0)
    assert a4.frequency_hz(a4_hz=415.0) == 415.0


def test_the_octave_number_belongs_to_the_letter() -> None:
    assert Pitch.parse("B#3").midi == Pitch.parse("C4").midi == 60
    assert Pitch.parse("Cb4").midi == Pitch.parse("B3").midi == 59
    assert Pitch.parse("B#3").diatonic == 27
    assert Pitch.parse("C4").diatonic == 28


@pytest.mark.parametrize(
    ("text", "letter", "alter"),
    [
        ("F#", "F", 1), ("Bb", "B", -1), ("F♯", "F", 1), ("fb", "F", -1), ("b", "B", 0), ("bb", "B", -1),
        ("B♭", "B", -1), ("Fx", "F", 2), ("F##", "F", 2), ("Ebb", "E", -2), ("F sharp", "F", 1),
        ("E-flat", "E", -1), ("a", "A", 0), (" C ", "C", 0), ("G𝄪", "G", 2), ("A𝄫", "A", -2),
    ],
)  # fmt: skip
def test_names_are_read_as_teachers_write_them(text: str, letter: str, alter: int) -> None:
    assert NoteName.parse(text) == NoteName(letter, alter)


@pytest.mark.parametrize(
    ("text", "plain", "pretty", "spoken"),
    [
        ("F#", "F#", "F♯", "F sharp"),
        ("Bb", "Bb", "B♭", "B flat"),
        ("Fx", "F##", "F×", "F double sharp"),
        ("Ebb", "Ebb", "E♭♭", "E double flat"),
        ("C", "C", "C", "C"),
        ("Cbbb", "Cbbb", "C♭♭♭", "C flat flat flat"),
    ],
)
def test_names_are_written_printed_and_spoken(text: str, plain: str, pretty: str, spoken: str) -> None:
    name = NoteName.parse(text)
    assert (str(name), name.pretty, name.spoken) == (plain, pretty, spoken)


def test_pitches_are_written_printed_and_spoken() -> None:
    pitch = Pitch.parse("F#4")
    assert (str(pitch), pitch.pretty, pitch.spoken) == ("F#4", "F♯4", "F sharp 4")


@pytest.mark.parametrize("text", ["H", "", "F#b", "FF", "sharp", "F4", "#", "É", "F" + "#" * 50])
def test_what_is_no_note_name_is_refused_with_a_mend(text: str) -> None:
    with pytest.raises(NotationError) as caught:
        NoteName.parse(text)
    assert caught.value.mend


@pytest.mark.parametrize("text", ["H4", "F#", "4", "", "C1000", "C4.5"])
def test_what_is_no_pitch_is_refused_with_a_mend(text: str) -> None:
    with pytest.raises(NotationError) as caught:
        Pitch.parse(text)
    assert caught.value.mend


def test_a_letter_that_does_not_exist_is_refused() -> None:
    with pytest.raises(NotationError):
        NoteName("H")


def test_a_name_cannot_be_put_at_a_height_where_it_does_not_sound() -> None:
    assert Pitch.at_height(NoteName("C", -1), 59) == Pitch.parse("Cb4")
    with pytest.raises(NotationError):
        Pitch.at_height(NoteName("C"), 61)


@given(note_names(max_alter=4))
def test_names_read_back_as_themselves(name: NoteName) -> None:
    assert NoteName.parse(str(name)) == name


@given(pitches(low_octave=-1, high_octave=9))
def test_pitches_read_back_as_themselves(pitch: Pitch) -> None:
    assert Pitch.parse(str(pitch)) == pitch
    assert Pitch.at_height(pitch.name, pitch.midi) == pitch


@given(pitches(), intervals())
def test_transposing_there_and_back_changes_nothing(pitch: Pitch, interval: Interval) -> None:
    moved = pitch.transposed(interval)
    assert moved.midi - pitch.midi == interval.semitones
    assert moved.diatonic - pitch.diatonic == interval.steps
    assert moved.transposed(-interval) == pitch


@given(pitches(), pitches(), intervals())
def test_transposing_two_pitches_keeps_the_interval_between_them(
    low: Pitch, high: Pitch, by: Interval
) -> None:
    assert Interval.between(low.transposed(by), high.transposed(by)) == Interval.between(low, high)


def test_of_two_names_for_one_sound_the_lower_on_the_staff_comes_first() -> None:
    names = ["C4", "B#3", "Dbb4", "B3", "Db4"]
    assert [str(pitch) for pitch in sorted(map(Pitch.parse, names))] == ["B3", "B#3", "C4", "Dbb4", "Db4"]


@given(pitches(), pitches())
def test_pitches_sort_by_height_and_then_by_staff_step(a: Pitch, b: Pitch) -> None:
    assert (a < b) == ((a.midi, a.diatonic) < (b.midi, b.diatonic))
    assert (a == b) == (not a < b and not b < a)


@given(st.integers(0, 127))
def test_frequency_and_midi_number_are_inverse(midi: int) -> None:
    pitch = Pitch.at_height(NoteName("C", midi % 12), midi)
    assert hz_to_midi(pitch.frequency_hz()) == pytest.approx(midi, abs=1e-9)
