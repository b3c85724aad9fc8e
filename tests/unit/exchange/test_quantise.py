"""From played times to written ones."""

import random
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.spans import Span
from fretwright.exchange.draft import DraftBar, DraftNote
from fretwright.exchange.quantise import quantised
from fretwright.score.meter import COMMON_TIME, Meter
from fretwright.theory.key import Key

_SPAN = Span("played.mid", 1, 1)


_TICK = Fraction(1, 1920)


def bars(meter: Meter = COMMON_TIME, count: int = 4) -> list[DraftBar]:
    return [DraftBar(meter.length * n, meter.length, meter, _SPAN) for n in range(count)]


def played(*times: tuple[Fraction, Fraction]) -> list[DraftNote]:
    return [
        DraftNote(start, end - start, Key(0).spell(60 + index % 12), _SPAN)
        for index, (start, end) in enumerate(times)
    ]


def row(step: Fraction, count: int) -> list[tuple[Fraction, Fraction]]:
    return [(step * n, step * (n + 1)) for n in range(count)]


@pytest.mark.parametrize("parts", [1, 2, 3, 4, 5, 6, 7, 8, 12, 16])
def test_written_divisions_of_a_quarter_stay_exactly_as_they_are(parts: int) -> None:
    notes = played(*row(Fraction(1, 4 * parts), 4 * parts))
    found = quantised(notes, bars(), _TICK)
    assert found.largest_move == 0
    assert [(note.onset, note.duration) for note in found.notes] == [
        (note.onset, note.duration) for note in notes
    ]


def test_what_ticks_round_is_mended() -> None:
    # 480 ticks a quarter hold no septuplet: the nearest ticks are up to half a tick off.
    ticks = [round(480 * n / 7) for n in range(8)]
    notes = played(*((Fraction(a, 1920), Fraction(b, 1920)) for a, b in pairwise(ticks)))
    assert [note.onset for note in quantised(notes, bars(), _TICK).notes] == [
        Fraction(n, 28) for n in range(7)
    ]


@given(seed=st.integers(0, 1000), parts=st.sampled_from([1, 2, 3, 4]))
def test_a_hand_that_is_off_by_a_sixteenth_of_a_beat_is_understood(seed: int, parts: int) -> None:
    dice = random.Random(seed)

    def off() -> Fraction:
        return Fraction(dice.randint(-100, 100), 100 * 16 * 4)

    step = Fraction(1, 4 * parts)
    times = row(step, 4 * parts)
    shaky = [(max(Fraction(0), start + off()), end + off() - step / 10) for start, end in times]
    found = quantised(played(*shaky), bars(), _TICK)
    assert [note.onset for note in found.notes] == [start for start, _ in times]


def test_a_played_note_that_nearly_fills_its_time_lasts_until_the_next() -> None:
    times = [(Fraction(3, 1000), Fraction(190, 1000)), (Fraction(258, 1000), Fraction(480, 1000))]
    assert quantised(played(*times), bars(), _TICK).notes[0].duration == Fraction(1, 4)


def test_a_short_played_note_lasts_one_part_and_not_until_the_next() -> None:
    times = [(Fraction(3, 1000), Fraction(70, 1000)), (Fraction(497, 1000), Fraction(740, 1000))]
    found = quantised(played(*times), bars(), _TICK).notes
    assert [note.onset for note in found] == [0, Fraction(1, 2)]
    assert found[0].duration == Fraction(1, 4)


def test_compound_beats_divide_by_three() -> None:
    times = [(Fraction(n, 8) + Fraction(1, 90) * (n % 2), Fraction(n + 1, 8)) for n in range(6)]
    found = quantised(played(*times), bars(Meter(6, 8)), _TICK)
    assert [note.onset for note in found.notes] == [Fraction(n, 8) for n in range(6)]


def test_a_note_a_little_before_the_bar_line_belongs_to_the_next_bar() -> None:
    times = [(Fraction(0), Fraction(1, 2)), (Fraction(98, 100), Fraction(3, 2))]
    assert quantised(played(*times), bars(), _TICK).notes[1].onset == 1


def test_the_largest_move_is_told() -> None:
    found = quantised(played((Fraction(1, 100), Fraction(1, 4))), bars(), _TICK)
    assert found.largest_move == Fraction(1, 100)
