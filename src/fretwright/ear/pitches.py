"""The judge of pitches: how sure it is that a note of a given pitch starts at a given moment.

A network looks at the partials of one pitch (:mod:`fretwright.ear.features`), then at what it has seen of
the pitches that share partials with it, and gives two odds. The first is against "no note starts here, or
another one", for single lines; the second against "this one does not start here, whatever else does", for
chords. The same network serves every pitch, so that it cannot learn a melody, a string or a register. Made by
``python -m evaluation.ear.train``.
"""

from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Final

import numpy as np

from fretwright.ear.arrays import Samples

RELATED: Final = (-24, -19, -16, -12, -7, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 7, 12, 16, 19, 24)
"""Pitches, in semitones from one's own, that are looked at beside it."""
_WEIGHTS: Final = ("w0", "b0", "w1", "b1", "w2", "b2", "w3", "b3", "w4", "b4")


@dataclass(frozen=True, slots=True)
class Odds:
    """Natural logarithms of odds, each of shape (moments, PITCHES)."""

    alone: Samples
    """That a note of the pitch starts, and it alone."""
    among: Samples
    """That a note of the pitch starts, alone or with others."""


def odds_of_pitches(numbers: Samples) -> Odds:
    """Odds from the numbers of :func:`~fretwright.ear.features.describe`, (moments, PITCHES, COUNT)."""
    w0, b0, w1, b1, w2, b2, w3, b3, w4, b4 = _weights()
    moments, pitches, count = numbers.shape
    own = np.maximum(numbers.reshape(-1, count) @ w0 + b0, 0)
    own = np.maximum(own @ w1 + b1, 0)
    told = (own @ w2 + b2).reshape(moments, pitches, -1)
    hidden = own @ w3[: own.shape[1]] + b3
    hidden += _from_related(told, w3[own.shape[1] :]).reshape(len(own), -1)
    last = (np.maximum(hidden, 0) @ w4 + b4).reshape(moments, pitches, 2)
    return Odds(np.ascontiguousarray(last[..., 0]), np.ascontiguousarray(last[..., 1]))


def _from_related(told: Samples, weights: Samples) -> Samples:
    """What every pitch hears from the ones related to it, shape (moments, PITCHES, width of the layer)."""
    moments, pitches, width = told.shape
    reach = max(RELATED)
    padded = np.zeros((moments, pitches + 2 * reach, width), dtype=np.float32)
    padded[:, reach : reach + pitches] = told
    heard = np.zeros((moments, pitches, weights.shape[1]), dtype=np.float32)
    for index, step in enumerate(RELATED):
        heard += (
            padded[:, reach + step : reach + step + pitches] @ weights[index * width : (index + 1) * width]
        )
    return heard


@lru_cache(maxsize=1)
def _weights() -> tuple[Samples, ...]:
    with (files("fretwright.ear") / "weights" / "pitches.npz").open("rb") as file:
        stored = np.load(file)
        return tuple(stored[name].astype(np.float32) for name in _WEIGHTS)
