"""What turns a string's motion into what is heard: a wooden body, or a pickup, an amplifier and a cabinet.

Both end in stereo and in the same small room, whose few early reflections leave nothing ringing in a
rest. Resonances are made by formula from a few measured facts; every impulse response is computed once
per process and is the same everywhere.

Frequencies and quality factors of the lowest body modes: Fletcher and Rossing, "The Physics of Musical
Instruments", chapter on guitars (from memory). A magnetic pickup with its cable is a second-order low
pass with a resonance of a few kilohertz (common practice, no source).
"""

from dataclasses import dataclass
from functools import lru_cache
from math import exp, pi
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.sound.arrays import Floats, Samples
from fretwright.sound.compiled import compiled
from fretwright.sound.filters import (
    BUTTERWORTH_2,
    BUTTERWORTH_4,
    Section,
    high_pass,
    low_pass,
    slope,
    through,
)

RESPONSE_SAMPLES: Final = 4096
"""Length of every impulse response: 85 ms."""
_GOLDEN: Final = 0.6180339887498949
_REFLECTIONS_MS: Final = ((4.3, 9.7, 16.1, 24.7, 35.9), (5.9, 8.3, 18.7, 27.1, 33.1))
"""Early reflections of the room on the left and on the right."""


class Colour(Protocol):
    """Everything between the string and the listener."""

    def apply(self, motion: Floats) -> Samples:
        """Turn a string's motion, shape (n,), into stereo, shape (n, 2), with no delay."""
        ...


@dataclass(frozen=True, slots=True)
class Resonance:
    """One resonance of a body or cabinet."""

    hz: float
    quality: float
    peak: float
    """Gain at its peak, where the direct path has 1."""


@dataclass(frozen=True, slots=True)
class Tilt:
    """A slope between two corners: flat, then falling 6 dB per octave, then flat again."""

    from_hz: float
    to_hz: float

    @property
    def section(self) -> Section:
        """The slope as a filter."""
        return slope(self.from_hz, self.to_hz)


@dataclass(frozen=True, slots=True)
class Band:
    """What passes at all: second order at the bottom, second or fourth at the top."""

    low_hz: float
    high_hz: float
    is_steep: bool = False
    """Whether the top is of fourth order, as a loudspeaker's is."""

    @property
    def sections(self) -> tuple[Section, ...]:
        """The band as filters."""
        top = BUTTERWORTH_4 if self.is_steep else BUTTERWORTH_2
        return (
            *(high_pass(self.low_hz, quality) for quality in BUTTERWORTH_2),
            *(low_pass(self.high_hz, quality) for quality in top),
        )


@dataclass(frozen=True, slots=True)
class Shape:
    """A linear stage: slopes, band limits, resonances and a few reflections of the room."""

    tilts: tuple[Tilt, ...]
    band: Band
    resonances: tuple[Resonance, ...]
    plate_level: float = 0.0
    """Gain of the many unnamed modes above 400 Hz; 0 for none."""
    plate_quality: float = 24.0
    room_level: float = 0.0
    """Gain of the first reflection."""

    def convolve(self, mono: Floats) -> Samples:
        """Shape (n,) to stereo, shape (n, 2)."""
        return _convolve_stereo(mono[np.newaxis], _spectra(self))

    def convolve_each(self, sides: Floats) -> Samples:
        """Left and right, shape (2, n), each through the response of its own side, to (n, 2)."""
        return _convolve_stereo(sides, _spectra(self))


@dataclass(frozen=True, slots=True)
class Body:
    """The wooden body of an acoustic instrument."""

    shape: Shape

    def apply(self, motion: Floats) -> Samples:
        """See :class:`Colour`."""
        return self.shape.convolve(motion)


@dataclass(frozen=True, slots=True)
class Amplifier:
    """Pickup circuit, amplifier stage and cabinet of an electric instrument."""

    circuit_hz: float
    """Resonance of the pickup with its cable."""
    circuit_quality: float
    tilt: Tilt
    drive: float
    """How hard the stage is driven: it bends a full pluck of level 1 to 1 / sqrt(1 + drive^2)."""
    cabinet: Shape

    def apply(self, motion: Floats) -> Samples:
        """See :class:`Colour`."""
        circuit = (low_pass(self.circuit_hz, self.circuit_quality), self.tilt.section)
        driven = through(circuit, motion)
        return self.cabinet.convolve(soft_limit(driven, self.drive))


# ---------------------------------------------------------------------------------------------------------
# Linear stages


@lru_cache(maxsize=16)
def _spectra(shape: Shape) -> tuple[NDArray[np.complex64], int]:
    """Spectra of the left and right response, and the transform's length."""
    length = fft.next_fast_len(4 * RESPONSE_SAMPLES, real=True)
    both = np.stack([response(shape, side) for side in (0, 1)])
    return fft.rfft(both.astype(np.float32), length), length


def response(shape: Shape, side: int) -> Floats:
    """Impulse response of a stage on the left (0) or right (1)."""
    impulse = np.zeros(RESPONSE_SAMPLES)
    impulse[0] = 1.0
    for resonance in shape.resonances:
        impulse += _ringing(resonance)
    for index, resonance in enumerate(_plate(shape)):
        # Neighbouring modes push the air in turn with and against each other, and not alike on both sides.
        turn = 1.0 if (index * (side + 1) // 2) % 2 == 0 else -1.0
        impulse += turn * _ringing(resonance)
    impulse = through((*shape.band.sections, *(tilt.section for tilt in shape.tilts)), impulse)
    impulse = _in_room(impulse, shape.room_level, side)
    fade = RESPONSE_SAMPLES // 4
    impulse[-fade:] *= 0.5 + 0.5 * np.cos(np.linspace(0.0, pi, fade))
    return impulse


def _ringing(resonance: Resonance) -> Floats:
    time_s = np.arange(RESPONSE_SAMPLES) / SAMPLE_RATE_HZ
    omega = 2 * pi * resonance.hz
    rate = omega / (2 * resonance.quality)
    level = 2 * resonance.peak * rate / SAMPLE_RATE_HZ
    return level * np.exp(-rate * time_s) * np.sin(omega * time_s)


def _plate(shape: Shape) -> list[Resonance]:
    """The many modes of the plates: about evenly spaced, their places and heights scattered by formula."""
    if shape.plate_level == 0.0:
        return []
    modes = []
    hz, number = 420.0, 1
    while hz < min(6000.0, shape.band.high_hz):
        scatter = (number * _GOLDEN) % 1.0
        modes.append(Resonance(hz, shape.plate_quality, shape.plate_level * (0.4 + 0.9 * scatter)))
        hz += (60.0 + 0.05 * hz) * (0.6 + 0.8 * scatter)
        number += 1
    return modes


def _in_room(impulse: Floats, level: float, side: int) -> Floats:
    if level == 0.0:
        return impulse
    dull = through((low_pass(4500.0, 0.5),), impulse)
    wet = impulse.copy()
    for number, delay_ms in enumerate(_REFLECTIONS_MS[side]):
        delay = round(delay_ms * SAMPLE_RATE_HZ / 1000)
        sign = -1.0 if number % 2 else 1.0
        wet[delay:] += sign * level * exp(-0.35 * number) * dull[:-delay]
    return wet


def _convolve_stereo(sides: Floats, spectra: tuple[NDArray[np.complex64], int]) -> Samples:
    """Convolution by blocks of one signal, shape (1, n), or two; one forward transform serves both of one."""
    responses, length = spectra
    block = length - RESPONSE_SAMPLES + 1
    count = sides.shape[1]
    out = np.zeros((2, count + length), dtype=np.float32)
    single = sides.astype(np.float32)
    for start in range(0, count, block):
        answers = fft.irfft(fft.rfft(single[:, start : start + block], length) * responses, length)
        out[:, start : start + length] += answers
    # A view in columns: every later stage goes through one side after the other.
    return out[:, :count].T


# ---------------------------------------------------------------------------------------------------------
# The bent stage

_SIDE_TAPS: Final = 12
_BLOCK: Final = 2048


def _half_band() -> Floats:
    """Odd half of a half-band filter's one side (windowed sinc), scaled to unit gain."""
    offsets = np.arange(_SIDE_TAPS) + 0.5
    window = np.kaiser(4 * _SIDE_TAPS + 1, 8.0)[2 * _SIDE_TAPS + 1 :: 2]
    taps = np.sinc(offsets) * window
    halves: Floats = taps / (2 * taps.sum())
    return halves


HALF_BAND: Final = _half_band()


@compiled
def _bend(motion: Floats, taps: Floats, drive: float, out: Floats) -> None:
    """Fill ``out`` with x / sqrt(1 + (drive x)^2), computed at twice the sample rate.

    ``motion`` is padded by two taps' lengths on either side.
    """
    reach = len(taps)
    count = len(motion) - 4 * reach
    between = np.empty(_BLOCK + 2 * reach)
    for start in range(0, count, _BLOCK):
        size = min(_BLOCK, count - start)
        # Values half-way between the samples, from one reach before the block to one after it.
        half = between[: size + 2 * reach]
        half[:] = 0.0
        for tap in range(reach):
            # Slices, since an index that might be negative keeps the loop from being vectorised.
            left = motion[start + reach - tap :][: len(half)]
            right = motion[start + reach + 1 + tap :][: len(half)]
            for i in range(len(half)):
                half[i] += taps[tap] * (left[i] + right[i])
        for i in range(len(half)):
            half[i] /= np.sqrt(1.0 + (drive * half[i]) ** 2)
        centre = motion[start + 2 * reach :][:size]
        bent = out[start : start + size]
        for i in range(size):
            bent[i] = 0.5 * centre[i] / np.sqrt(1.0 + (drive * centre[i]) ** 2)
        for tap in range(reach):
            before, after = half[reach - 1 - tap :][:size], half[reach + tap :][:size]
            for i in range(size):
                bent[i] += 0.5 * taps[tap] * (before[i] + after[i])


def soft_limit(motion: Floats, drive: float) -> Floats:
    """Bend a signal, shape (n,), gently and without audible aliasing; it is not delayed."""
    out = np.zeros(len(motion))
    _bend(np.pad(motion, 2 * _SIDE_TAPS), HALF_BAND, drive, out)
    return out
