"""What each hand does to each string, turned into the inputs of the string's loop.

A touch is one note on one string, in samples. Its neighbours on the same string decide how it starts
and ends:

* a pluck stops the string for a moment before it (pick or finger lies on it), then lets it go;
* a hammer-on shortens the sounding string within a few milliseconds and adds the small tap of a finger;
* a pull-off lengthens it and adds a small sideways release where the finger was;
* a slide passes every fret on its way and arrives on its own onset;
* a note that is followed by nothing is damped by flesh within a tenth of a second.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, partial
from itertools import pairwise
from math import log2, sqrt
from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ, midi_to_hz
from fretwright.score.note import Attack
from fretwright.sound import excitation
from fretwright.sound.arrays import Counts, Floats
from fretwright.sound.loop import Decay, sections_for, tune_loop
from fretwright.sound.voices import Voice

_FREE, _ASLEEP = 1.0, 0.0
_STOPPED: Final = 0.03
"""Factor per round trip while pick or finger lies on the string."""
_STOP_RAMP: Final = 150
_LET_GO: Final = 24
_RELEASE_T60_S: Final = 0.07
_RELEASE_RAMP: Final = 480
_RELEASE_SAMPLES: Final = 14_400
"""After this the string is at rest and costs nothing."""
_PLUCK_GLIDE: Final = 64
_SLUR_GLIDE: Final = 240
"""5 ms: what a finger takes from touching the string to pressing it on the fret."""
_LONGEST_SLIDE: Final = 7_200
_SLIDE_PER_FRET: Final = 1_700
_TAP_POINT_MM: Final = 60.0
"""A hammered finger moves the string over about this length before the fret."""
_TWO_HAND_TAP: Final = 2.0
"""A finger of the picking hand falls this much harder than one of the fretting hand."""
_S_CURVE: Final = ((0.0, 0.0), (0.25, 0.15625), (0.5, 0.5), (0.75, 0.84375), (1.0, 1.0))


@dataclass(frozen=True, slots=True)
class Touch:
    """One note on one string."""

    onset: int
    """Sample at which it starts."""
    end: int
    """Sample from which it is damped, unless another touch of the string comes first."""
    midi: int
    attack: Attack = Attack.PLUCK
    level: float = 1.0


@dataclass(frozen=True, slots=True)
class OpenString:
    """One string of an instrument, tuned but not stopped."""

    midi: int
    """Open pitch, without a capo."""
    length_mm: float

    @property
    def hz(self) -> float:
        """Open pitch."""
        return midi_to_hz(self.midi)

    def sounding_mm(self, midi: int) -> float:
        """Length that sounds as a pitch."""
        return self.length_mm * self.hz / midi_to_hz(midi)

    def echo(self, distance_mm: float) -> int:
        """Samples that a wave takes over a distance and back."""
        return excitation.echo_samples(distance_mm, self.hz, self.length_mm)


@dataclass(frozen=True, slots=True)
class StringPart:
    """Everything the kernel needs to sound one string."""

    track: Floats
    """Excitation, shape (n,)."""
    steps: Counts
    controls: tuple[Floats, Floats]
    """Coefficients of the two directions of motion, each (rows, columns of the kernel)."""
    sections: int
    pickup_delay: int


def string_part(string: OpenString, touches: Sequence[Touch], voice: Voice, samples: int) -> StringPart:
    """Plan one string's part; ``touches`` are in order of onset, ``samples`` is the length of the sound."""
    delay = string.echo(voice.pickup.from_bridge_mm) if voice.pickup else 0
    damping = _damping(touches, samples)
    lengths = _lengths(touches, samples)
    steps = np.unique(np.array([at for at, _ in damping] + [at for at, _ in lengths], dtype=np.int64))
    held = np.interp(steps, [at for at, _ in damping], [value for _, value in damping])
    sides = []
    for side in (0, 1):
        place = cache(partial(_place, string, voice, side))
        rows = np.array([_blend(place(s.start_midi), place(s.stop_midi), s.part) for _, s in lengths])
        columns = [np.interp(steps, [at for at, _ in lengths], rows[:, column]) for column in range(4)]
        sides.append(np.ascontiguousarray(np.stack([*columns, held], axis=1)))
    return StringPart(
        _track(string, touches, voice, samples),
        steps,
        (sides[0], sides[1]),
        sections_for(string.hz),
        delay,
    )


# ---------------------------------------------------------------------------------------------------------
# The sounding length


@dataclass(frozen=True, slots=True)
class _Share:
    """A length between two places: ``part`` of the way from one pitch to another."""

    start_midi: int
    stop_midi: int
    part: float


def _lengths(touches: Sequence[Touch], samples: int) -> list[tuple[int, _Share]]:
    """Breakpoints of the sounding length, in strictly rising order of time."""
    first = touches[0].midi
    rows: list[tuple[int, _Share]] = [(0, _Share(first, first, 1.0))]
    for before, touch in pairwise([touches[0], *touches]):
        if touch.midi == before.midi:
            continue
        glides = [(touch.onset, before.midi, touch.midi, _glide(touch))]
        if touch.attack is Attack.SLIDE:
            glides = _slide(before, touch)
        for start, low, high, length in glides:
            for when, part in _S_CURVE:
                at = start + round(when * length)
                if at > rows[-1][0]:
                    rows.append((at, _Share(low, high, part)))
    rows.append((max(samples, rows[-1][0] + 1), _Share(rows[-1][1].stop_midi, rows[-1][1].stop_midi, 1.0)))
    return rows


def _glide(touch: Touch) -> int:
    return _SLUR_GLIDE if touch.attack.is_slur else _PLUCK_GLIDE


def _slide(before: Touch, touch: Touch) -> list[tuple[int, int, int, int]]:
    """One short glide per fret, evenly spaced; the last one starts on the note's own onset."""
    frets = abs(touch.midi - before.midi)
    up = 1 if touch.midi > before.midi else -1
    spacing = _slide_samples(before, touch) // frets
    return [
        (
            touch.onset - (frets - 1 - step) * spacing,
            before.midi + up * step,
            before.midi + up * (step + 1),
            min(_SLUR_GLIDE, max(8, spacing)),
        )
        for step in range(frets)
    ]


def _slide_samples(before: Touch, touch: Touch) -> int:
    frets = abs(touch.midi - before.midi)
    return min(_LONGEST_SLIDE, frets * _SLIDE_PER_FRET, (touch.onset - before.onset) // 2)


_Coefficients = tuple[float, float, float, float]
"""Of one place, in the order of the kernel's columns."""


def _blend(start: _Coefficients, stop: _Coefficients, part: float) -> list[float]:
    return [low + part * (high - low) for low, high in zip(start, stop, strict=True)]


def _place(string: OpenString, voice: Voice, side: int, midi: int) -> _Coefficients:
    """Coefficients of one direction of motion at one place."""
    pitch_hz = midi_to_hz(midi)
    wire = voice.wire_for(string.midi)
    length_m = string.length_mm / 1000
    stiffness = wire.inharmonicity(string.hz, length_m, string.sounding_mm(midi) / 1000)
    decay = voice.decay.at(log2(string.hz / 110.0), midi - string.midi)
    # The two directions lie on either side of the note, the louder one nearer, so that the mean is true.
    apart_cents = voice.sway.detune_cents * sqrt(110.0 / pitch_hz)
    second_share = voice.sway.level / (1 + voice.sway.level)
    pitch_hz *= 2.0 ** (apart_cents * (side - second_share) / 1200.0)
    if side:
        factor = voice.sway.t60_factor
        decay = Decay(decay.t60_s * factor, decay.bright_t60_s * factor)
    loop = tune_loop(pitch_hz, stiffness, decay, sections_for(string.hz))
    return loop.delay, loop.gain, loop.pole, loop.dispersion


# ---------------------------------------------------------------------------------------------------------
# Damping


def _damping(touches: Sequence[Touch], samples: int) -> list[tuple[int, float]]:
    """Breakpoints of the damping, in strictly rising order of time."""
    rows: list[tuple[int, float]] = [(0, _ASLEEP if touches[0].onset > 0 else _FREE)]

    def add(at: int, value: float) -> None:
        if at > rows[-1][0]:
            rows.append((at, value))

    for touch, after in zip(touches, [*touches[1:], None], strict=True):
        if rows[-1][1] == _ASLEEP:
            add(touch.onset - 1, _ASLEEP)
            add(touch.onset, _FREE)
        else:
            add(touch.onset, rows[-1][1])
            add(touch.onset + _LET_GO, _FREE)
        next_onset = samples + _RELEASE_SAMPLES if after is None else after.onset
        stop = _stop_samples(touch, next_onset)
        if next_onset - touch.end > stop:
            _release(rows, touch, next_onset)
        elif after is not None and not after.attack.is_slur:
            add(next_onset - stop, _FREE)
            add(next_onset - stop + min(_STOP_RAMP, stop // 2), _STOPPED)
    add(max(samples, rows[-1][0] + 1), rows[-1][1])
    return rows


def _stop_samples(touch: Touch, next_onset: int) -> int:
    """How long the picking hand lies on the string before it plucks: one round trip and a little."""
    wanted = SAMPLE_RATE_HZ / midi_to_hz(touch.midi) + 1.5 * _STOP_RAMP
    return int(min(wanted, 0.3 * (next_onset - touch.onset)))


def _release(rows: list[tuple[int, float]], touch: Touch, next_onset: int) -> None:
    """Damp a note that nothing follows, and let the string sleep if there is time to."""
    start = max(touch.end, rows[-1][0] + 1)
    damped = max(_STOPPED, 10.0 ** (-3.0 / (midi_to_hz(touch.midi) * _RELEASE_T60_S)))
    asleep = start + _RELEASE_SAMPLES
    rows.append((start, _FREE))
    rows.append((start + _RELEASE_RAMP, damped))
    if asleep < next_onset - 2:
        rows.append((asleep, damped))
        rows.append((asleep + 1, _ASLEEP))


# ---------------------------------------------------------------------------------------------------------
# What is fed in


def _track(string: OpenString, touches: Sequence[Touch], voice: Voice, samples: int) -> Floats:
    track = np.zeros(samples)
    for before, touch in pairwise([touches[0], *touches]):
        _feed(track, string, before, touch, voice)
    return track


def _feed(track: Floats, string: OpenString, before: Touch, touch: Touch, voice: Voice) -> None:
    """Add what one touch feeds into the string, coming from the touch before it."""
    hands = voice.hands
    at, level = touch.onset, touch.level
    length_mm = string.sounding_mm(touch.midi)
    match touch.attack:
        case Attack.PLUCK:
            point = string.echo(min(hands.point_mm, 0.45 * length_mm))
            excitation.add_push(track, at, level, hands.contact_ms, point)
            excitation.add_scrape(track, at, level * hands.scrape_level, 4.0, at)
        case Attack.HAMMER_ON | Attack.TAP:
            level *= hands.tap_level * (_TWO_HAND_TAP if touch.attack is Attack.TAP else 1.0)
            excitation.add_push(track, at, level, hands.tap_ms, string.echo(_TAP_POINT_MM))
        case Attack.PULL_OFF:
            flicked = string.echo(max(10.0, length_mm - string.sounding_mm(before.midi)))
            excitation.add_push(track, at, level * hands.flick_level, hands.flick_ms, flicked)
        case Attack.SLIDE if touch.midi != before.midi:
            for bump, *_ in _slide(before, touch):
                excitation.add_push(
                    track, bump, level * hands.bump_level, hands.tap_ms, string.echo(_TAP_POINT_MM)
                )
            if voice.wire_for(string.midi).is_wound:
                length = _slide_samples(before, touch)
                excitation.add_squeak(track, at - length, level * hands.squeak_level, length, at)
