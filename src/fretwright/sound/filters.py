"""Second-order sections, run quickly on sound that falls silent.

A general filter slows down a hundredfold in silence, where its state sinks into numbers too small for
the processor's fast path. A constant at -300 dB keeps it out of there.
"""

from typing import Final

import numpy as np

from fretwright.sound.arrays import Floats
from fretwright.sound.compiled import compiled

_FLOOR: Final = 1e-15


@compiled
def run_sections(sections: Floats, samples: Floats, out: Floats) -> None:
    """Filter ``samples`` into ``out``, both shape (n,), by two sections of shape (2, 6) from rest.

    A section is (b0, b1, b2, 1, a1, a2); transposed direct form II. The arrays may be the same one.
    """
    b0, b1, b2, a1, a2 = sections[0, 0], sections[0, 1], sections[0, 2], sections[0, 4], sections[0, 5]
    d0, d1, d2, c1, c2 = sections[1, 0], sections[1, 1], sections[1, 2], sections[1, 4], sections[1, 5]
    s1, s2, t1, t2 = 0.0, 0.0, 0.0, 0.0
    for i in range(len(samples)):
        x = samples[i] + _FLOOR
        y = b0 * x + s1
        s1 = b1 * x - a1 * y + s2
        s2 = b2 * x - a2 * y
        z = d0 * y + t1
        t1 = d1 * y - c1 * z + t2
        t2 = d2 * y - c2 * z
        out[i] = z


@compiled
def add_power(sections: Floats, samples: Floats, step: int, squares: Floats) -> None:
    """Filter ``samples``, shape (n,), by two sections and add up the result's squares step by step.

    ``squares[i]`` gains the sum over samples i * step to (i + 1) * step; what lies beyond is left out.
    """
    b0, b1, b2, a1, a2 = sections[0, 0], sections[0, 1], sections[0, 2], sections[0, 4], sections[0, 5]
    d0, d1, d2, c1, c2 = sections[1, 0], sections[1, 1], sections[1, 2], sections[1, 4], sections[1, 5]
    s1, s2, t1, t2 = 0.0, 0.0, 0.0, 0.0
    for row in range(len(squares)):
        total = 0.0
        for i in range(row * step, min(len(samples), (row + 1) * step)):
            x = samples[i] + _FLOOR
            y = b0 * x + s1
            s1 = b1 * x - a1 * y + s2
            s2 = b2 * x - a2 * y
            z = d0 * y + t1
            t1 = d1 * y - c1 * z + t2
            t2 = d2 * y - c2 * z
            total += z * z
        squares[row] += total


def filtered(sections: Floats, samples: Floats) -> Floats:
    """``samples``, shape (n,), through two sections of shape (2, 6)."""
    out = np.empty(len(samples))
    run_sections(sections, np.ascontiguousarray(samples, dtype=np.float64), out)
    return out
