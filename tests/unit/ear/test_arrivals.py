"""Slides made of steps over frets, whose arrival is known."""

import numpy as np
import pytest

from fretwright.ear.arrays import Samples
from fretwright.ear.arrivals import arrivals
from fretwright.ear.take import RATE_HZ

ARRIVES_S = 0.6


def slid(midi: list[int], fret_s: float, rng: np.random.Generator) -> Samples:
    """A string that rings on the first pitch and steps to the last, which it reaches at ARRIVES_S."""
    time = np.arange(round(1.2 * RATE_HZ)) / RATE_HZ
    step = np.clip(np.floor((time - ARRIVES_S) / fret_s) + len(midi) - 1, 0, len(midi) - 1).astype(int)
    hertz = 440.0 * 2 ** ((np.array(midi)[step] - 69) / 12)
    phase = 2 * np.pi * np.cumsum(hertz) / RATE_HZ
    tone = sum(np.sin(k * phase) * np.exp(-0.4 * k * time) / k for k in range(1, 8))
    out: Samples = (0.2 * tone + rng.normal(0, 1e-3, len(time))).astype(np.float32)
    return out


def arrival(samples: Samples, moment_s: float, midi: int, until_s: float = np.inf) -> float:
    hertz = np.array([440.0 * 2 ** ((midi - 69) / 12)])
    return float(arrivals(samples, np.array([moment_s]), np.array([until_s]), hertz)[0])


@pytest.mark.parametrize("midi", [[45, 46, 47], [62, 61, 60, 59], [64, 66]])
@pytest.mark.parametrize("seen_ms", [-40, 0, 12])
def test_a_slide_arrives_where_its_last_fret_is_reached(
    midi: list[int], seen_ms: float, rng: np.random.Generator
) -> None:
    samples = slid(midi, 0.03, rng)

    assert arrival(samples, ARRIVES_S + seen_ms / 1000, midi[-1]) == pytest.approx(ARRIVES_S, abs=0.008)


def test_what_begins_afterwards_is_no_part_of_the_slide(rng: np.random.Generator) -> None:
    samples = slid([57, 58, 59, 64], 0.09, rng)

    found = arrival(samples, ARRIVES_S - 0.1, 59, until_s=ARRIVES_S)

    assert found == pytest.approx(ARRIVES_S - 0.09, abs=0.006)


def test_where_nothing_changes_the_moment_stays(rng: np.random.Generator) -> None:
    assert arrival(slid([57, 57], 0.03, rng), 0.5, 57) == 0.5
