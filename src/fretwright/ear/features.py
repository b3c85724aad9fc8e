"""What is heard around each candidate: partials of every pitch, before and after.

Around a moment seven short spectra are taken, three before it and four after. Each is read off on a grid of
a third of a semitone, in decibels against the loudest partial after the moment. For every pitch the grid is
sampled where that pitch would have its partials, where its neighbours an octave, a fifth or a twelfth away
would have theirs, and a semitone beside its own: what belongs to the pitch is then the same numbers at every
pitch, on every string.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from scipy import fft

from fretwright.ear.arrays import Counts, Floats, Samples
from fretwright.ear.candidates import Candidates
from fretwright.ear.take import RATE_HZ

LOWEST_MIDI, HIGHEST_MIDI = 36, 90
PITCHES: Final = HIGHEST_MIDI - LOWEST_MIDI + 1
_SEMITONE: Final = 2 ** (1 / 12)
RATIOS: Final = (
    1 / 3, 1 / 2, 2 / 3, 1, 4 / 3, 3 / 2, 5 / 3, 2, 5 / 2, 3, 4, 5, 6, 7, 8, 10,
    1 / _SEMITONE, _SEMITONE, 2 / _SEMITONE, 2 * _SEMITONE,
)  # fmt: skip
"""Multiples of a pitch's frequency at which the spectra are read."""
WINDOWS: Final = (
    (4096, -0.095), (2048, -0.048), (1024, -0.027),
    (1024, 0.028), (2048, 0.052), (2048, 0.105), (4096, 0.100),
)  # fmt: skip
"""Length in samples and centre in seconds from the moment."""
_AFTER: Final = 3
"""The first window that lies after the moment."""
_SHARED: Final = 10
_SAME_S: Final = 0.012
COUNT: Final = len(WINDOWS) * len(RATIOS) + _SHARED
"""Numbers per moment and pitch."""

_GRID_LOW_MIDI: Final = 16
_GRID_HIGH_MIDI: Final = 126
_CELLS: Final = 3
_SIZE: Final = 4096
_QUIETEST_DB: Final = -60.0
_NEW: Final = 4.0
"""How much louder than before a partial must have become to be of the note that starts."""


@dataclass(frozen=True, slots=True)
class Readings:
    """What the spectra around some moments show, before it is looked at pitch by pitch."""

    levels: Samples
    """Shape (moments, windows, cells): 1 at the loudest partial after the moment, 0 at 20 dB under it."""
    shared: Samples
    """What belongs to the moment and not to a pitch, shape (moments, 10)."""


def describe(
    samples: Samples, found: Candidates, tuning_cents: float, among: Candidates | None = None
) -> Samples:
    """Numbers for the judge of pitches, shape (moments, PITCHES, COUNT).

    ``among`` are the candidates that count as neighbours, where they are not the moments themselves.
    """
    return by_pitch(read_spectra(samples, found, tuning_cents, among))


def read_spectra(
    samples: Samples, found: Candidates, tuning_cents: float, among: Candidates | None = None
) -> Readings:
    """The readings of all moments, with arguments as :func:`describe` has them."""
    grids = _grids(samples, found.times_s, tuning_cents)
    after = grids[:, _AFTER:].reshape(len(grids), -1)
    loudest = after.max(axis=1)[:, None, None] if len(after) else np.zeros((0, 1, 1), np.float32)
    levels = np.clip(grids - loudest, _QUIETEST_DB, 12.0) / 20.0 + 1.0
    return Readings(levels.astype(np.float32), _shared(found, grids, among or found))


def by_pitch(readings: Readings) -> Samples:
    """The readings as every pitch sees them, shape (moments, PITCHES, COUNT)."""
    places = pitch_places()
    out = np.empty((len(readings.levels), PITCHES, COUNT), dtype=np.float32)
    for window in range(len(WINDOWS)):
        of_window = readings.levels[:, window][:, places]
        out[:, :, window * len(RATIOS) : (window + 1) * len(RATIOS)] = of_window
    out[:, :, -_SHARED:] = readings.shared[:, None, :]
    return out


def tuning_of(samples: Samples, times_s: Floats) -> float:
    """How far the guitar lies from A = 440 Hz, in cents within ±50, by the partials below 1.2 kHz.

    The circular mean of the deviations of all strong spectral peaks from equal temperament. What sounded
    as loud before each moment is no part of it: hum has a tuning of its own.
    """
    if not len(times_s):
        return 0.0
    power = _spectra(samples, times_s, 2048, 0.08)
    held = _spectra(samples, times_s, 2048, -0.05)
    power *= np.where(power > _NEW * held, np.float32(1), np.float32(1e-9))
    low, high = round(90 * _SIZE / RATE_HZ), round(1200 * _SIZE / RATE_HZ)
    middle, left, right = power[:, low:high], power[:, low - 1 : high - 1], power[:, low + 1 : high + 1]
    is_peak = (middle > left) & (middle >= right) & (middle > 0.02 * power.max(axis=1, keepdims=True))
    rows, columns = np.nonzero(is_peak)
    a, b, c = (np.log(side[rows, columns] + 1e-20) for side in (left, middle, right))
    place = columns + low + 0.5 * (a - c) / np.minimum(a - 2 * b + c, -1e-9)
    midi = 69 + 12 * np.log2(place * RATE_HZ / _SIZE / 440.0)
    weight = np.sqrt(middle[rows, columns] / power.max(axis=1)[rows])
    return float(np.angle(np.sum(weight * np.exp(2j * np.pi * midi))) / (2 * np.pi) * 100)


def _spectra(samples: Samples, times_s: Floats, length: int, centre_s: float) -> Samples:
    """Power spectra of one window around each moment, shape (moments, bins)."""
    starts = np.rint((times_s + centre_s) * RATE_HZ).astype(np.int64) - length // 2
    padded = np.pad(samples, (length * 3, length * 4))
    index = np.clip(starts + length * 3, 0, len(padded) - length)[:, None] + np.arange(length)
    pieces = padded[index] * np.hanning(length).astype(np.float32) * np.float32(2.0 / length)
    spectrum = fft.rfft(pieces, _SIZE, axis=1)
    power: Samples = spectrum.real**2 + spectrum.imag**2
    return power


def _grids(samples: Samples, times_s: Floats, tuning_cents: float) -> Samples:
    """Levels in dB on the grid, widened by a cell, shape (moments, windows, cells)."""
    edges = _edges(round(tuning_cents))
    grids = np.empty((len(times_s), len(WINDOWS), len(edges)), dtype=np.float32)
    for index, (length, centre_s) in enumerate(WINDOWS):
        power = _spectra(samples, times_s, length, centre_s)
        grids[:, index] = np.maximum.reduceat(power, edges, axis=1)
    wide = grids.copy()
    np.maximum(wide[..., 1:], grids[..., :-1], out=wide[..., 1:])
    np.maximum(wide[..., :-1], grids[..., 1:], out=wide[..., :-1])
    levels: Samples = 10 * np.log10(wide + np.float32(1e-12))
    return levels


@lru_cache(maxsize=8)
def _edges(tuning_cents: int) -> Counts:
    cells = np.arange((_GRID_HIGH_MIDI - _GRID_LOW_MIDI) * _CELLS + 1)
    midi = _GRID_LOW_MIDI + (cells - 0.5) / _CELLS + tuning_cents / 100
    hertz = 440.0 * 2 ** ((midi - 69) / 12)
    edges: Counts = np.minimum(np.rint(hertz * _SIZE / RATE_HZ), _SIZE // 2).astype(np.int64)
    return edges


@lru_cache(maxsize=1)
def pitch_places() -> Counts:
    """Cells of each pitch's ratios, shape (PITCHES, RATIOS)."""
    midi = np.arange(LOWEST_MIDI, HIGHEST_MIDI + 1)[:, None] + 12 * np.log2(np.array(RATIOS))
    last = (_GRID_HIGH_MIDI - _GRID_LOW_MIDI) * _CELLS
    places: Counts = np.clip(np.rint((midi - _GRID_LOW_MIDI) * _CELLS), 0, last).astype(np.int64)
    return places


def _shared(found: Candidates, grids: Samples, among: Candidates) -> Samples:
    """What belongs to the moment and not to a pitch, shape (moments, 10)."""
    count = len(found.times_s)
    times = np.concatenate([[-10.0], among.times_s, [1e6]])
    strength = np.pad(np.maximum(among.rise, among.change), 1)
    after = np.searchsorted(times, found.times_s + _SAME_S)
    before = np.searchsorted(times, found.times_s - _SAME_S) - 1
    level = grids.max(axis=2)
    loud = np.quantile(level[:, 4], 0.8) if count else 0.0
    columns = (
        np.minimum(found.rise, 2.0),
        np.minimum(found.change, 2.0),
        np.minimum(times[after] - found.times_s, 0.3) * 4,
        np.minimum(found.times_s - times[before], 0.3) * 4,
        np.minimum(strength[after], 2.0),
        np.minimum(strength[before], 2.0),
        np.clip((level[:, 4] - level[:, 1]) / 20, -2, 3),
        np.clip((level[:, 3] - level[:, 2]) / 20, -2, 3),
        np.clip((level[:, 4] - loud) / 20, -3, 1),
        np.clip((np.median(grids[:, 4], axis=1) - level[:, 4]) / 20, -3, 0),
    )
    return np.stack(columns, axis=1).astype(np.float32)
