"""Second-order sections: a few designs, and a run that stays quick on sound that falls silent.

A section is (b0, b1, b2, 1, a1, a2). Designs are bilinear transforms whose corner is set exact
(Bristow-Johnson, "Cookbook formulae for audio equalizer biquad filter coefficients", W3C Note 2021).

A general filter slows down a hundredfold in silence, where its state sinks into numbers too small for
the processor's fast path. A constant at -300 dB keeps it out of there.
"""

from math import cos, pi, sin, tan
from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.sound.arrays import Floats
from fretwright.sound.compiled import compiled

BUTTERWORTH_2: Final = (0.70710678,)
BUTTERWORTH_4: Final = (0.54119610, 1.30656296)
"""Quality of each section of a maximally flat filter of second and fourth order."""
_FLOOR: Final = 1e-15
_PASS_ALL: Final = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

Section = tuple[float, float, float, float, float, float]


def low_pass(hz: float, quality: float) -> Section:
    """Resonant low pass of second order."""
    omega = 2 * pi * hz / SAMPLE_RATE_HZ
    alpha, low = sin(omega) / (2 * quality), 1 - cos(omega)
    return _scaled((low / 2, low, low / 2), (1 + alpha, -2 * cos(omega), 1 - alpha))


def high_pass(hz: float, quality: float) -> Section:
    """Resonant high pass of second order."""
    omega = 2 * pi * hz / SAMPLE_RATE_HZ
    alpha, high = sin(omega) / (2 * quality), 1 + cos(omega)
    return _scaled((high / 2, -high, high / 2), (1 + alpha, -2 * cos(omega), 1 - alpha))


def slope(from_hz: float, to_hz: float) -> Section:
    """Flat, falling by 6 dB per octave between two corners, flat again."""
    low, high = tan(pi * from_hz / SAMPLE_RATE_HZ), tan(pi * to_hz / SAMPLE_RATE_HZ)
    return _scaled(((1 + 1 / high) * low, (1 - 1 / high) * low, 0.0), ((1 + low), (low - 1), 0.0))


def _scaled(b: tuple[float, float, float], a: tuple[float, float, float]) -> Section:
    return (b[0] / a[0], b[1] / a[0], b[2] / a[0], 1.0, a[1] / a[0], a[2] / a[0])


def through(sections: tuple[Section, ...], samples: Floats) -> Floats:
    """``samples``, shape (n,), through sections one after the other, from rest."""
    even = [*sections, _PASS_ALL] if len(sections) % 2 else [*sections]
    out = np.array(samples, dtype=np.float64)
    for first in range(0, len(even), 2):
        run_sections(np.array(even[first : first + 2]), out, out)
    return out


@compiled
def run_sections(sections: Floats, samples: Floats, out: Floats) -> None:
    """Filter ``samples`` into ``out``, both shape (n,), by two sections of shape (2, 6) from rest.

    Transposed direct form II. The arrays may be the same one.
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
