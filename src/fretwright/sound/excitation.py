"""What hands feed into a string: plucks, taps, flicks and squeaks.

A string that is let go at a distance x from one end answers with a pulse and, after the wave has been
to that end and back, with the same pulse turned over: a comb with nulls at every partial that has a node
at x (Jaffe and Smith 1983, Computer Music Journal 7(2), 56-69). The waves travel at the same speed on
every fret, so that the comb's delay depends on millimetres alone.

Every pulse here sums to zero together with its echo, so that nothing is left standing in the loop.
"""

from functools import lru_cache
from math import pi
from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.sound.arrays import Floats

_NOISE_SAMPLES: Final = 1 << 15
_MULTIPLIER, _INCREMENT, _MODULUS = 1664525, 1013904223, 1 << 32
"""Linear congruential generator of Numerical Recipes (from memory): the same noise on any machine."""


@lru_cache(maxsize=1)
def noise() -> Floats:
    """A fixed stretch of white noise between -1 and 1."""
    values = np.empty(_NOISE_SAMPLES)
    state = 20_071
    for index in range(_NOISE_SAMPLES):
        state = (state * _MULTIPLIER + _INCREMENT) % _MODULUS
        values[index] = state / (_MODULUS / 2) - 1.0
    values.setflags(write=False)
    return values


@lru_cache(maxsize=256)
def pulse(width_ms: float) -> Floats:
    """A smooth push of unit area: half a turn of a raised cosine."""
    width = max(3.0, width_ms * SAMPLE_RATE_HZ / 1000)
    at = np.arange(1, int(np.ceil(width)))
    shape: Floats = 1 - np.cos(2 * pi * at / width)
    shape /= shape.sum()
    shape.setflags(write=False)
    return shape


def echo_samples(distance_mm: float, open_hz: float, open_length_mm: float) -> int:
    """Samples that a wave takes over a distance and back."""
    return max(1, round(SAMPLE_RATE_HZ * distance_mm / (open_length_mm * open_hz)))


def add_push(track: Floats, at: int, level: float, width_ms: float, echo: int) -> None:
    """Add one pulse and its echo to a string's track, shape (n,), from sample ``at``; cut at its end."""
    _add(track, at, level * pulse(width_ms))
    _add(track, at + echo, -level * pulse(width_ms))


def add_scrape(track: Floats, at: int, level: float, length_ms: float, seed: int) -> None:
    """Add a burst of noise that dies away within ``length_ms``."""
    count = max(4, round(length_ms * SAMPLE_RATE_HZ / 1000))
    start = (seed * 977) % (_NOISE_SAMPLES - count)
    rough = np.diff(noise()[start : start + count], prepend=0.0)
    _add(track, at, level * rough * np.linspace(1.0, 0.0, count) ** 2)


def add_squeak(track: Floats, at: int, level: float, count: int, seed: int) -> None:
    """Add noise that swells and fades over ``count`` samples: a fingertip on the turns of a wound string."""
    start = (seed * 977) % (_NOISE_SAMPLES - count)
    rough = np.diff(noise()[start : start + count], prepend=0.0)
    _add(track, at, level * rough * np.hanning(count))


def _add(track: Floats, at: int, piece: Floats) -> None:
    stop = min(len(track), at + len(piece))
    if at < stop:
        track[at:stop] += piece[: stop - at]
