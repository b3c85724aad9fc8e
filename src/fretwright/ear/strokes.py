"""When exactly a stroke begins, and how long the hand takes from its first string to its last.

A strum is no pluck: its first string is one of six, often the slowest to speak, and the stroke before still
rings. A small network looks at the power of five bands in steps of 2 ms about a candidate and tells how far
from it the first string starts, and how much later the last. It learnt from strokes of known times on
recorded guitars, other struck instruments and strings that were made up; made by ``python -m
evaluation.ear.chords.learn``.
"""

from functools import lru_cache
from importlib.resources import files
from itertools import pairwise
from typing import Final

import numpy as np
from scipy import signal

from fretwright.ear.arrays import Counts, Floats, Samples
from fretwright.ear.take import RATE_HZ

_EDGES_HZ: Final = (250.0, 700.0, 1500.0, 3000.0, 5500.0, 11_000.0)
STEP_S: Final = 0.002
_STEP: Final = round(STEP_S * RATE_HZ)
_BEFORE, _AFTER = 40, 40
"""Steps looked at to either side of the candidate."""
NUMBERS: Final = (len(_EDGES_HZ) - 1) * (_BEFORE + _AFTER)
"""Numbers per stroke."""
UNIT_S: Final = 0.02
"""What the network counts in."""
_QUIETEST_DB: Final = -60.0
_WEIGHTS: Final = ("w0", "b0", "w1", "b1", "w2", "b2")


def band_powers(samples: Samples) -> Samples:
    """Power of each band in each step in dB, shape (bands, steps)."""
    count = len(samples) // _STEP
    out = np.empty((len(_EDGES_HZ) - 1, count), dtype=np.float32)
    for band, (low, high) in enumerate(pairwise(_EDGES_HZ)):
        sections = signal.butter(2, (low, high), "bandpass", fs=RATE_HZ, output="sos")
        own = signal.sosfilt(sections.astype(np.float32), samples[: count * _STEP])
        out[band] = 10 * np.log10(np.square(own).reshape(count, _STEP).mean(axis=1) + 1e-12)
    return out


def describe_strokes(powers: Samples, moments_s: Floats) -> Samples:
    """Numbers for the network, (moments, NUMBERS): 1 at the loudest power about it, 0 at 20 dB under."""
    places: Counts = np.rint(moments_s / STEP_S).astype(np.int64)[:, None] + np.arange(-_BEFORE, _AFTER)
    inside = np.clip(places, 0, powers.shape[1] - 1)
    read = np.where((places == inside)[None], powers[:, inside], np.float32(-120.0))
    read = read.transpose(1, 0, 2).reshape(len(moments_s), -1)
    loudest = read.max(axis=1, keepdims=True, initial=-120.0)
    numbers: Samples = np.clip(read - loudest, _QUIETEST_DB, 0) / np.float32(20.0) + np.float32(1.0)
    return numbers


def times_of(powers: Samples, moments_s: Floats) -> tuple[Floats, Floats]:
    """Onset of each stroke near the moments, and its spread, both in seconds and of shape (n,)."""
    rounded = np.rint(moments_s / STEP_S) * STEP_S
    first = rounded + _told(describe_strokes(powers, rounded))[:, 0]
    # once more from where it seems to begin: the network sees best what lies in the middle
    again = np.rint(np.clip(first + UNIT_S / 2, 0, None) / STEP_S) * STEP_S
    told = _told(describe_strokes(powers, again))
    return np.maximum(0.5 * (first + again + told[:, 0]), 0.0), np.maximum(told[:, 1], 0.0)


def _told(numbers: Samples) -> Floats:
    w0, b0, w1, b1, w2, b2 = _weights()
    hidden = np.maximum(numbers @ w0 + b0, 0)
    told: Floats = (np.maximum(hidden @ w1 + b1, 0) @ w2 + b2).astype(np.float64) * UNIT_S
    return told


@lru_cache(maxsize=1)
def _weights() -> tuple[Samples, ...]:
    with (files("fretwright.ear") / "weights" / "strokes.npz").open("rb") as file:
        stored = np.load(file)
        return tuple(stored[name].astype(np.float32) for name in _WEIGHTS)
