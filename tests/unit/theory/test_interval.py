import pytest
from hypothesis import given

from fretwright.base.errors import NotationError
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName, Pitch
from strategies import intervals, note_names, pitches


@pytest.mark.parametrize(
    ("name", "semitones"),
    # common practice, no source (from memory)
    [
        ("P1", 0), ("m2", 1), ("M2", 2), ("m3", 3), ("M3", 4), ("P4", 5), ("A4", 6), ("d5", 6),
        ("P5", 7), ("m6", 8), ("M6", 9), ("m7", 10), ("M7", 11), ("P8", 12), ("m9", 13), ("M10", 16),
    ],
)  # fmt: skip
def test_named_intervals_sound_as_many_semitones_as_practice_says(name: str, semitones: int) -> None:
    interval = Interval.parse(name)
    assert interval.semitones == semitones
    assert str(interval) == name


@pytest.mark.parametrize(
    ("degree", "short", "words"),
    [
        ("1", "P1", "perfect unison"),
        ("b3", "m3", "minor third"),
        ("3", "M3", "major third"),
        ("#4", "A4", "augmented fourth"),
        ("b5", "d5", "diminished fifth"),
        ("bb7", "d7", "diminished seventh"),
        ("#9", "A9", "augmented ninth"),
        ("##1", "AA1", "doubly augmented unison"),
        ("b16", "m16", "minor 16th"),
    ],
)
def test_degree_short_name_and_words_agree(degree: str, short: str, words: str) -> None:
    interval = Interval.of_degree(degree)
    assert interval == Interval.parse(short)
    assert interval.degree == degree
    assert interval.name == words


def test_degrees_may_be_written_with_real_accidentals() -> None:
    assert Interval.of_degree("♭3") == Interval.of_degree("b3")
    assert Interval.of_degree("♯4") == Interval.of_degree("#4")


def test_an_interval_down_says_so_and_reaches_a_degree_of_the_octave_below() -> None:
    down = Interval.parse("-M2")
    assert down == Interval(-1, -2)
    assert down.name == "major second down"
    assert down.degree == "b7"
    assert down.simple == Interval.parse("m7")


@pytest.mark.parametrize("text", ["P3", "M5", "m4", "x", "", "3", "M0", "M", "d0", "P-5", "M3 "[:1]])
def test_an_impossible_interval_is_refused_with_a_mend(text: str) -> None:
    with pytest.raises(NotationError) as caught:
        Interval.parse(text)
    assert caught.value.mend


@pytest.mark.parametrize("text", ["", "0", "b", "3b", "#b3", "h7", "b0", "1000"])
def test_an_impossible_degree_is_refused_with_a_mend(text: str) -> None:
    with pytest.raises(NotationError) as caught:
        Interval.of_degree(text)
    assert caught.value.mend


@given(intervals())
def test_short_names_read_back_as_the_same_interval(interval: Interval) -> None:
    assert Interval.parse(str(interval)) == interval


@given(intervals(), intervals())
def test_sums_undo_differences(a: Interval, b: Interval) -> None:
    assert a + b - b == a
    assert a + (-a) == Interval(0, 0)


@given(pitches(), pitches())
def test_the_interval_between_pitches_leads_from_one_to_the_other(low: Pitch, high: Pitch) -> None:
    assert low.transposed(Interval.between(low, high)) == high


@given(note_names(), note_names())
def test_the_interval_between_names_leads_up_by_less_than_an_octave(low: NoteName, high: NoteName) -> None:
    interval = Interval.between(low, high)
    assert 0 <= interval.steps < 7
    assert low.transposed(interval) == high
