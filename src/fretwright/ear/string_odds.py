"""The judge of strings: how sure it is that a string of a chord sounds the pitch in question.

A network of two hidden layers looks at the numbers of :mod:`fretwright.ear.strings`. The same network serves
every string and pitch, so that it cannot learn a chord or a register. It learnt from recorded guitars, other
struck instruments and strings that were made up, one string in four at fault; made by
``python -m evaluation.ear.chords.learn``.
"""

from functools import lru_cache
from importlib.resources import files
from typing import Final

import numpy as np

from fretwright.ear.arrays import Samples

_WEIGHTS: Final = ("w0", "b0", "w1", "b1", "w2", "b2")


def odds_of_strings(numbers: Samples) -> Samples:
    """Natural logarithms of the odds that each string sounds, shape (strings,); numbers (strings, COUNT)."""
    w0, b0, w1, b1, w2, b2 = _weights()
    hidden = np.maximum(numbers @ w0 + b0, 0)
    odds: Samples = (np.maximum(hidden @ w1 + b1, 0) @ w2 + b2)[:, 0]
    return odds


@lru_cache(maxsize=1)
def _weights() -> tuple[Samples, ...]:
    with (files("fretwright.ear") / "weights" / "strings.npz").open("rb") as file:
        stored = np.load(file)
        return tuple(stored[name].astype(np.float32) for name in _WEIGHTS)
