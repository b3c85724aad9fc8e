"""Tones to tune by: open strings, and two strings that beat against each other or do not.

A neck and places enter; a :class:`~fretwright.sound.render.Sound` leaves. Each string is sounded alone by the
string model and mixed afterwards, so that one of them can be out of tune by a chosen number of cents: its
sound is resampled, which moves every partial alike.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

import numpy as np
import soxr

from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning_steps import Compared
from fretwright.score.assemble import BarOfEvents, Event, Head, Heading, assemble
from fretwright.score.meter import Meter
from fretwright.score.score import Score
from fretwright.score.techniques import PLAIN, Harmonic, HarmonicKind, Techniques
from fretwright.score.tempo import TempoMap
from fretwright.score.values import WHOLE
from fretwright.sound.arrays import Samples
from fretwright.sound.loudness import to_target
from fretwright.sound.render import Sound, render
from fretwright.theory.key import Key

_BPM: Final = 40.0
"""A whole note then lasts six seconds: long enough for slow beats."""
_GAP_S: Final = 0.3
_C_MAJOR: Final = Key(0)


def open_string_tone(neck: Neck, string: int) -> Sound:
    """One open string, struck once and left to ring for six seconds."""
    return _alone(neck, Compared(Place(string, 0), 1, neck.tuning.open_pitch(string).frequency_hz()))


def one_after_another(sounds: Sequence[Sound]) -> Sound:
    """Sounds in a row."""
    rate = sounds[0].rate_hz
    gap = np.zeros((round(_GAP_S * rate), 2), dtype=np.float32)
    samples = np.concatenate([part for sound in sounds for part in (sound.samples, gap)])
    return Sound(samples, (), sounds[0].music_starts_s, len(samples) / rate, rate)


def two_strings(neck: Neck, reference: Compared, own: Compared, off_cents: float = 0.0) -> Sound:
    """Two strings struck together, the second one ``off_cents`` away from equal temperament."""
    first, second = _alone(neck, reference), _alone(neck, own)
    moved = detuned(second.samples, second.rate_hz, off_cents)
    length = min(len(first.samples), len(moved))
    mixed = (first.samples[:length] + moved[:length]) / 2
    return replace(first, samples=to_target(mixed).astype(np.float32), music_ends_s=length / first.rate_hz)


def detuned(samples: Samples, rate_hz: int, cents: float) -> Samples:
    """The same sound higher or lower by so many cents, and shorter or longer by as much."""
    if not cents:
        return samples
    return np.asarray(soxr.resample(samples, rate_hz * 2 ** (cents / 1200), rate_hz), dtype=np.float32)


def _alone(neck: Neck, compared: Compared) -> Sound:
    return render(_score(neck, compared), _BPM)


def _score(neck: Neck, compared: Compared) -> Score:
    """A score of one long note: stopped, open, or a natural harmonic."""
    place, techniques = compared.place, PLAIN
    pitch = neck.pitch_at(place)
    if compared.is_harmonic:
        techniques = Techniques(harmonic=Harmonic(HarmonicKind.NATURAL, place.fret))
        pitch = neck.pitch_at(Place(place.string, 0))
    head = Head(place, pitch, techniques=techniques)
    heading = Heading("tone", "Tone", neck, _C_MAJOR, TempoMap.constant(_BPM, Fraction(1, 4)))
    return assemble(heading, [BarOfEvents((Event(WHOLE, (head,)),), Meter(4, 4))])
