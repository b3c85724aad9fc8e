"""The course of pitch of one held note: a curve where other notes have a number.

First a comb is laid over short spectra: at every moment the sum of the partials of each pitch near the
written one, and through these the smoothest likely way (dynamic programming). Then every partial is turned
back by the phase that this course asks for, so that it stands still where the course is right; how fast
what is left still turns says by how much it is not (a phase vocoder whose channels follow the note: J. L.
Flanagan and R. M. Golden, "Phase vocoder", Bell System Technical Journal 45, 1966). Twice over, what the
smoothing takes off a quick swing comes back.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import fft

from fretwright.ear.arrays import Counts, Floats, Samples
from fretwright.ear.take import RATE_HZ

HOP_S: Final = 0.005
_HOP: Final = round(HOP_S * RATE_HZ)
_STRIDE: Final = 2
"""Of so many moments of the curve one has a spectrum."""
_CELL_CENTS: Final = 12.5
_SIZE: Final = 4096
_BOX: Final = 20
"""Samples that are taken together once a partial stands still."""
_HIGHEST_HZ: Final = 5_000.0
_COMB_PARTIALS, _PARTIALS = 10, 6
_WINDOW_S, _WINDOW_PERIODS = 0.042, 5.0
_SMOOTH_S, _SMOOTH_PERIODS = 0.030, 4.0
_STEEPEST: Final = 8
"""Cells that the pitch moves in 10 ms at most: a whole tone in 20 ms."""
_STEEP_COST: Final = 0.012
_ROUNDS: Final = 3
_APART_CENTS: Final = 35.0
"""A partial further from the others than this is not the note's."""
_AGREE_CENTS: Final = 15.0
_LEAST_CONTRAST: Final = 0.22
_LEAST_SURE: Final = 0.7
_SHORTEST_S: Final = 0.12


@dataclass(frozen=True, slots=True)
class Curve:
    """Pitch at moments 5 ms apart."""

    times_s: Floats
    """From the note's onset, shape (n,)."""
    cents: Floats
    """Above the pitch that was asked for, shape (n,)."""
    sure: "np.ndarray[tuple[int], np.dtype[np.bool_]]"
    """Whether the partials stand out and agree there, shape (n,)."""

    @property
    def is_clear(self) -> bool:
        """Whether it can be relied on."""
        return bool(len(self.sure)) and float(self.sure.mean()) >= _LEAST_SURE


_NONE: Final = Curve(np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.bool_))


def pitch_curve(
    samples: Samples, span_s: tuple[float, float], hertz: float, reach_cents: tuple[float, float]
) -> Curve:
    """The pitch between two moments of a take, against ``hertz``, looked for within ``reach_cents`` of it.

    The curve is empty where the span is too short to have one, or lies outside of the take.
    """
    lowest_hz = hertz * 2 ** (reach_cents[0] / 1200)
    count = int((span_s[1] - span_s[0]) / HOP_S)
    start = round(span_s[0] * RATE_HZ)
    if count * HOP_S < _SHORTEST_S or start < 0 or start + count * _HOP > len(samples):
        return _NONE
    places = start + np.arange(count) * _HOP
    comb = _comb(samples, places[::_STRIDE], hertz, reach_cents)
    path = _smoothest(comb)
    coarse = reach_cents[0] + path * _CELL_CENTS
    cents: Floats = np.interp(np.arange(count), np.arange(len(path)) * _STRIDE, coarse)
    times_s: Floats = np.arange(count, dtype=np.float64) * HOP_S
    agree = np.zeros(count)
    for _ in range(_ROUNDS):
        cents, agree = _turned_back(samples, places, hertz, cents, lowest_hz)
    chosen = comb[np.arange(len(path)), path]
    contrast = np.interp(np.arange(count), np.arange(len(path)) * _STRIDE, chosen - np.median(comb, axis=1))
    return Curve(times_s, cents, (contrast > _LEAST_CONTRAST) & (agree < _AGREE_CENTS))


def _comb(samples: Samples, places: Counts, hertz: float, reach_cents: tuple[float, float]) -> Floats:
    """How strong the partials of each pitch are at each place, 0 to 1, shape (places, cells)."""
    length = round(max(_WINDOW_S, _WINDOW_PERIODS / hertz) * RATE_HZ)
    spectrum = np.sqrt(np.abs(fft.rfft(_pieces(samples, places, length) * np.hanning(length), _SIZE, axis=1)))
    cells = np.arange(reach_cents[0], reach_cents[1] + _CELL_CENTS, _CELL_CENTS)
    grid_hz = hertz * 2 ** (cells / 1200)
    comb = np.zeros((len(places), len(cells)))
    partials = _partials(float(grid_hz[-1]), _COMB_PARTIALS)
    for partial in partials:
        comb += spectrum[:, np.rint(partial * grid_hz * (_SIZE / RATE_HZ)).astype(int)]
    return np.asarray(comb / (comb.max(axis=1, keepdims=True) + 1e-9))


def _partials(highest_hz: float, most: int) -> Counts:
    return np.arange(1, max(1, min(most, int(_HIGHEST_HZ / highest_hz))) + 1)


def _pieces(samples: Samples, places: Counts, length: int) -> Samples:
    """Pieces of the take centred on some places, shape (places, length)."""
    padded: Samples = np.pad(samples, length)
    pieces: Samples = padded[places[:, None] + (length - length // 2) + np.arange(length)]
    return pieces


def _smoothest(comb: Floats) -> Counts:
    """The likeliest way through the comb whose steps are small: a cell for every row."""
    cells = comb.shape[1]
    steps = np.arange(-_STEEPEST, _STEEPEST + 1)
    cost = _STEEP_COST * steps**2
    best = comb[0].copy()
    came = np.zeros(comb.shape, dtype=np.int64)
    for row in range(1, len(comb)):
        padded = np.pad(best, _STEEPEST, constant_values=-np.inf)
        from_each = np.lib.stride_tricks.sliding_window_view(padded, len(steps)) - cost
        turn = from_each.argmax(axis=1)
        came[row] = np.arange(cells) + steps[turn]
        best = from_each[np.arange(cells), turn] + comb[row]
    path = np.empty(len(comb), dtype=np.int64)
    path[-1] = int(best.argmax())
    for row in range(len(comb) - 1, 0, -1):
        path[row - 1] = came[row, path[row]]
    return path


def _turned_back(
    samples: Samples, places: Counts, hertz: float, cents: Floats, lowest_hz: float
) -> tuple[Floats, Floats]:
    """A better course, and by how many cents the partials disagree about it, both of shape (places,)."""
    half = round(max(_SMOOTH_S, _SMOOTH_PERIODS / lowest_hz) * RATE_HZ) // (2 * _BOX)
    first, last = int(places[0]) - (half + 1) * _BOX - _HOP, int(places[-1]) + (half + 1) * _BOX + _HOP
    last -= (last - first) % _BOX
    at = np.arange(first, last)
    course_hz = hertz * 2 ** (np.interp(at, places, cents) / 1200)
    back = np.exp((-2j * np.pi / RATE_HZ) * np.cumsum(course_hz))
    turned = np.where((at >= 0) & (at < len(samples)), samples[np.clip(at, 0, len(samples) - 1)], 0.0) + 0j
    window = np.hanning(2 * half + 1)
    index = (places - first) // _BOX
    side = _HOP // (2 * _BOX)
    offs, weights = [], []
    for partial in _partials(float(course_hz.max()), _PARTIALS):
        turned = turned * back
        # what stands nearly still outlives the mean of a short box; what would fold onto it does not
        slow = np.convolve(turned.reshape(-1, _BOX).mean(axis=1), window, mode="same")
        early, late = slow[index - side], slow[index + side]
        off_hz = np.angle(late * np.conj(early)) * (RATE_HZ / (2 * side * _BOX * 2 * np.pi))
        own_hz = partial * course_hz[places - first]
        offs.append(1200 * np.log2(np.maximum(1 + off_hz / own_hz, 1e-3)))
        weights.append(partial**2 * np.abs(early * late))
    off, disagree = _agreed(np.array(offs), np.array(weights))
    return cents + off, disagree


def _agreed(offs: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """What the partials say together, and how far they lie apart; both of shape (partials, places) at first.

    Stiffness stretches the upper partials by some cents, always the same: what each says more or less than
    the strongest of the low ones is taken off it first.
    """
    weights = np.sqrt(weights)
    leader = int(weights[:3].sum(axis=1).argmax())
    for partial in range(len(offs)):
        both = np.minimum(weights[partial], weights[leader])
        offs[partial] -= _middle((offs[partial] - offs[leader])[:, None], both[:, None])[0]
    middle = _middle(offs, weights)
    weights = np.where(np.abs(offs - middle) < _APART_CENTS, weights, 0.0)
    total = weights.sum(axis=0) + 1e-12
    off = (weights * offs).sum(axis=0) / total
    spread = np.sqrt((weights * np.square(offs - off)).sum(axis=0) / total)
    return off, spread


def _middle(values: Floats, weights: Floats) -> Floats:
    """Weighted medians down the first axis."""
    order = np.argsort(values, axis=0)
    share = np.cumsum(np.take_along_axis(weights, order, axis=0), axis=0)
    place = (share >= share[-1:] / 2).argmax(axis=0)
    found: Floats = np.take_along_axis(values, np.take_along_axis(order, place[None], axis=0), axis=0)[0]
    return found
