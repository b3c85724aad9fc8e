"""Measures of a sounding note that share no code with the model.

All take one channel, shape (n,), at 48 kHz.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

RATE_HZ = 48_000


def peak_hz(signal: Floats, near_hz: float, width: float = 0.03) -> float:
    """Frequency of the strongest partial within ``width`` of a guess.

    Peak of a zero-padded Blackman spectrum, interpolated by a parabola through the logarithms (Smith
    and Serra 1987, "PARSHL: an analysis/synthesis program for non-harmonic sounds").
    """
    size = 1 << 19
    spectrum = np.abs(np.fft.rfft(signal * np.blackman(len(signal)), size))
    low, high = (int(near_hz * (1 + side * width) * size / RATE_HZ) for side in (-1, 1))
    peak = low + int(np.argmax(spectrum[low:high]))
    before, at, after = np.log(spectrum[peak - 1 : peak + 2] + 1e-12)
    return float((peak + 0.5 * (before - after) / (before - 2 * at + after)) * RATE_HZ / size)


def turning_hz(signal: Floats, near_hz: float) -> float:
    """The same by another way: how fast the partial's phase turns, by least squares over the stretch.

    The signal is shifted down by the guess and smoothed over 100 ms; what is left turns slowly.
    """
    slow = _shifted_down(signal, near_hz)
    weight = np.abs(slow)
    phase = np.unwrap(np.angle(slow))
    time_s = np.arange(len(slow)) / RATE_HZ
    slope = np.polyfit(time_s, phase, 1, w=weight)[0]
    return near_hz + float(slope) / (2 * np.pi)


def t60_s(signal: Floats, hz: float, deepest_db: float = 35.0) -> float:
    """Time in which one partial falls by 60 dB, from a line through its level in decibels."""
    level = 20 * np.log10(np.abs(_shifted_down(signal, hz)) + 1e-12)
    below = np.nonzero(level < level[0] - deepest_db)[0]
    count = int(below[0]) if len(below) else len(level)
    slope = np.polyfit(np.arange(count) / RATE_HZ, level[:count], 1)[0]
    return float(-60.0 / slope)


def _shifted_down(signal: Floats, hz: float) -> NDArray[np.complex128]:
    time_s = np.arange(len(signal)) / RATE_HZ
    window = np.hanning(round(0.1 * RATE_HZ))
    turned = signal * np.exp(-2j * np.pi * hz * time_s)
    size = 1 << (len(turned) + len(window)).bit_length()
    spectrum = np.fft.fft(turned, size) * np.fft.fft(window / window.sum(), size)
    slow: NDArray[np.complex128] = np.fft.ifft(spectrum)[len(window) : len(turned)]
    return slow


def inharmonicity(signal: Floats, fundamental_hz: float, highest_hz: float) -> tuple[float, int]:
    """Coefficient B from the partials up to a frequency, and how many of them were heard.

    (f_n / n)^2 is a straight line over n^2 for a stiff string; B is its slope by its height. Partials
    more than 45 dB under the strongest are left out.
    """
    hertz, levels = [], []
    size = 1 << 19
    spectrum = 20 * np.log10(np.abs(np.fft.rfft(signal * np.blackman(len(signal)), size)) + 1e-12)
    number, stretch = 1, 1.0
    while number * fundamental_hz * stretch < highest_hz:
        guess = number * fundamental_hz * stretch
        found = peak_hz(signal, guess, min(0.03, 0.35 / number))
        hertz.append(found)
        levels.append(spectrum[round(found * size / RATE_HZ)])
        stretch = found / (number * fundamental_hz) if levels[-1] > max(levels) - 45 else stretch
        number += 1
    squares = np.arange(1, number) ** 2
    heard = np.array(levels) > max(levels) - 45
    slope, height = np.polyfit(squares[heard], (np.array(hertz)[heard] ** 2 / squares[heard]), 1)
    return float(slope / height), int(heard.sum())


def rms_db(signal: Floats) -> float:
    """Root mean square in dB of full scale."""
    return float(10 * np.log10(np.mean(np.square(signal)) + 1e-30))


def above(signal: Floats, hz: float) -> Floats:
    """The part of a signal above a frequency (ideal filter by transform)."""
    spectrum = np.fft.rfft(signal)
    spectrum[: int(hz * len(signal) / RATE_HZ)] = 0.0
    kept: Floats = np.fft.irfft(spectrum, len(signal))
    return kept


def onset(signal: Floats) -> int:
    """First sample above -26 dB of the peak."""
    size = np.abs(signal)
    return int(np.argmax(size > size.max() * 10 ** (-26 / 20)))


def folded_db(second: Floats, hz: int) -> float:
    """Loudest line from 20 Hz to 16 kHz that is no overtone of a tone, against the tone, in one second."""
    power = np.abs(np.fft.rfft(second * np.blackman(len(second)))) ** 2
    at_hz = np.arange(len(power))
    off_hz = np.abs((at_hz + hz / 2) % hz - hz / 2)
    strange = power[(off_hz > 6) & (at_hz > 20) & (at_hz < 16_000)].max()
    return float(10 * np.log10(strange / power[hz]))
