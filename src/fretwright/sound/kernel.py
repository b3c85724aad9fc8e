"""The inner loop: one string loop run through its whole part.

The caller describes the loop as coefficients at certain samples, joined by straight lines. Between two
equal rows nothing moves and the short path runs; where a finger changes the length, the interpolator is
set anew at every sample, so that the wave is read faster or slower but never torn.
"""

from typing import Final

import numpy as np

from fretwright.sound.arrays import Counts, Floats
from fretwright.sound.compiled import compiled

INTERPOLATOR_TAPS: Final = 6
"""Length of the Lagrange interpolator; its loss below 8 kHz is under 0.1 dB per round trip."""

DELAY: Final = 0
GAIN: Final = 1
POLE: Final = 2
DISPERSION: Final = 3
DAMPING: Final = 4
"""Factor per round trip laid on the string by flesh or pick; 1 is a free string, 0 sleeps."""
COLUMNS: Final = 5

LINE_SAMPLES: Final = 4096
"""Size of the circular delay line: room for 12 Hz."""
_MASK: Final = LINE_SAMPLES - 1


@compiled
def lagrange_weights(delay: float, weights: Floats) -> int:
    """Fill the weights of a fractional delay and give the whole delay of its first tap.

    Lagrange interpolation of fifth order, centred, where it is flattest (Laakso et al. 1996, "Splitting
    the unit delay", IEEE Signal Processing Magazine 13(1), 30-60).
    """
    first = int(delay) - 2
    position = delay - first
    for tap in range(INTERPOLATOR_TAPS):
        weight = 1.0
        for other in range(INTERPOLATOR_TAPS):
            if other != tap:
                weight *= (position - other) / (tap - other)
        weights[tap] = weight
    return first


@compiled
def ring(
    excitation: Floats,
    out: Floats,
    steps: Counts,
    controls: Floats,
    sections: int,
    level: float,
    pickup_delay: int,
    pickup_level: float,
) -> None:
    """Add the motion of one loop to ``out``.

    ``excitation`` and ``out`` have one value per sample. Row i of ``controls`` (n rows of ``COLUMNS``)
    holds the coefficients at sample ``steps[i]``, joined by straight lines; the first row stands at
    sample 0, the last may lie beyond the end. ``level`` scales what is fed in. The echo of the string
    ``pickup_delay`` samples ago is added ``pickup_level`` times: the comb of a pickup that stands away
    from the bridge.
    """
    line = np.zeros(LINE_SAMPLES)
    chain = np.zeros(sections + 1)
    weights = np.zeros(INTERPOLATOR_TAPS)
    for row in range(len(steps) - 1):
        start, stop = steps[row], steps[row + 1]
        if stop <= start:
            continue
        if controls[row, DAMPING] == 0.0 and controls[row + 1, DAMPING] == 0.0:
            line[:] = 0.0
            chain[:] = 0.0
            continue
        moving = False
        for column in range(COLUMNS):
            moving = moving or controls[row, column] != controls[row + 1, column]
        delay, gain, pole = controls[row, DELAY], controls[row, GAIN], controls[row, POLE]
        c, damping = controls[row, DISPERSION], controls[row, DAMPING]
        first = lagrange_weights(delay, weights)
        for now in range(start, min(stop, len(out))):
            if moving:
                part = (now - start) / (stop - start)
                delay = controls[row, DELAY] + part * (controls[row + 1, DELAY] - controls[row, DELAY])
                gain = controls[row, GAIN] + part * (controls[row + 1, GAIN] - controls[row, GAIN])
                pole = controls[row, POLE] + part * (controls[row + 1, POLE] - controls[row, POLE])
                c = controls[row, DISPERSION] + part * (
                    controls[row + 1, DISPERSION] - controls[row, DISPERSION]
                )
                damping = controls[row, DAMPING] + part * (
                    controls[row + 1, DAMPING] - controls[row, DAMPING]
                )
                first = lagrange_weights(delay, weights)
            read = now - first
            wave = (
                weights[0] * line[read & _MASK]
                + weights[1] * line[(read - 1) & _MASK]
                + weights[2] * line[(read - 2) & _MASK]
                + weights[3] * line[(read - 3) & _MASK]
                + weights[4] * line[(read - 4) & _MASK]
                + weights[5] * line[(read - 5) & _MASK]
            )
            # chain[0] doubles as the loss filter's last output: it is what the first allpass last heard.
            wave = gain * wave + pole * chain[0]
            for section in range(sections):
                held = chain[section] - c * chain[section + 1]
                chain[section] = wave
                wave = c * wave + held
            chain[sections] = wave
            wave = damping * wave + level * excitation[now]
            line[now & _MASK] = wave
            out[now] += wave + pickup_level * line[(now - pickup_delay) & _MASK]
