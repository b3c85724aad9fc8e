"""What a long track takes to hear: time, and nothing that grows with it but the list of its moments."""

import tracemalloc
from collections.abc import Iterator

import numpy as np
import pytest

from fretwright.ear.arrays import Samples
from fretwright.ear.take import RATE_HZ
from fretwright.ear.track_scan import scan


def seconds(count: int) -> Iterator[Samples]:
    """A pluck every second, made as it is asked for."""
    time = np.arange(RATE_HZ) / RATE_HZ
    for number in range(count):
        hertz = 110.0 * 2 ** (number % 12 / 12)
        wave = sum(np.sin(2 * np.pi * hertz * part * time) / part for part in range(1, 8))
        yield (0.1 * wave * np.exp(-5 * time)).astype(np.float32)


def peak_bytes(count: int) -> int:
    tracemalloc.start()
    scan(seconds(count))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def test_memory_does_not_grow_with_the_length() -> None:
    scan(seconds(3))
    short, long = peak_bytes(12), peak_bytes(36)

    # a moment is 55 odds of four bytes and a few numbers; two lists of them while they are joined
    assert long - short < 24 * 10 * 2 * 300
    assert long < 40_000_000


def test_moments_come_in_order_each_once_and_the_length_is_told() -> None:
    heard: list[float] = []

    found = scan(seconds(21), heard.append)

    assert found.length_s == pytest.approx(21.0, abs=0.01)
    assert (np.diff(found.moments_s) > 0.004).all()
    onsets = np.arange(1, 21)
    assert np.abs(found.moments_s[:, None] - onsets).min(axis=0).max() < 0.03
    assert heard == sorted(heard)
    assert heard[-1] == pytest.approx(21.0, abs=1.1)
    # each pluck stands still at its own pitch
    told = [found.steady[np.abs(found.moments_s - onset).argmin()] for onset in onsets[1:]]
    assert sum(midi == 45 + onset % 12 for midi, onset in zip(told, onsets[1:], strict=True)) >= 17


def test_an_empty_track_is_heard_too() -> None:
    found = scan(iter(()))

    assert (len(found.moments_s), found.length_s) == (0, 0.0)
