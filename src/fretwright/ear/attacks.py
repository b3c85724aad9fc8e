"""Whether a note was plucked or slurred.

A pluck puts energy into all partials at once, most of all the high ones, and that energy is gone soon
after; a slur takes over what the string has. How strong a guitar's plucks are differs more between
guitars than pluck and slur do on one, so every take is measured against its own notes that are written as
plucks. On a guitar whose plucks hardly stand out (much distortion) the answer is "cannot tell".
"""

from functools import lru_cache
from importlib.resources import files
from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.take import RATE_HZ

_EDGES_HZ: Final = (150.0, 700.0, 1500.0, 3000.0, 5500.0, 10_500.0)
_SPANS_S: Final = ((-0.030, -0.004), (0.0, 0.012), (0.012, 0.030), (0.040, 0.075))
COUNT: Final = 5 * 3 * 2 + 2
"""Numbers per note."""
_LEAST_PLUCKS: Final = 3
_SIZE: Final = 1024


def describe_attacks(
    samples: Samples,
    onsets_s: Floats,
    contrasts: Floats,
    written_pluck: "np.ndarray[tuple[int], np.dtype[np.bool_]]",
) -> Floats:
    """Numbers for the judge of attacks, shape (notes, COUNT).

    Per band: how the level jumps at the onset, how it goes on, and how it is left after; then the same
    against the median of the notes written as plucks.
    """
    levels = _levels(samples, onsets_s)
    jump = levels[:, 1] - levels[:, 0]
    going_on = levels[:, 2] - levels[:, 0]
    passing = levels[:, 1] - levels[:, 3]
    own = np.clip(np.concatenate([jump, going_on, passing], axis=1), -30, 40) / 10
    plucks = own[written_pluck] if written_pluck.sum() >= _LEAST_PLUCKS else own
    typical = np.median(plucks, axis=0) if len(plucks) else 0.0
    stands_out = np.clip(contrasts, 0, 40)[:, None] / 10
    typical_contrast = np.median(stands_out[written_pluck]) if written_pluck.any() else 1.0
    return np.concatenate([own, own - typical, stands_out, stands_out - typical_contrast], axis=1)


def slur_chance(numbers: Floats) -> Floats:
    """How likely each note was slurred, shape (notes,), calibrated on guitars tuned on."""
    w0, b0, w1, b1 = _weights()
    hidden = np.maximum(numbers @ w0 + b0, 0)
    chance: Floats = 1 / (1 + np.exp(-(hidden @ w1 + b1)[:, 0]))
    return chance


@lru_cache(maxsize=1)
def _weights() -> tuple[Floats, ...]:
    with (files("fretwright.ear") / "weights" / "attacks.npz").open("rb") as file:
        stored = np.load(file)
        return tuple(stored[name].astype(np.float64) for name in ("w0", "b0", "w1", "b1"))


def _levels(samples: Samples, onsets_s: Floats) -> Floats:
    """Levels in dB of each span and band about each onset, shape (notes, spans, bands)."""
    out = np.empty((len(onsets_s), len(_SPANS_S), len(_EDGES_HZ) - 1))
    edges = np.rint(np.array(_EDGES_HZ) * _SIZE / RATE_HZ).astype(int)
    padded = np.pad(samples, _SIZE * 2).astype(np.float64)
    for index, onset_s in enumerate(onsets_s):
        for span, (begin_s, end_s) in enumerate(_SPANS_S):
            begin = round((onset_s + begin_s) * RATE_HZ) + 2 * _SIZE
            count = round((end_s - begin_s) * RATE_HZ)
            begin = min(max(begin, 0), len(padded) - count)
            piece = padded[begin : begin + count] * np.hanning(count)
            spectrum = np.fft.rfft(piece, _SIZE)
            power = (spectrum.real**2 + spectrum.imag**2) / count
            cells = np.add.reduceat(power, edges)[:-1]
            out[index, span] = 10 * np.log10(cells + 1e-9)
    return out
