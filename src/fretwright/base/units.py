"""Units and conversions that more than one layer needs.

Musical time is a :class:`fractions.Fraction` of a whole note. Seconds exist only after a tempo is
chosen. A name carries its unit: ``onset_s``, ``stretch_mm``, ``pitch_cents``.
"""

import math
from fractions import Fraction
from typing import Final

WholeNotes = Fraction
"""Musical time: 1/4 is a quarter note, 1/12 an eighth of a triplet."""

A4_HZ: Final = 440.0
"""Standard tuning frequency (ISO 16:1975)."""

SAMPLE_RATE_HZ: Final = 48_000
"""Sample rate of every sound that Fretwright makes."""


def midi_to_hz(midi: float, a4_hz: float = A4_HZ) -> float:
    """Frequency of a MIDI note number in equal temperament (ISO 16:1975: A4, number 69, is 440 Hz)."""
    return a4_hz * math.exp2((midi - 69.0) / 12.0)


def hz_to_midi(hz: float, a4_hz: float = A4_HZ) -> float:
    """MIDI note number, with its fraction, of a frequency above zero."""
    return 69.0 + 12.0 * math.log2(hz / a4_hz)


def cents_between(low_hz: float, high_hz: float) -> float:
    """Size of the interval from one frequency up to another, in cents."""
    return 1200.0 * math.log2(high_hz / low_hz)
