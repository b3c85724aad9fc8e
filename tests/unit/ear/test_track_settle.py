"""Two measures of one onset: which of them is believed."""

import numpy as np
import pytest

from fretwright.ear.arrays import Floats
from fretwright.ear.track_settle import settled

WRITTEN_S: Floats = np.asarray(np.arange(24) * 0.25, np.float64)
PLUCKED = np.ones(24, dtype=bool)


def played(seed: int = 5) -> Floats:
    """A hand that slows down steadily and is uneven by some 5 ms."""
    uneven_s = np.random.default_rng(seed).normal(0, 0.004, 24)
    return np.asarray(3.0 + WRITTEN_S * 1.1 + 0.004 * WRITTEN_S**2 + uneven_s, np.float64)


@pytest.mark.parametrize("seed", range(5))
def test_where_both_agree_the_hand_is_believed(seed: int) -> None:
    hand = played(seed)
    # it waits before the second half, and once for a moment
    hand[12:] += 0.3
    hand[18] += 0.09

    assert settled(WRITTEN_S, hand, hand - 0.004, PLUCKED) == pytest.approx(hand, abs=0.009)


def test_a_lone_note_off_an_even_row_is_moved_half_of_the_way() -> None:
    row = np.asarray(3.0 + WRITTEN_S, np.float64)
    heard = row.copy()
    heard[9] += 0.03

    moved = settled(WRITTEN_S, heard, heard, PLUCKED)

    assert moved[9] - row[9] == pytest.approx(0.015, abs=0.001)
    assert np.delete(moved, 9) == pytest.approx(np.delete(row, 9), abs=0.001)


def test_an_echo_before_a_note_gives_way_to_the_rise() -> None:
    hand = played()
    heard = hand.copy()
    heard[[4, 9, 20]] -= 0.04

    assert settled(WRITTEN_S, heard, hand - 0.003, PLUCKED) == pytest.approx(hand, abs=0.001)


def test_a_slow_swell_does_not_move_a_note_that_was_heard_in_time() -> None:
    hand = played()
    rises = hand - 0.002
    rises[[3, 4, 11, 17, 23]] += 0.027

    assert settled(WRITTEN_S, hand, rises, PLUCKED) == pytest.approx(hand, abs=0.001)


def test_two_or_three_notes_have_no_pulse_and_stay() -> None:
    hand: Floats = np.asarray([1.0, 1.3, 1.5], np.float64)

    assert settled(WRITTEN_S[:3], hand, hand + 0.05, PLUCKED[:3]) == pytest.approx(hand)
