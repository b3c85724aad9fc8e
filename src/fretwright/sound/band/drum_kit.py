"""The drum kit: every piece computed from a few decaying modes and shaped noise.

A drum head's pitch falls as its stroke dies away; a snare adds the rattle of wires; a cymbal is a crowd of
modes too dense to be a pitch. Frequencies and decays are chosen by ear's rules of thumb (common practice, no
source); noise comes from a fixed seed, so that a piece sounds the same everywhere.
"""

from collections.abc import Callable
from functools import lru_cache
from types import MappingProxyType
from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.sound.arrays import Floats
from fretwright.sound.band.feels import Piece
from fretwright.sound.filters import BUTTERWORTH_4, high_pass, low_pass, through

_GOLDEN: Final = 0.6180339887498949
_FADE_S: Final = 0.01


def _time_s(long_s: float) -> Floats:
    return np.arange(round(long_s * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ


def _head(from_hz: float, to_hz: float, fall_s: float, ring_s: float, long_s: float) -> Floats:
    """A drum head: one mode whose pitch falls while it dies away."""
    time_s = _time_s(long_s)
    hz = to_hz + (from_hz - to_hz) * np.exp(-time_s / fall_s)
    return np.asarray(np.sin(2 * np.pi * np.cumsum(hz) / SAMPLE_RATE_HZ) * np.exp(-time_s / ring_s))


def _modes(hz: tuple[float, ...], ring_s: float, long_s: float) -> Floats:
    time_s = _time_s(long_s)
    return np.asarray(sum(np.sin(2 * np.pi * each * time_s) for each in hz) * np.exp(-time_s / ring_s))


def _noise(low_hz: float, high_hz: float, ring_s: float, long_s: float, seed: int) -> Floats:
    time_s = _time_s(long_s)
    white = np.random.default_rng(seed).standard_normal(len(time_s))
    sections = (
        *(high_pass(low_hz, quality) for quality in BUTTERWORTH_4),
        *(low_pass(high_hz, quality) for quality in BUTTERWORTH_4),
    )
    return np.asarray(through(sections, white) * np.exp(-time_s / ring_s))


def _metal(low_hz: float, high_hz: float, count: int, ring_s: float, long_s: float) -> Floats:
    """A plate of metal: modes spread by the golden ratio, the higher ones dying sooner."""
    time_s = _time_s(long_s)
    sound = np.zeros(len(time_s))
    for number in range(1, count + 1):
        share = (number * _GOLDEN) % 1.0
        hz = low_hz * (high_hz / low_hz) ** share
        phase = 2 * np.pi * ((number * _GOLDEN * _GOLDEN) % 1.0)
        sound += np.sin(2 * np.pi * hz * time_s + phase) * np.exp(-time_s * (1 + share) / ring_s)
    return np.asarray(sound / np.sqrt(count))


def _with_knock(head: Floats, level: float, low_hz: float, high_hz: float, seed: int) -> Floats:
    knock = _noise(low_hz, high_hz, 0.004, 0.03, seed)
    head[: len(knock)] += level * knock
    return head


def _snare() -> Floats:
    body = _head(240.0, 185.0, 0.02, 0.07, 0.4) + 0.5 * _head(380.0, 330.0, 0.02, 0.05, 0.4)
    return body + 0.8 * _noise(1500.0, 9000.0, 0.09, 0.4, 11)


def _cymbal(ring_s: float, long_s: float, ping: float, seed: int) -> Floats:
    wash = 0.8 * _metal(2400.0, 12_500.0, 60, ring_s, long_s)
    wash += 0.25 * _noise(3500.0, 14_000.0, 0.5 * ring_s, long_s, seed)
    return wash + ping * _metal(2900.0, 6300.0, 5, 0.12, long_s)


_RECIPES: Final[MappingProxyType[Piece, tuple[Callable[[], Floats], float]]] = MappingProxyType(
    {
        Piece.KICK: (lambda: _with_knock(_head(150.0, 50.0, 0.03, 0.11, 0.45), 0.25, 800, 5000, 3), 1.0),
        Piece.SNARE: (_snare, 0.75),
        Piece.RIM: (lambda: _modes((490.0, 1720.0, 2450.0), 0.012, 0.1), 0.5),
        Piece.CLOSED_HAT: (lambda: _cymbal(0.06, 0.2, 0.0, 21), 0.32),
        Piece.OPEN_HAT: (lambda: _cymbal(0.40, 0.9, 0.0, 22), 0.32),
        Piece.FOOT_HAT: (lambda: _cymbal(0.045, 0.15, 0.0, 23), 0.25),
        Piece.RIDE: (lambda: _cymbal(0.55, 1.4, 0.6, 24), 0.26),
        Piece.CRASH: (lambda: _cymbal(1.3, 3.0, 0.0, 25), 0.42),
        Piece.LOW_TOM: (lambda: _with_knock(_head(150.0, 92.0, 0.05, 0.16, 0.6), 0.2, 600, 4000, 4), 0.8),
        Piece.HIGH_TOM: (lambda: _with_knock(_head(230.0, 150.0, 0.05, 0.13, 0.5), 0.2, 600, 4000, 5), 0.75),
        Piece.STICKS: (lambda: _modes((1250.0, 2750.0, 4100.0), 0.008, 0.08), 0.45),
    }
)
"""How each piece is made, and how loud a full stroke on it is."""


@lru_cache(maxsize=len(Piece))
def stroke_on(piece: Piece) -> Floats:
    """A full stroke on a piece, shape (n,); its peak is the piece's place in the kit's balance."""
    recipe, peak = _RECIPES[piece]
    sound = recipe()
    fade = round(_FADE_S * SAMPLE_RATE_HZ)
    sound[-fade:] *= np.linspace(1.0, 0.0, fade)
    sound *= peak / np.abs(sound).max()
    sound.setflags(write=False)
    return sound
