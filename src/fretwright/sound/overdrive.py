"""An amplifier driven hard: the wave is bent until it is nearly square, and hardly any of it folds back.

Bending makes overtones without end, and those above half the sample rate would come back as tones that
belong to no note. Two means keep them down: the stage runs at four times the sample rate, and each of its
values is the mean of the bent wave over the step to it, worked out from the curve's integral (Parker,
Zavalishin and Le Bivic 2016, "Reducing the aliasing of nonlinear waveshaping using continuous-time
convolution", Proc. DAFx-16). For f(u) = u / sqrt(1 + u^2), whose integral is sqrt(1 + u^2), that mean is
(a + b) / (sqrt(1 + a^2) + sqrt(1 + b^2)): it needs no division by a small step.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from fretwright.sound.arrays import Floats, Samples
from fretwright.sound.colour import Shape, Tilt
from fretwright.sound.compiled import compiled
from fretwright.sound.filters import BUTTERWORTH_2, high_pass, low_pass, through

_BLOCK: Final = 1 << 12
_MARGIN: Final = 64
"""Samples on either side of a block that the filters reach into."""


def _half_band(side_taps: int, beta: float) -> Floats:
    """Odd half of a half-band filter's one side (windowed sinc), scaled to unit gain."""
    offsets = np.arange(side_taps) + 0.5
    window = np.kaiser(4 * side_taps + 1, beta)[2 * side_taps + 1 :: 2]
    taps = np.sinc(offsets) * window
    halves: Floats = taps / (2 * taps.sum())
    return halves


_STEEP: Final = _half_band(14, 8.0)
"""From 48 to 96 kHz, where music and image lie close;"""
_WIDE: Final = _half_band(5, 7.0)
"""and from there to 192 kHz, where they lie far apart."""


@dataclass(frozen=True, slots=True)
class Overdriven:
    """Pickup circuit, overdriven stage and cabinet of an electric instrument."""

    circuit_hz: float
    """Resonance of the pickup with its cable."""
    circuit_quality: float
    tight_hz: float
    """Below this less is driven, so that low strings stay clear."""
    tilt: Tilt
    drive: float
    """Gain before the curve: a full pluck of level 1 comes out as 1 / sqrt(1 + drive^-2)."""
    bias: float
    """How far off its middle the curve is used; it makes the even overtones of a valve."""
    cabinet: Shape

    def apply(self, motion: Floats) -> Samples:
        """Turn a string's motion, shape (n,), into stereo, shape (n, 2)."""
        before = (
            low_pass(self.circuit_hz, self.circuit_quality),
            high_pass(self.tight_hz, BUTTERWORTH_2[0]),
            self.tilt.section,
        )
        return self.cabinet.convolve(overdrive(through(before, motion), self.drive, self.bias))


def overdrive(motion: Floats, drive: float, bias: float = 0.0) -> Floats:
    """Bend a signal, shape (n,), hard; silence stays silence. It is an eighth of a sample late."""
    out = np.empty(len(motion))
    padded = np.pad(motion, _MARGIN)
    for start in range(0, len(motion), _BLOCK):
        size = min(_BLOCK, len(motion) - start)
        piece = padded[start : start + size + 2 * _MARGIN]
        out[start : start + size] = _driven(piece, drive, bias)[_MARGIN : _MARGIN + size]
    return out


def _driven(piece: Floats, drive: float, bias: float) -> Floats:
    """One block with its margins, whose own outermost samples are not to be used."""
    twice, four = np.zeros(2 * len(piece)), np.zeros(4 * len(piece))
    double(piece, _STEEP, twice)
    double(twice, _WIDE, four)
    bend_hard(four, drive, bias, bias / sqrt(1 + bias * bias))
    back, out = np.zeros(2 * len(piece)), np.zeros(len(piece))
    halve(four, _WIDE, back)
    halve(back, _STEEP, out)
    return out


@compiled
def double(samples: Floats, taps: Floats, out: Floats) -> None:
    """Fill ``out``, shape (2 n,), with values at and half-way between the samples, shape (n,).

    As many values as there are taps stay as they are at either end.
    """
    reach, count = len(taps), len(samples)
    inner = count - 2 * reach
    between = np.zeros(inner)
    for tap in range(reach):
        # Slices, since an index that might be negative keeps the loop from being vectorised.
        left, right = samples[reach - tap :][:inner], samples[reach + 1 + tap :][:inner]
        for i in range(inner):
            between[i] += taps[tap] * (left[i] + right[i])
    inside = out[2 * reach :][: 2 * inner]
    inside[0::2] = samples[reach:][:inner]
    inside[1::2] = between


@compiled
def halve(samples: Floats, taps: Floats, out: Floats) -> None:
    """Fill ``out``, shape (n,), with every other sample of (2 n,), after all above a half is taken away.

    As many values as there are taps stay as they are at either end.
    """
    reach, count = len(taps), len(out)
    inner = count - 2 * reach
    odd = samples[1::2].copy()
    sums = np.zeros(inner)
    for tap in range(reach):
        before, after = odd[reach - 1 - tap :][:inner], odd[reach + tap :][:inner]
        for i in range(inner):
            sums[i] += taps[tap] * (before[i] + after[i])
    out[reach:][:inner] = 0.5 * (samples[0::2][reach:][:inner] + sums)


@compiled
def bend_hard(samples: Floats, drive: float, bias: float, rest: float) -> None:
    """Bend samples in place: each becomes the mean of the curve over the step from the one before."""
    count = len(samples)
    # From here on in steps that know nothing of each other, so that several are worked out at once.
    driven, roots = np.empty(count + 1), np.empty(count + 1)
    driven[0] = bias
    for i in range(count):
        driven[i + 1] = drive * samples[i] + bias
    for i in range(count + 1):
        roots[i] = np.sqrt(1.0 + driven[i] * driven[i])
    for i in range(count):
        samples[i] = (driven[i + 1] + driven[i]) / (roots[i + 1] + roots[i]) - rest
