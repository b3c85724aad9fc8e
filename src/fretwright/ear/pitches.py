"""The judge of pitches: how sure it is that a note of a given pitch starts at a given moment.

A network of two small layers looks at the partials of one pitch (:mod:`fretwright.ear.features`) and gives
its odds against "no note starts here"; the same network serves every pitch, so that it cannot learn a
melody, a string or a register. Made by ``python -m evaluation.ear.train``.
"""

from functools import lru_cache
from importlib.resources import files

import numpy as np

from fretwright.ear.arrays import Samples


def log_odds(numbers: Samples) -> Samples:
    """Natural logarithms of odds, shape (moments, PITCHES), from numbers (moments, PITCHES, COUNT)."""
    (w0, b0), (w1, b1), (w2, b2) = _layers()
    hidden = np.maximum(numbers.reshape(-1, numbers.shape[-1]) @ w0 + b0, 0)
    hidden = np.maximum(hidden @ w1 + b1, 0)
    odds: Samples = (hidden @ w2 + b2).reshape(numbers.shape[:2])
    return odds


@lru_cache(maxsize=1)
def _layers() -> tuple[tuple[Samples, Samples], ...]:
    with (files("fretwright.ear") / "weights" / "pitches.npz").open("rb") as file:
        stored = np.load(file)
        return tuple((stored[f"w{layer}"], stored[f"b{layer}"]) for layer in range(3))
