"""Moments at which a note may start: far too many rather than one too few.

Two detectors are united. One follows the rise of energy band by band, as a pluck makes it (spectral flux on a
logarithmic scale; S. Dixon, "Onset detection revisited", DAFx 2006). The other compares the spectrum just
after a moment with the one just before, and so finds a slur, where no energy is added but the partials move.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from fretwright.ear.arrays import Counts, Floats, Marks, Samples
from fretwright.ear.take import RATE_HZ

HOP: Final = 120
"""Samples between frames: 5 ms."""
_SIZE: Final = 1024
_BANDS: Final = 32
_LAG: Final = 6
"""Frames to either side that the second detector compares: 30 ms."""
_APART: Final = 5
_LEAST_RISE: Final = 0.06
_LEAST_CHANGE: Final = 0.05
_PLUCK_RISE, _PLUCK_CHANGE = 0.3, 0.25
_SHARE: Final = 0.07
"""A peak counts from this part of the take's strong peaks on."""


@dataclass(frozen=True, slots=True)
class Candidates:
    """Moments with the strength of both detectors, in order of time."""

    times_s: Floats
    rise: Floats
    """Flux at the moment against the take's strong peaks; about 1 for a clear pluck."""
    change: Floats
    """Distance of the spectra around it against the take's strong peaks."""
    rise_curve: Floats
    """The first detector every 5 ms, for drawing."""
    change_curve: Floats


def find_candidates(samples: Samples) -> Candidates:
    """All candidates of a take, shape (n,), at the analysis rate."""
    power = _power_frames(samples)
    rise, change = _rise(power), _change(power)
    rise /= max(_LEAST_RISE * 4, float(np.quantile(rise, 0.985)))
    change /= max(_LEAST_CHANGE * 4, float(np.quantile(change, 0.985)))
    places = _united(_peaks(rise), _peaks(change))
    near_rise = _largest_near(rise, places)
    near_change = _largest_near(change, places)
    kept = np.maximum(near_rise, near_change) > _SHARE
    return Candidates(places[kept] * (HOP / RATE_HZ), near_rise[kept], near_change[kept], rise, change)


def plucked_at(found: Candidates) -> Marks:
    """Whether something was plucked at each moment, heard or not what: energy rises, and partials change."""
    return (found.rise > _PLUCK_RISE) & (found.change > _PLUCK_CHANGE)


def at_moments(found: Candidates, times_s: Floats) -> Candidates:
    """Any moments as candidates, with the strength that both detectors have about them."""
    places = np.clip(np.rint(times_s * (RATE_HZ / HOP)), 0, len(found.rise_curve) - 1)
    return Candidates(
        times_s,
        _largest_near(found.rise_curve, places),
        _largest_near(found.change_curve, places),
        found.rise_curve,
        found.change_curve,
    )


def some_of(found: Candidates, some: slice | Marks) -> Candidates:
    """Some of the candidates."""
    return Candidates(
        found.times_s[some], found.rise[some], found.change[some], found.rise_curve, found.change_curve
    )


def together(one: Candidates, other: Candidates) -> tuple[Candidates, Counts]:
    """Both as one, in order of time, and where each of the two lists' moments went."""
    times_s = np.concatenate([one.times_s, other.times_s])
    order = np.argsort(times_s, kind="stable")
    joined = Candidates(
        times_s[order],
        np.concatenate([one.rise, other.rise])[order],
        np.concatenate([one.change, other.change])[order],
        one.rise_curve,
        one.change_curve,
    )
    return joined, order


def _power_frames(samples: Samples) -> Samples:
    """Power spectra, shape (frames, bins); frame t is centred on sample t * HOP."""
    padded = np.pad(samples, (_SIZE // 2, _SIZE))
    count = len(samples) // HOP + 1
    window = np.hanning(_SIZE).astype(np.float32)
    out = np.empty((count, _SIZE // 2 + 1), dtype=np.float32)
    view = np.lib.stride_tricks.sliding_window_view(padded, _SIZE)[::HOP]
    for start in range(0, count, 512):
        spectrum = np.fft.rfft(view[start : start + 512] * window, axis=1)[: count - start]
        out[start : start + 512] = spectrum.real**2 + spectrum.imag**2
    return out


@lru_cache(maxsize=1)
def _bands() -> Samples:
    """Weights of overlapping bands, shape (bins, bands), evenly spaced in pitch above 300 Hz."""
    edges = np.geomspace(120, 11_000, _BANDS + 2) * (_SIZE / RATE_HZ)
    bins = np.arange(_SIZE // 2 + 1)[:, None]
    up = (bins - edges[:-2]) / np.maximum(edges[1:-1] - edges[:-2], 1.0)
    down = (edges[2:] - bins) / np.maximum(edges[2:] - edges[1:-1], 1.0)
    weights: Samples = np.clip(np.minimum(up, down), 0, None).astype(np.float32)
    return weights


def _rise(power: Samples) -> Floats:
    bands = power @ _bands()
    floor = np.quantile(bands[::4], 0.2, axis=0) * 2 + 1e-5 * bands.max(axis=0) + 1e-12
    level = np.log1p(bands / floor)
    rise = np.zeros(len(level))
    rise[2:-1] = np.maximum(level[3:] - level[:-3], 0).mean(axis=1)
    return rise


def _change(power: Samples) -> Floats:
    shape = np.sqrt(np.sqrt(power[:, 3:300]))
    shape /= np.sqrt((shape * shape).sum(axis=1, keepdims=True)) + 1e-9
    change = np.zeros(len(shape))
    change[_LAG:-_LAG] = 1 - np.einsum("ij,ij->i", shape[2 * _LAG :], shape[: -2 * _LAG])
    # noise alone changes all the time: only what stands out of its surroundings counts
    if len(change) > 41:
        change -= np.quantile(
            np.lib.stride_tricks.sliding_window_view(np.pad(change, 20, mode="edge"), 41), 0.2, axis=1
        )
    return np.maximum(change, 0)


def _peaks(curve: Floats) -> Floats:
    padded = np.pad(curve, _APART, constant_values=-1)
    largest = np.lib.stride_tricks.sliding_window_view(padded, 2 * _APART + 1).max(axis=1)
    return np.flatnonzero((curve >= largest) & (curve > _SHARE)).astype(np.float64)


def _united(first: Floats, second: Floats) -> Floats:
    """Both lists as one; of two that lie within 15 ms the first list's stays."""
    if not len(first):
        return second
    near = np.abs(second[:, None] - first[None, :]).min(axis=1, initial=np.inf)
    return np.sort(np.concatenate([first, second[near > 4]]))


def _largest_near(curve: Floats, places: Floats) -> Floats:
    index = places.astype(int)[:, None] + np.arange(-4, 5)
    largest: Floats = curve[np.clip(index, 0, len(curve) - 1)].max(axis=1)
    return largest
