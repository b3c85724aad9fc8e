"""The coefficients of one string loop, tuned exactly.

A string is one delay line whose end is fed back to its start through a loss filter and a chain of
allpass filters (the single-delay-loop form of the digital waveguide: Karjalainen, Valimaki and Tolonen
1998, Computer Music Journal 22(3), 17-32)::

    delay (whole samples + Lagrange interpolator) -> loss -> dispersion -> back into the delay

* Loss: g (1 - p) / (1 - p z^-1), with g and p solved so that the loop's gain per round trip gives the
  wanted T60 at the fundamental and at one high frequency.
* Dispersion: ``sections`` equal first-order allpasses (c + z^-1) / (1 + c z^-1); c is solved so that
  the loop delays the reference partial as much less than the fundamental as a stiff string does.
* Tuning: the phase delays of both at the fundamental are taken off the delay line, so that the sounding
  fundamental is exact.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import atan2, cos, exp, inf, log, pi, sin, sqrt
from typing import Final

from fretwright.base.errors import RenderError
from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.sound.strings import partial_hz

SHORTEST_DELAY: Final = 4.0
"""Least length of the delay line in samples that the interpolator can read."""
_REFERENCE_PARTIAL: Final = 10
"""The dispersion is true at this partial at least, and up to:"""
_SECTIONS: Final = (
    (60.0, 24, 1000.0),
    (80.0, 16, 1300.0),
    (100.0, 12, 2200.0),
    (180.0, 8, 2200.0),
    (inf, 6, 2200.0),
)
"""Below which open pitch a string needs how many allpasses, and up to which frequency it must then be true.
Up to about 2.2 kHz a listener hears single partials out of tune; the thick strings of a bass have none left
there, and their lower ones are as far apart as those of others higher up."""
_LN_1000: Final = log(1000.0)


@dataclass(frozen=True, slots=True)
class Decay:
    """How long a string rings."""

    t60_s: float
    """Time for the fundamental to fall by 60 dB."""
    bright_t60_s: float
    """The same at ``bright_hz``."""
    bright_hz: float = 3000.0


@dataclass(frozen=True, slots=True)
class LoopCoefficients:
    """One tuned loop."""

    delay: float
    """Length of the delay line in samples, interpolator included."""
    gain: float
    """g (1 - p): weight of the newest sample in the loss filter."""
    pole: float
    """p of the loss filter."""
    dispersion: float
    """c of each allpass; 0 is a plain delay of one sample."""


def sections_for(open_hz: float) -> int:
    """How many allpasses the dispersion of a string needs; more for a lower one."""
    return next(sections for below_hz, sections, _ in _SECTIONS if open_hz < below_hz)


@lru_cache(maxsize=4096)
def tune_loop(pitch_hz: float, inharmonicity: float, decay: Decay, sections: int) -> LoopCoefficients:
    """Solve the coefficients of a loop that sounds at ``pitch_hz``.

    Raises :class:`~fretwright.base.errors.RenderError` if the pitch is too high for the loop to hold.
    """
    gain, pole = _loss(pitch_hz, decay)
    dispersion = _dispersion(pitch_hz, inharmonicity, pole, sections)
    omega = 2 * pi * pitch_hz / SAMPLE_RATE_HZ
    filters = _loss_delay(omega, pole) + sections * _allpass_delay(omega, dispersion)
    delay = SAMPLE_RATE_HZ / pitch_hz - filters
    if delay < SHORTEST_DELAY:
        message = f"a string cannot sound at {pitch_hz:.0f} Hz in this model"
        raise RenderError(message, "Choose a lower place on the neck.")
    return LoopCoefficients(delay, gain, pole, dispersion)


def _loss(pitch_hz: float, decay: Decay) -> tuple[float, float]:
    """Weight and pole of the loss filter from the two decay times."""
    # Above the bright frequency's third there is nothing left to slope towards.
    bright_hz = max(decay.bright_hz, 3 * pitch_hz)
    low = exp(-_LN_1000 / (pitch_hz * decay.t60_s))
    high = min(low, exp(-_LN_1000 / (pitch_hz * decay.bright_t60_s)))
    ratio = (low / high) ** 2
    cos_low = cos(2 * pi * pitch_hz / SAMPLE_RATE_HZ)
    cos_high = cos(2 * pi * bright_hz / SAMPLE_RATE_HZ)
    pole = _smaller_root(ratio - 1, -2 * (ratio * cos_low - cos_high))
    gain = low * sqrt(1 - 2 * pole * cos_low + pole * pole)
    return gain, pole


def _smaller_root(a: float, b: float) -> float:
    """The root inside the unit circle of a x^2 + b x + a, whose roots are each other's inverse."""
    if a < 1e-12:
        return 0.0
    half = -b / (2 * a)
    return half - sqrt(half * half - 1) if half > 1 else 0.0


def _dispersion(pitch_hz: float, inharmonicity: float, pole: float, sections: int) -> float:
    """Coefficient of the allpasses that delays the reference partial as a stiff string does."""
    below_the_top = int(0.4 * SAMPLE_RATE_HZ / pitch_hz)
    reach_hz = next(true_hz for _, count, true_hz in reversed(_SECTIONS) if count >= sections)
    number = max(2, min(below_the_top, max(_REFERENCE_PARTIAL, round(reach_hz / pitch_hz))))
    reference_hz = partial_hz(pitch_hz, inharmonicity, number)
    low, high = (2 * pi * hz / SAMPLE_RATE_HZ for hz in (pitch_hz, reference_hz))
    wanted = SAMPLE_RATE_HZ * (1 / pitch_hz - number / reference_hz)
    wanted -= _loss_delay(low, pole) - _loss_delay(high, pole)
    # The allpasses may use up the loop but for the shortest delay line.
    room = SAMPLE_RATE_HZ / pitch_hz - SHORTEST_DELAY - _loss_delay(low, pole)
    longest = min(60.0, room / sections)
    shortest_c, longest_c = 0.0, (1 - longest) / (1 + longest)
    for _ in range(50):
        middle = (shortest_c + longest_c) / 2
        drop = sections * (_allpass_delay(low, middle) - _allpass_delay(high, middle))
        if drop < wanted:
            shortest_c = middle
        else:
            longest_c = middle
    return (shortest_c + longest_c) / 2


def _loss_delay(omega: float, pole: float) -> float:
    """Phase delay of 1 / (1 - p z^-1) in samples."""
    return atan2(pole * sin(omega), 1 - pole * cos(omega)) / omega


def _allpass_delay(omega: float, c: float) -> float:
    """Phase delay of (c + z^-1) / (1 + c z^-1) in samples."""
    return 1 - 2 * atan2(c * sin(omega), 1 + c * cos(omega)) / omega
