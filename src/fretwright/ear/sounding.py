"""How each note sounds once it has started: pitch in cents, level, and how long."""

from typing import Final

import numpy as np
from scipy import fft

from fretwright.ear.arrays import Counts, Floats, Samples
from fretwright.ear.take import RATE_HZ

_SETTLED_S: Final = 0.03
_LONGEST_S: Final = 0.35
_SHORTEST_S: Final = 0.045
_SIZE: Final = 16_384
_PARTIALS: Final = 6
_HALF_WIDTH: Final = 0.55
"""Semitones to either side in which a partial is looked for."""
_FAINTEST: Final = 0.02
_ROUNDS: Final = 6
_OUTLIER_CENTS: Final = 4.0
_MOST_STRETCH: Final = 0.8
"""Cents by which the square of a partial's number may raise it."""
_LEAST_SPREAD: Final = 10.0
"""Keeps the line level where only neighbouring partials are seen."""
_SILENT_DB: Final = -30.0


def cents_of(samples: Samples, onsets_s: Floats, ends_s: Floats, midi: Counts, tuning_cents: float) -> Floats:
    """Deviation of each note from its semitone at A = 440 Hz, in cents; NaN where it cannot be measured.

    The pitch is that of the first partial. The partials' frequencies are the peaks of a zero-padded spectrum
    (parabola through its logarithm), each weighted by how sharply it is seen.
    """
    out = np.full(len(onsets_s), np.nan)
    for index, (onset_s, end_s, number) in enumerate(zip(onsets_s, ends_s, midi, strict=True)):
        begin = round((onset_s + min(_SETTLED_S, 0.25 * (end_s - onset_s))) * RATE_HZ)
        count = round(min(end_s - onset_s - _SETTLED_S, _LONGEST_S) * RATE_HZ)
        if count < _SHORTEST_S * RATE_HZ or begin < 0 or begin + count > len(samples):
            continue
        spectrum = fft.rfft(samples[begin : begin + count] * np.hanning(count), _SIZE)
        power = spectrum.real**2 + spectrum.imag**2
        f0 = 440.0 * 2 ** ((number - 69 + tuning_cents / 100) / 12)
        out[index] = _partials_cents(power, f0) + tuning_cents
    return out


def _partials_cents(power: Samples, f0: float) -> float:
    """The first partial of the stiff string that the peaks show, in cents from ``f0``."""
    found = []
    for partial in range(1, _PARTIALS + 1):
        low, high = (int(f0 * partial * 2 ** (side * _HALF_WIDTH / 12) * _SIZE / RATE_HZ) for side in (-1, 1))
        if high + 2 >= len(power) or high - low < 2:
            continue
        peak = low + int(np.argmax(power[low : high + 1]))
        if peak in (low, high):
            continue
        a, b, c = np.log(power[peak - 1 : peak + 2] + 1e-20)
        place = peak + 0.5 * (a - c) / min(a - 2 * b + c, -1e-9)
        cents = 1200 * np.log2(place * RATE_HZ / _SIZE / (f0 * partial))
        # the width of a peak in cents shrinks with its frequency
        found.append((partial**2 - 1.0, cents, np.sqrt(power[peak]) * partial))
    if not found:
        return float("nan")
    square, cents, strength = np.array(found).T
    return _first_of_stiff(square, cents, strength)


def _first_of_stiff(square: Floats, cents: Floats, strength: Floats) -> float:
    """A line through the partials, which in a stiff string rise with their number squared (Fletcher 1964).

    ``square`` is each one's squared number less one, so that the line's start is the first partial. Those
    that lie far off belong to other notes and are held back.
    """
    strength = np.where(strength > _FAINTEST * strength.max(), strength, 0.0)
    order = np.argsort(cents)
    share = np.cumsum(strength[order])
    first, slope = float(cents[order[int(np.searchsorted(share, share[-1] / 2))]]), 0.0
    for _ in range(_ROUNDS):
        weight = strength / (1 + ((cents - first - slope * square) / _OUTLIER_CENTS) ** 2)
        total = weight.sum()
        middle = (weight * square).sum() / total
        spread = (weight * (square - middle) ** 2).sum() / total + _LEAST_SPREAD
        slope = min(max((weight * (square - middle) * cents).sum() / total / spread, 0.0), _MOST_STRETCH)
        first = float((weight * (cents - slope * square)).sum() / total)
    return first


def levels_of(samples: Samples, onsets_s: Floats) -> Floats:
    """Level of the first 80 ms of each note in dB."""
    out = np.empty(len(onsets_s))
    for index, onset_s in enumerate(onsets_s):
        begin = max(0, round(onset_s * RATE_HZ))
        piece = samples[begin : begin + round(0.08 * RATE_HZ)].astype(np.float64)
        out[index] = 10 * np.log10(np.mean(piece**2) + 1e-12) if len(piece) else -120.0
    return out


def lengths_of(samples: Samples, onsets_s: Floats, ends_s: Floats) -> Floats:
    """How long each note sounds: until its level is 30 dB under its attack's, at the latest until its end."""
    step = RATE_HZ // 100
    out = ends_s - onsets_s
    for index, (onset_s, end_s) in enumerate(zip(onsets_s, ends_s, strict=True)):
        begin, stop = round(onset_s * RATE_HZ), round(end_s * RATE_HZ)
        count = (min(stop, len(samples)) - begin) // step
        if count < 3:
            continue
        power = (
            np.square(samples[begin : begin + count * step].astype(np.float64))
            .reshape(count, step)
            .mean(axis=1)
        )
        sounding = np.flatnonzero(power > power[: max(3, count // 3)].max() * 10 ** (_SILENT_DB / 10))
        out[index] = min(out[index], (sounding[-1] + 1) * step / RATE_HZ)
    return out
