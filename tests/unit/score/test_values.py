"""Written values, against music21."""

from fractions import Fraction

import pytest
from hypothesis import given

from fretwright.base.errors import ScoreError
from fretwright.score.values import BASES, EIGHTH, QUARTER, TRIPLET, WHOLE, Tuplet, Value, value_of
from strategies import values

# music21's names of the same signs
TYPES = ("whole", "half", "quarter", "eighth", "16th", "32nd", "64th")


@pytest.mark.parametrize("dots", [0, 1, 2])
@pytest.mark.parametrize("index", range(len(BASES)))
def test_plain_and_dotted_values_last_as_long_as_music21_says(index: int, dots: int) -> None:
    from music21.duration import Duration

    expected = Duration(type=TYPES[index], dots=dots).quarterLength
    assert Value(BASES[index], dots).duration * 4 == Fraction(expected)


@pytest.mark.parametrize(("actual", "normal"), [(3, 2), (5, 4), (7, 4), (2, 3)])
def test_tuplets_last_as_long_as_music21_says(actual: int, normal: int) -> None:
    from music21.duration import Duration
    from music21.duration import Tuplet as Reference

    duration = Duration(type="eighth")
    duration.appendTuplet(Reference(actual, normal))
    assert Value(EIGHTH.base, 0, Tuplet(actual, normal)).duration * 4 == Fraction(duration.quarterLength)


@pytest.mark.parametrize(
    ("value", "flags"),
    [(WHOLE, 0), (QUARTER, 0), (EIGHTH, 1), (Value(Fraction(1, 16), 1), 2), (Value(BASES[-1]), 4)],
)
def test_flags(value: Value, flags: int) -> None:
    assert value.flags == flags


@pytest.mark.parametrize(
    ("value", "name"),
    [
        (QUARTER, "quarter"),
        (Value(Fraction(1, 4), 1), "dotted quarter"),
        (Value(Fraction(1, 2), 2), "double-dotted half"),
        (Value(Fraction(1, 8), 0, TRIPLET), "triplet eighth"),
        (Value(Fraction(1, 8), 0, Tuplet(5, 4)), "tuplet eighth"),
    ],
)
def test_a_value_is_named_as_a_teacher_says_it(value: Value, name: str) -> None:
    assert value.name == name


@pytest.mark.parametrize(
    ("base", "dots"), [(Fraction(1, 3), 0), (Fraction(2), 0), (Fraction(1, 4), 3), (Fraction(1, 4), -1)]
)
def test_what_cannot_be_written_is_refused(base: Fraction, dots: int) -> None:
    with pytest.raises(ScoreError, match="no written note value"):
        Value(base, dots)


@given(values())
def test_value_of_finds_every_plain_and_dotted_value_by_its_length(value: Value) -> None:
    found = value_of(value.duration)
    if value.tuplet is None:
        assert found == value
    elif found is not None:
        assert found.duration == value.duration


@pytest.mark.parametrize(
    "duration", [Fraction(5, 8), Fraction(1, 12), Fraction(0), Fraction(-1, 4), Fraction(7, 16)]
)
def test_value_of_finds_nothing_where_one_sign_is_not_enough(duration: Fraction) -> None:
    assert value_of(duration) is None
