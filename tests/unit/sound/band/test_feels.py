"""Feels and where they put what lies between two beats."""

from fractions import Fraction

import pytest

from fretwright.base.errors import UsageError
from fretwright.sound.band.feels import FEELS, feel_named, swung


def test_all_feels_are_there() -> None:
    assert set(FEELS) == {"straight", "shuffle", "slow blues", "bossa", "ballad", "funk"}
    assert feel_named("  Slow  Blues ") is FEELS["slow blues"]


def test_an_unknown_feel_is_met_with_those_there_are() -> None:
    with pytest.raises(UsageError) as told:
        feel_named("polka")
    assert "shuffle" in told.value.mend


def test_swing_moves_the_second_half_of_a_beat_to_the_last_of_a_triplet() -> None:
    feel = FEELS["shuffle"]
    straight = [Fraction(number, 4) for number in range(9)]
    assert [swung(feel, beat) for beat in straight[::2]] == [0, Fraction(2, 3), 1, Fraction(5, 3), 2]
    moved = [swung(feel, beat) for beat in straight]
    assert moved == sorted(moved)
    assert swung(feel, Fraction(4, 3)) == Fraction(4, 3)
    assert [swung(FEELS["funk"], beat) for beat in straight] == straight


@pytest.mark.parametrize("feel", FEELS.values(), ids=FEELS)
def test_everything_of_a_feel_lies_inside_its_bar(feel: object) -> None:
    feel = feel_named(getattr(feel, "name", ""))
    assert all(0 <= stroke.beat < 4 and 0 < stroke.level <= 1 for stroke in feel.drums)
    for bar in feel.comping:
        ends = [stab.beat + stab.beats for stab in bar]
        assert all(stab.beat >= end for stab, end in zip(bar[1:], ends[:-1], strict=True))
        assert ends[-1] <= 4
