"""The sounding length of a string through its part: where it is stopped, bent and touched, as coefficients.

* A fret shortens the string; a bend tightens it and leaves its length: for the same rise in pitch the first
  makes it stiffer to the ear and the second less so (B goes with 1 / (T L^2)).
* A finger that only touches a node leaves a partial of the stopped string, which is a string of that part of
  the length with the decay that the whole one has at the partial's pitch.
* A loop's length at a moment is the mean period of the round trip that ends there; a curve of pitch is
  therefore read half a period earlier.
"""

from collections.abc import Callable, Sequence
from functools import cache
from itertools import pairwise
from math import ceil, floor, log, log2, sqrt
from typing import Final, NamedTuple

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ, midi_to_hz
from fretwright.score.ornaments import Muting
from fretwright.sound.arrays import Counts, Floats
from fretwright.sound.contacts import Contact, OpenString
from fretwright.sound.instrument import Voice
from fretwright.sound.loop import Decay, sections_for, tune_loop
from fretwright.sound.slides import SLUR_GLIDE, Slide, slide_before, slide_in, slide_out

PALM_T60: Final = 0.06
"""T60 under the palm, as a part of the free string's (common practice, no source: a muted low string is over
in about half a second);"""
PALM_BRIGHT_T60: Final = 0.05
"""and that of its high partials."""
_PLUCK_GLIDE: Final = 64
_CURVE_STEP: Final = 192
"""4 ms: a vibrato of 12 Hz has 20 such steps, which cut 1 % off its width."""
_PER_SEMITONE: Final = 4
"""Loops are solved at quarters of a semitone and joined by straight lines, 0.05 cents off at most."""
_S_CURVE: Final = ((0.0, 0.0), (0.25, 0.15625), (0.5, 0.5), (0.75, 0.84375), (1.0, 1.0))
_COEFFICIENTS: Final = 4


class Spot(NamedTuple):
    """One state of a sounding string."""

    midi: int
    is_muted: bool
    partial: int
    bent: int
    """In quarters of a semitone."""


def lengths(
    string: OpenString, contacts: Sequence[Contact], voice: Voice, samples: int
) -> tuple[Counts, tuple[Floats, Floats]]:
    """Breakpoints in strictly rising order, and at each the coefficients of both directions of motion.

    The latter are of shape (rows, 4), in the order of the kernel's columns.
    """
    path = _Path(_solver(string, voice), contacts[0])
    starts = [
        slide.start if slide else contact.onset
        for before, contact in pairwise([contacts[0], *contacts])
        for slide in [slide_before(before, contact)]
    ]
    until = max(samples, contacts[-1].onset + 1)
    for (before, contact), free_until in zip(
        pairwise([contacts[0], *contacts]), [*starts[1:], until], strict=True
    ):
        path.reach(before, contact)
        path.hold(contact, free_until)
    path.stay_until(samples)
    rows = np.array([row for _, row in path.rows])
    return (
        np.array([at for at, _ in path.rows], dtype=np.int64),
        (rows[:, :_COEFFICIENTS], rows[:, _COEFFICIENTS:]),
    )


class _Path:
    """The breakpoints as they come; ``rows`` rise strictly in time."""

    def __init__(self, solve: Callable[[Spot], Floats], first: Contact) -> None:
        self._solve = solve
        self._here = self._coefficients(first, _starts_at(first), first.onset)
        self.rows: list[tuple[int, Floats]] = [(0, self._here)]

    def reach(self, before: Contact, contact: Contact) -> None:
        """Come to where a contact starts."""
        slide = slide_before(before, contact)
        if slide:
            self._slide(contact, slide)
        length = SLUR_GLIDE if contact.attack.is_slur else _PLUCK_GLIDE
        self._glide(contact.onset, length, self._coefficients(contact, _starts_at(contact), contact.onset))

    def hold(self, contact: Contact, until: int) -> None:
        """Follow all that a contact does to its own pitch, up to the next one's start."""
        arriving, leaving = slide_in(contact), slide_out(contact)
        if arriving:
            self._slide(contact, arriving)
        if contact.touch.curve:
            self._follow(contact, min(until, leaving.start) if leaving else until)
        if leaving:
            self._slide(contact, leaving)

    def stay_until(self, samples: int) -> None:
        """Stay to the end."""
        self.rows.append((max(samples, self.rows[-1][0] + 1), self._here))

    def _slide(self, contact: Contact, slide: Slide) -> None:
        for step in slide.steps:
            at = step.start + step.length
            self._glide(step.start, step.length, self._coefficients(contact, step.to_midi, at))

    def _glide(self, start: int, length: int, goal: Floats) -> None:
        if np.array_equal(goal, self._here):
            return
        for when, part in _S_CURVE:
            self._add(start + round(when * length), self._here + part * (goal - self._here))
        self._here = goal

    def _follow(self, contact: Contact, until: int) -> None:
        """A row at every step at which the curve moves."""
        grid = range(self.rows[-1][0] + _CURVE_STEP, until, _CURVE_STEP)
        bent = [self._bent(contact, at) for at in grid]
        if not bent:
            return
        rows = self._between_spots(contact, contact.midi, np.array(bent))
        before = None
        for index, (at, row) in enumerate(zip(grid, rows, strict=True)):
            after = bent[index + 1] if index + 1 < len(bent) else None
            if not before == bent[index] == after:
                self._add(at, row)
                self._here = row
            before = bent[index]

    def _add(self, at: int, row: Floats) -> None:
        if at > self.rows[-1][0]:
            self.rows.append((at, row))

    def _bent(self, contact: Contact, at: int) -> float:
        return contact.semitones_at(at - SAMPLE_RATE_HZ / contact.hz / 2)

    def _coefficients(self, contact: Contact, midi: int, at: int) -> Floats:
        bent = self._bent(contact, at)
        if bent == 0.0:
            return self._solve(_spot(contact, midi, 0))
        row: Floats = self._between_spots(contact, midi, np.array([bent]))[0]
        return row

    def _between_spots(self, contact: Contact, midi: int, bent: Floats) -> Floats:
        """Coefficients of a place bent by some semitones, shape (n, coefficients of both sides)."""
        quarters = bent * _PER_SEMITONE
        nodes = range(floor(quarters.min()), ceil(quarters.max()) + 1)
        table = np.array([self._solve(_spot(contact, midi, node)) for node in nodes])
        return np.stack([np.interp(quarters, list(nodes), column) for column in table.T], axis=1)


def _starts_at(contact: Contact) -> int:
    return contact.midi if contact.touch.slides_from is None else contact.touch.slides_from


def _spot(contact: Contact, midi: int, bent: int) -> Spot:
    return Spot(midi, contact.touch.muting is Muting.PALM, contact.touch.partial, bent)


def _solver(string: OpenString, voice: Voice) -> Callable[[Spot], Floats]:
    """Coefficients of both directions of motion at a spot, shape (8,)."""

    @cache
    def solve(spot: Spot) -> Floats:
        return np.array([*_solve(string, voice, spot, 0), *_solve(string, voice, spot, 1)])

    return solve


def _solve(string: OpenString, voice: Voice, spot: Spot, side: int) -> tuple[float, float, float, float]:
    """Coefficients of one direction of motion, in the order of the kernel's columns."""
    wire = voice.wire_for(string.midi)
    length_m = string.length_mm / 1000
    stiffness = wire.inharmonicity(string.hz, length_m, string.sounding_mm(spot.midi) / 1000)
    decay = voice.decay.at(log2(string.hz / 110.0), spot.midi - string.midi)
    if spot.bent:
        stiffness /= 2.0 ** (spot.bent / _PER_SEMITONE / 6.0)
    if spot.is_muted:
        decay = Decay(decay.t60_s * PALM_T60, decay.bright_t60_s * PALM_BRIGHT_T60)
    pitch_hz = midi_to_hz(spot.midi)
    if spot.partial > 1:
        decay = _decay_of_partial(decay, pitch_hz, spot.partial)
        stiffness *= spot.partial**2
        pitch_hz *= spot.partial
    # The two directions lie on either side of the note, the louder one nearer, so that the mean is true.
    apart_cents = voice.sway.detune_cents * sqrt(110.0 / pitch_hz)
    second_share = voice.sway.level / (1 + voice.sway.level)
    bent_cents = 100.0 * spot.bent / _PER_SEMITONE
    pitch_hz *= 2.0 ** ((apart_cents * (side - second_share) + bent_cents) / 1200.0)
    if side and not spot.is_muted:  # flesh damps both directions alike
        factor = voice.sway.t60_factor
        decay = Decay(decay.t60_s * factor, decay.bright_t60_s * factor)
    loop = tune_loop(pitch_hz, stiffness, decay, sections_for(string.hz))
    return loop.delay, loop.gain, loop.pole, loop.dispersion


def _decay_of_partial(decay: Decay, pitch_hz: float, partial: int) -> Decay:
    """Decay of a string that sounds in parts: from its partial on as the whole string's.

    Between the fundamental and the bright frequency T60 falls along a straight line in logarithms.
    """
    share = log(partial) / max(log(partial), log(decay.bright_hz / pitch_hz))
    return Decay(decay.t60_s * (decay.bright_t60_s / decay.t60_s) ** share, decay.bright_t60_s)
