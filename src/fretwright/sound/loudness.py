"""Loudness and true peak, and the final gain.

ITU-R BS.1770-4: K-weighting, blocks of 400 ms every 100 ms, an absolute gate at -70 LUFS and a relative
one 10 LU under the mean of what passed it; true peak by fourfold oversampling (annex 2 of the same).
The target of -16 LUFS with at most -1 dBTP is the usual one for speech and lessons on headphones
(convention; EBU R 128 asks for the same peak).
"""

from functools import lru_cache
from math import log10, pi, tan
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.sound.arrays import Floats
from fretwright.sound.compiled import compiled
from fretwright.sound.filters import add_power

Audio = NDArray[np.floating]
"""Samples, shape (n, channels), in single or double precision."""

TARGET_LUFS: Final = -16.0
CEILING_DBTP: Final = -1.0

_STEP: Final = SAMPLE_RATE_HZ // 10
_STEPS_PER_BLOCK: Final = 4
_ABSOLUTE_GATE: Final = -70.0
_RELATIVE_GATE_LU: Final = 10.0
_OFFSET: Final = -0.691
"""So that a 997 Hz sine of full scale in one channel measures -3.01 LUFS."""

_PHASES: Final = 4
_TAPS: Final = 12
_MARGIN_DB: Final = 0.05
"""What is kept below the ceiling, against rounding in a file's sample format."""
_HALF_ATTACK: Final = 36
"""Half of what the limiter looks ahead: 0.75 ms."""
_LIMITER_RELEASE_S: Final = 0.08
_LIMITER_ROUNDS: Final = 5
_CLOSE_LU: Final = 0.05


@lru_cache(maxsize=1)
def _k_weighting() -> Floats:
    """The head's shelf and the low cut as second-order sections.

    BS.1770 prints the coefficients at 48 kHz; these are the analogue parameters behind them, which
    give the printed values to 1e-9 (tests/unit/sound/test_loudness.py).
    """
    k, q = tan(pi * 1681.974450955533 / SAMPLE_RATE_HZ), 0.7071752369554196
    high = 10.0 ** (3.999843853973347 / 20)
    band = high**0.4996667741545416
    norm = 1 + k / q + k * k
    shelf = [
        (high + band * k / q + k * k) / norm,
        2 * (k * k - high) / norm,
        (high - band * k / q + k * k) / norm,
        1.0,
        2 * (k * k - 1) / norm,
        (1 - k / q + k * k) / norm,
    ]
    k, q = tan(pi * 38.13547087602444 / SAMPLE_RATE_HZ), 0.5003270373238773
    norm = 1 + k / q + k * k
    cut = [1.0, -2.0, 1.0, 1.0, 2 * (k * k - 1) / norm, (1 - k / q + k * k) / norm]
    return np.array([shelf, cut])


def integrated_lufs(samples: Audio) -> float:
    """Integrated loudness of samples at 48 kHz, shape (n, channels); every channel weighs 1.

    Minus infinity for silence. A sound shorter than one block is measured as one block.
    """
    power = _block_power(samples)
    levels = _OFFSET + 10 * np.log10(np.maximum(power, 1e-30))
    loud = levels > _ABSOLUTE_GATE
    if not loud.any():
        return -np.inf
    gate = _OFFSET + 10 * log10(power[loud].mean()) - _RELATIVE_GATE_LU
    return float(_OFFSET + 10 * log10(power[loud & (levels > gate)].mean()))


def _block_power(samples: Audio) -> Floats:
    """Mean square of each gating block, channels summed."""
    steps = max(_STEPS_PER_BLOCK, len(samples) // _STEP)
    squares = np.zeros(steps)
    for channel in samples.T:
        add_power(_k_weighting(), channel, _STEP, squares)
    sums: Floats = np.convolve(squares, np.ones(_STEPS_PER_BLOCK), mode="valid")
    sums /= _STEP * _STEPS_PER_BLOCK
    return sums


@lru_cache(maxsize=1)
def _oversampler() -> Floats:
    """Interpolator by four, shape (phases, taps): windowed sinc of 48 taps, as annex 2 uses."""
    count = _PHASES * _TAPS
    at = (np.arange(count) - (count - 1) / 2) / _PHASES
    taps = np.sinc(at) * np.kaiser(count, 5.0)
    phases: Floats = taps.reshape(_TAPS, _PHASES).T.copy()
    phases /= phases.sum(axis=1, keepdims=True)
    return phases


@compiled
def _true_peak(mono: Floats, phases: Floats, bound: float) -> float:
    """Largest interpolated value; stretches that cannot beat the largest found so far are passed over."""
    peak = 0.0
    taps = phases.shape[1]
    block = 64
    count = len(mono)
    for start in range(0, count + taps, block):
        largest = 0.0
        for i in range(max(0, start - taps), min(count, start + block)):
            largest = max(largest, abs(mono[i]))
        if largest * bound <= peak:
            continue
        peak = max(peak, largest)
        for i in range(start, min(count + taps, start + block)):
            for phase in range(phases.shape[0]):
                total = 0.0
                for tap in range(max(0, i - count + 1), min(taps, i + 1)):
                    total += phases[phase, tap] * mono[i - tap]
                peak = max(peak, abs(total))
    return peak


def true_peak(samples: Audio) -> float:
    """Largest magnitude between and at the samples, shape (n, channels), as a linear value."""
    phases = _oversampler()
    bound = float(np.abs(phases).sum(axis=1).max())
    return max(_true_peak(np.ascontiguousarray(channel), phases, bound) for channel in samples.T)


def true_peak_dbtp(samples: Audio) -> float:
    """:func:`true_peak` in decibels; minus infinity for silence."""
    peak = true_peak(samples)
    return 20 * log10(peak) if peak > 0 else -np.inf


def to_target(samples: Audio, target_lufs: float = TARGET_LUFS, ceiling_dbtp: float = CEILING_DBTP) -> Audio:
    """Samples, shape (n, channels), at the target loudness and under the ceiling.

    Peaks that would pass the ceiling are turned down for some milliseconds, all channels alike, and
    the gain is found anew; silence stays as it is.
    """
    ceiling = 10.0 ** ((ceiling_dbtp - _MARGIN_DB) / 20)
    before = integrated_lufs(samples)
    if before == -np.inf:
        return samples
    scaled: Audio = samples * 10.0 ** ((target_lufs - before) / 20)
    if true_peak(scaled) <= ceiling:
        return scaled
    at_samples = ceiling
    limited = _limit(scaled, at_samples)
    for _ in range(_LIMITER_ROUNDS):
        off = target_lufs - integrated_lufs(limited)
        over = true_peak(limited) / ceiling
        if abs(off) < _CLOSE_LU and over <= 1.0:
            return limited
        scaled *= 10.0 ** (off / 20)
        at_samples /= max(1.0, over)
        limited = _limit(scaled, at_samples)
    limited /= max(1.0, true_peak(limited) / ceiling)
    return limited


@compiled
def _follow(level: Floats, ceiling: float, half: int, keep: float, gain: Floats) -> None:
    """Fill a gain that is down in time for every peak and is let go slowly; ``gain`` starts at 1.

    A peak is seen 2 ``half`` - 2 samples ahead, so that two running means of ``half`` samples, which
    round the gain's corners, have both reached the needed value when it comes.
    """
    for i in range(len(level)):
        if level[i] > ceiling:
            for ahead in range(max(0, i - 2 * half + 2), i + 1):
                gain[ahead] = min(gain[ahead], ceiling / level[i])
    held = 1.0
    for i in range(len(level)):
        held = min(gain[i], 1.0 - (1.0 - held) * keep)
        gain[i] = held
    first, second = np.full(half, gain[0]), np.full(half, gain[0])
    sum_first, sum_second = half * gain[0], half * gain[0]
    for i in range(len(level)):
        slot = i % half
        sum_first += gain[i] - first[slot]
        first[slot] = gain[i]
        mean = sum_first / half
        sum_second += mean - second[slot]
        second[slot] = mean
        gain[i] = sum_second / half


def limiter_gain(samples: Audio, ceiling: float) -> Floats:
    """A gain, shape (n,), that turns down what passes the ceiling.

    It is down some samples ahead of a peak and comes back over 80 ms; all channels share it.
    """
    level = np.zeros(len(samples))
    for channel in samples.T:  # one after the other: a maximum across short rows takes ten times as long
        np.maximum(level, np.abs(channel), out=level)
    gain = np.ones(len(level))
    _follow(level, ceiling, _HALF_ATTACK, float(np.exp(-1 / (_LIMITER_RELEASE_S * SAMPLE_RATE_HZ))), gain)
    return gain


def _limit(samples: Audio, ceiling: float) -> Audio:
    limited: Audio = samples * limiter_gain(samples, ceiling)[:, None]
    return limited
