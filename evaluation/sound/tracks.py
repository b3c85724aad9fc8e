"""Measures of a pitch that moves, and of sounds that should have none; they share no code with the model.

All take one channel at 48 kHz.
"""

from dataclasses import dataclass

import numpy as np
from evaluation.sound.measure import RATE_HZ, Floats
from scipy.signal import fftconvolve

_SLOW_PERIODS, _QUICK_PERIODS = 8.0, 6.0
"""Length of the smoothing window (Blackman's) in periods of the lowest pitch, for a curve and for a vibrato:
the next partial, which may be ten times as strong, is 58 dB down and more."""


@dataclass(frozen=True, slots=True)
class Swing:
    """A vibrato as it is heard."""

    rate_hz: float
    width_cents: float
    """From the lowest to the highest pitch."""


def deviation_cents(signal: Floats, expected_hz: Floats, periods: float = _SLOW_PERIODS) -> Floats:
    """How far the fundamental lies from an expected course of frequency, both of shape (n,).

    The signal is turned back by the expected phase, so that what is left stands still where the pitch is
    right (a phase vocoder with one channel that follows the note); what is left is smoothed over some
    periods and its turning is read off. A second partial three times as strong, gliding, disturbs it by up
    to 1.3 cents.
    """
    turned = signal * np.exp(-2j * np.pi * np.cumsum(expected_hz) / RATE_HZ)
    slow = fftconvolve(turned, _window(float(expected_hz.min()), periods), mode="same")
    off_hz = np.gradient(np.unwrap(np.angle(slow))) * RATE_HZ / (2 * np.pi)
    cents: Floats = 1200 * np.log2(np.maximum(1e-3, 1 + off_hz / expected_hz))
    return cents


def swing(signal: Floats, hz: float) -> Swing:
    """Rate and width of the vibrato of a note whose middle pitch is known, by a sine through its pitch.

    What the smoothing window takes off the width is given back.
    """
    window = _window(hz, _QUICK_PERIODS)
    edge = len(window)
    cents = deviation_cents(signal, np.full(len(signal), hz), _QUICK_PERIODS)[edge:-edge][::24]
    time_s = np.arange(len(cents)) * 24 / RATE_HZ

    def fit(rate_hz: float) -> tuple[float, float]:
        turn = 2 * np.pi * rate_hz * time_s
        basis = np.stack([np.sin(turn), np.cos(turn), np.ones_like(turn), time_s], axis=1)
        found, residue, *_ = np.linalg.lstsq(basis, cents, rcond=None)
        return float(residue[0]), float(np.hypot(found[0], found[1]))

    rates_hz = np.arange(2.0, 14.0, 0.25)
    rate_hz = float(min(rates_hz, key=lambda rate: fit(rate)[0]))
    for step_hz in (0.05, 0.01, 0.002):
        near_hz = rate_hz + step_hz * np.arange(-6, 7)
        rate_hz = float(min(near_hz, key=lambda rate: fit(rate)[0]))
    lags_s = (np.arange(len(window)) - (len(window) - 1) / 2) / RATE_HZ
    kept = float(np.sum(window * np.cos(2 * np.pi * rate_hz * lags_s)))
    return Swing(rate_hz, 2 * fit(rate_hz)[1] / kept)


def periodicity(signal: Floats, lowest_hz: float = 60.0, highest_hz: float = 1000.0) -> float:
    """Highest normalised autocorrelation over the lags of a guitar's pitches: 1 for a steady tone.

    Lags are looked at from the first that is below zero on, since any smooth sound is like itself a
    moment later.
    """
    lags = range(int(RATE_HZ / highest_hz), int(RATE_HZ / lowest_hz))
    values = np.array([_likeness(signal[:-lag], signal[lag:]) for lag in lags])
    below = np.nonzero(values < 0)[0]
    return float(values[below[0] :].max()) if len(below) else 0.0


def _likeness(one: Floats, other: Floats) -> float:
    return float(np.sum(one * other) / np.sqrt(np.sum(one**2) * np.sum(other**2) + 1e-30))


def _window(hz: float, periods: float) -> Floats:
    window = np.blackman(round(periods * RATE_HZ / hz) | 1)
    scaled: Floats = window / window.sum()
    return scaled
