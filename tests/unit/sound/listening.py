"""Ears for these tests: scores to play, and measures that share nothing with the model."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.tempo import TempoMap
from fretwright.score.values import Value
from fretwright.sound.instrument import Voice
from fretwright.sound.voices import CLEAN_ELECTRIC, OVERDRIVEN_ELECTRIC
from fretwright.theory.key import Key

RATE_HZ = 48_000

Item = tuple[int, int, Value, Attack] | Value
"""String, fret, value and attack; a bare value is a rest."""


def score_of(items: Sequence[Item], bpm: float = 60.0, pickup: Fraction = Fraction(0)) -> Score:
    """A line on a guitar in standard tuning."""
    neck = Neck()
    events = []
    for item in items:
        if isinstance(item, Value):
            events.append(Event(item))
            continue
        string, fret, value, attack = item
        place = Place(string, fret)
        events.append(Event(value, (Head(place, neck.pitch_at(place), attack),)))
    heading = Heading("line", "A line", neck, Key(0), TempoMap.constant(bpm))
    return assemble(heading, into_bars(events, pickup=pickup))


def undriven(voice: Voice) -> Voice:
    """An overdriven guitar through the clean amplifier, to hear its strings; any other as it is."""
    return replace(voice, colour=CLEAN_ELECTRIC.colour) if voice is OVERDRIVEN_ELECTRIC else voice


def mono(samples: NDArray[np.float32]) -> NDArray[np.float64]:
    """Both sides as one."""
    mixed: NDArray[np.float64] = samples.astype(np.float64).mean(axis=1)
    return mixed


def stretch(signal: NDArray[np.float64], start_s: float, stop_s: float) -> NDArray[np.float64]:
    """What sounds between two moments."""
    return signal[round(start_s * RATE_HZ) : round(stop_s * RATE_HZ)]


def sounding_hz(signal: NDArray[np.float64], near_hz: float) -> float:
    """Frequency of the strongest partial within 4 % of a guess.

    Peak of a zero-padded Blackman spectrum, interpolated by a parabola through the logarithms
    (Smith and Serra 1987); its own error on a decaying sine is below 0.05 cents for half a second.
    """
    size = 1 << 19
    spectrum = np.abs(np.fft.rfft(signal * np.blackman(len(signal)), size))
    low, high = (int(near_hz * factor * size / RATE_HZ) for factor in (0.96, 1.04))
    peak = low + int(np.argmax(spectrum[low:high]))
    before, at, after = np.log(spectrum[peak - 1 : peak + 2])
    return float((peak + 0.5 * (before - after) / (before - 2 * at + after)) * RATE_HZ / size)


def level_db(signal: NDArray[np.float64]) -> float:
    """Root mean square in dBFS."""
    return float(10 * np.log10(np.mean(np.square(signal)) + 1e-30))


def above(signal: NDArray[np.float64], hz: float) -> NDArray[np.float64]:
    """The part of a signal above a frequency (ideal filter by transform)."""
    spectrum = np.fft.rfft(signal)
    spectrum[: int(hz * len(signal) / RATE_HZ)] = 0.0
    return np.fft.irfft(spectrum, len(signal))


def partial_level_db(signal: NDArray[np.float64], hz: float) -> float:
    """Level of one partial in dB, by correlation with a windowed complex sine."""
    time_s = np.arange(len(signal)) / RATE_HZ
    window = np.hanning(len(signal))
    value = np.sum(signal * window * np.exp(-2j * np.pi * hz * time_s)) / window.sum() * 2
    return float(20 * np.log10(np.abs(value) + 1e-15))
