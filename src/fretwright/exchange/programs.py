"""The General MIDI program that stands for an instrument."""

from dataclasses import dataclass
from typing import Final

from fretwright.fretboard.neck import Neck

_BASS_TOP_MIDI: Final = 48


@dataclass(frozen=True, slots=True)
class Program:
    """One program of General MIDI Level 1."""

    number: int
    """Counted from 0, as the file holds it; printed lists count from 1."""
    name: str


STEEL_GUITAR: Final = Program(25, "Guitar")
"""Acoustic guitar (steel): 26 in printed lists."""
FINGERED_BASS: Final = Program(33, "Bass")
"""Electric bass (finger): 34 in printed lists (from memory)."""


def program_of(neck: Neck) -> Program:
    """A steel-strung guitar, or a bass where the highest open string is C3 or lower."""
    is_bass = max(pitch.midi for pitch in neck.tuning.open_pitches) <= _BASS_TOP_MIDI
    return FINGERED_BASS if is_bass else STEEL_GUITAR
