"""Lines with bends and vibrato, played on recorded guitars by a hand whose every curve is known.

A recorded note is read faster or slower from moment to moment, as its curve says: nothing of the package's
own string model has a part in it. The recordings' own deviation from equal temperament is taken out.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np
import soxr
from evaluation.ear.corrupting import CORRUPTIONS, noise
from evaluation.ear.guitars import HIGHEST, LOWEST, RATE_HZ, STRENGTHS, Floats, recorded_note

from fretwright.fretboard.neck import Neck, Place
from fretwright.score import techniques as written
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.score import Score
from fretwright.score.techniques import Bend, Techniques
from fretwright.score.tempo import TempoMap
from fretwright.score.timeline import TimedNote, timeline
from fretwright.score.values import HALF, QUARTER, Value
from fretwright.theory.key import Key

CONDITIONS: Final = ("plain", "noise 10 dB", "reverb 0.3", "hum 50", "high-pass 300")
TUNED_ON: Final = ("steel", "clean", "overdriven")
"""Guitars that constants of this part were set with."""
REPORTED_ON: Final = ("nylon", "jazz", "distorted")
"""Guitars that were only reported on. A palm-muted string is not bent: nothing of it would be heard."""
_SEED: Final = 7_301
_NOTES: Final = 12
_FADE_S: Final = 0.015
_SHAPE: Final = ((3, 7), (3, 9), (2, 8), (2, 10), (1, 8), (1, 10), (3, 5), (2, 5), (1, 5), (1, 12), (2, 13))
_SEMITONES: Final = (Fraction(1), Fraction(2), Fraction(2), Fraction(3), Fraction(1, 2))
_BENDS: Final = (
    written.bend_up,
    written.bend_up,
    written.bend_and_release,
    written.pre_bend,
    written.pre_bend_and_release,
)
"""The plainest twice as often."""
_NECK: Final = Neck()


@dataclass(frozen=True, slots=True)
class Curve:
    """What the hand really did to one note: corners of a course of pitch, and a swing on top of it."""

    times_s: Floats
    """From the note's onset."""
    cents: Floats
    """At those times above the fretted pitch; an S of half a cosine leads from one to the next."""
    rate_hz: float = 0.0
    width_cents: float = 0.0
    swings_up: bool = False
    """Whether the swing lies above the note's pitch, as a finger that pulls makes it, or to both sides."""
    swings_from_s: float = 0.12

    def at(self, time_s: Floats) -> Floats:
        """Cents above the fretted pitch at some times."""
        at = np.clip(np.searchsorted(self.times_s, time_s, side="right") - 1, 0, len(self.times_s) - 1)
        after = np.minimum(at + 1, len(self.times_s) - 1)
        span = np.maximum(self.times_s[after] - self.times_s[at], 1e-9)
        share = np.clip((time_s - self.times_s[at]) / span, 0, 1)
        smooth = 0.5 - 0.5 * np.cos(np.pi * share)
        course: Floats = self.cents[at] + smooth * (self.cents[after] - self.cents[at])
        swung_s = np.maximum(time_s - self.swings_from_s, 0)
        grown = np.clip(swung_s / 0.1, 0, 1)
        turn = 2 * np.pi * self.rate_hz * swung_s
        swing = 0.5 - 0.5 * np.cos(turn) if self.swings_up else 0.5 * np.sin(turn)
        return course + self.width_cents * grown * swing


@dataclass(frozen=True, slots=True)
class Known:
    """One take with all that is known of it."""

    name: str
    score: Score
    asked: tuple[TimedNote, ...]
    bpm: float
    guitar: str
    condition: str
    curves: tuple[Curve, ...]
    onsets_s: Floats
    guitar_cents: float
    samples: Floats
    """Mono, 44.1 kHz."""


def takes(*, reported: bool, per_condition: int, seed: int = _SEED) -> Iterator[Known]:
    """Takes of every condition, all from one seed."""
    guitars = REPORTED_ON if reported else TUNED_ON
    for place, condition in enumerate(CONDITIONS):
        for index in range(per_condition):
            rng = np.random.default_rng([seed, int(reported), place, index])
            yield _take(f"{condition}-{index}", condition, guitars[(index + place) % len(guitars)], rng)


def _take(name: str, condition: str, guitar: str, rng: np.random.Generator) -> Known:
    score = _exercise(rng)
    played = timeline(score)
    slower = float(rng.uniform(0.88, 1.12))
    jitter = np.clip(rng.normal(0, 0.008, len(played.notes)), -0.02, 0.02)
    onsets = 0.5 + slower * np.array([timed.onset_s for timed in played.notes]) + jitter
    cents = float(rng.uniform(-12, 12))
    out = np.zeros(round((onsets[-1] + 2.5) * RATE_HZ))
    curves = []
    for index, timed in enumerate(played.notes):
        until_s = onsets[index + 1] if index + 1 < len(onsets) else onsets[index] + slower * timed.duration_s
        length_s = float(until_s - onsets[index]) * float(rng.uniform(0.9, 1.0))
        curve = _curve(timed, slower * timed.written_s, rng)
        curves.append(curve)
        piece = _bent(guitar, timed.note.midi, cents, curve, length_s, rng)
        start = round(onsets[index] * RATE_HZ)
        out[start : start + len(piece)] += piece[: len(out) - start]
    out *= 0.5 / np.abs(out).max()
    out = noise(20.0)(out, rng)
    if condition in CORRUPTIONS:
        out = CORRUPTIONS[condition](out, rng)
    out *= 0.6 / np.abs(out).max()
    return Known(name, score, played.notes, played.bpm, guitar, condition, tuple(curves), onsets, cents, out)


def _exercise(rng: np.random.Generator) -> Score:
    """A line of quarters and halves; half of its notes bent, a quarter with vibrato, the rest plain."""
    events = []
    before: Place | None = None
    for _ in range(_NOTES):
        place = Place(*_SHAPE[int(rng.integers(len(_SHAPE)))])
        while before is not None and _NECK.pitch_at(place).midi == _NECK.pitch_at(before).midi:
            place = Place(*_SHAPE[int(rng.integers(len(_SHAPE)))])
        before = place
        value: Value = HALF if rng.random() < 0.45 else QUARTER
        events.append(Event(value, (Head(place, _NECK.pitch_at(place), techniques=_techniques(rng)),)))
    bpm = float(round(rng.uniform(66, 104)))
    return assemble(Heading("made", "Made", _NECK, Key(0), TempoMap.constant(bpm)), into_bars(events))


def _techniques(rng: np.random.Generator) -> Techniques:
    drawn = float(rng.random())
    vibrato = written.WIDE_VIBRATO if rng.random() < 0.4 else written.USUAL_VIBRATO
    if drawn < 0.5:
        make = _BENDS[int(rng.integers(len(_BENDS)))]
        bend = make(_SEMITONES[int(rng.integers(len(_SEMITONES)))])
        swings = make is written.bend_up and rng.random() < 0.2
        return Techniques(bend=bend, vibrato=vibrato if swings else None)
    return Techniques(vibrato=vibrato) if drawn < 0.75 else written.PLAIN


def _curve(timed: TimedNote, length_s: float, rng: np.random.Generator) -> Curve:
    """The written curve as a hand plays it: off its target, too quick or too slow, now and then still."""
    bend, vibrato = timed.note.techniques.bend, timed.note.techniques.vibrato
    times_s, cents = np.array([0.0, 0.02]), np.zeros(2)
    if bend is not None:
        times_s, cents = _bend(bend, length_s, rng)
    if vibrato is None or rng.random() < 0.1:
        return Curve(times_s, cents)
    width = vibrato.width_cents * float(rng.uniform(0.6, 1.6))
    top_s = float(times_s[1]) if bend is not None else 0.12
    return Curve(times_s, cents, float(rng.uniform(4, 7)), width, bool(rng.random() < 0.5), top_s)


def _bend(bend: Bend, length_s: float, rng: np.random.Generator) -> tuple[Floats, Floats]:
    off = float(rng.normal(0, 25)) if rng.random() < 0.7 else -float(rng.uniform(30, 110))
    off = max(off, -80.0 * float(bend.peak))
    haste = float(rng.uniform(0.6, 1.15))
    times_s = [float(point.at) * length_s * haste for point in bend.points]
    levels = [100 * float(point.semitones) for point in bend.points]
    cents = [level + off if level == 100 * bend.peak else level + rng.normal(0, 6) for level in levels]
    if levels[0] == 0:
        cents[0] = 0.0
    if len(times_s) == 1:
        times_s, cents = [0.0, 0.02], cents * 2
    return np.array(times_s), np.array(cents)


def _bent(
    guitar: str, midi: int, guitar_cents: float, curve: Curve, length_s: float, rng: np.random.Generator
) -> Floats:
    """One recorded note, read at the speed that its curve asks for."""
    note = recorded_note(
        guitar, min(max(midi, LOWEST), HIGHEST), STRENGTHS[int(rng.integers(len(STRENGTHS)))]
    )
    source = soxr.resample(
        note.samples, RATE_HZ * 2 ** ((guitar_cents - note.cents) / 1200), RATE_HZ, quality="HQ"
    )
    count = round(length_s * RATE_HZ)
    speed = 2 ** (curve.at(np.arange(count) / RATE_HZ) / 1200)
    read: Floats = np.interp(np.cumsum(speed) - speed[0], np.arange(len(source)), source, right=0.0)
    fade = min(round(_FADE_S * RATE_HZ), count // 2)
    read[-fade:] *= np.linspace(1, 0, fade) ** 2
    read *= 10 ** (float(rng.normal(0, 2)) / 20)
    return read
