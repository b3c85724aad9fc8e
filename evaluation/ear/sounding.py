"""A performance turned into sound: recorded notes laid one after another, slurs made from them in two ways.

Neither way knows the package's own string model:

``crossfade``
    the running note fades within 4 ms into the sustain of a recording of the target pitch, past its
    attack, at the level the string has; ``jump`` the running recording goes on, read faster or slower by
    the interval from one moment to the next. Recordings last two seconds: where one ends before its slurs
    do, a ``crossfade`` carries them on.

A slide is made as the finger makes it, by slurs over every fret on the way; it arrives on its note's onset.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np
import soxr
from evaluation.ear.guitars import HIGHEST, LOWEST, RATE_HZ, STRENGTHS, Floats, recorded_note
from evaluation.ear.performing import Performance, Struck

_FADE_S: Final = 0.015
_CROSS_S: Final = 0.004
_PAST_ATTACK_S: Final = 0.16
_RING_S: Final = 1.6
_HEARD_S: Final = 0.35
"""So much of every note must be on the recording that it is read from, if the note lasts as long."""
_LEAST_SLUR: Final = 10 ** (-15 / 20)
"""Of its chain's pluck: a finger that comes down on a string, or leaves it, gives it that much however
long it has rung."""


def sound_of(
    performance: Performance,
    guitar: str,
    slurs: str,
    guitar_cents: float,
    rng: np.random.Generator,
    damped_s: float = np.inf,
) -> Floats:
    """The performance on one guitar, mono at :data:`RATE_HZ`, peak 0.5; ``slurs`` names the way above.

    ``damped_s`` is the time in which a hand on the strings takes a note down to a third.
    """
    struck = performance.struck
    end_s = max(one.onset_s + one.length_s for one in struck) + 0.8
    out = np.zeros(round((end_s + _RING_S) * RATE_HZ))
    for chain in _chains(struck):
        strength = STRENGTHS[int(rng.integers(len(STRENGTHS)))]
        ring_s = _ring(performance, chain)
        piece = _chain_sound(chain, guitar, strength, slurs, guitar_cents, ring_s)
        piece *= np.exp(-np.arange(len(piece)) / (damped_s * RATE_HZ))
        start = round(chain[0].onset_s * RATE_HZ)
        stop = min(len(out), start + len(piece))
        out[start:stop] += piece[: stop - start]
    out = out[: round(end_s * RATE_HZ)]
    out *= 0.5 / np.abs(out).max()
    return out


def _chains(struck: Sequence[Struck]) -> list[list[Struck]]:
    """Each pluck with the slurs that follow from it."""
    chains: list[list[Struck]] = []
    for one in struck:
        if one.slurred:
            chains[-1].append(one)
        else:
            chains.append([one])
    return chains


def _ring(performance: Performance, chain: list[Struck]) -> float:
    """How long the last note of a chain goes on after its written end: until its string is played again."""
    if not performance.manner.ringing:
        return 0.0
    last = chain[-1]
    end_s = last.onset_s + last.length_s
    again = [
        one.onset_s for one in performance.struck if one.onset_s > last.onset_s and one.string == last.string
    ]
    return min(_RING_S, max(0.0, min(again, default=end_s + _RING_S) - end_s))


def _tuned(guitar: str, midi: int, strength: int, cents: float) -> Floats:
    """A recorded note moved by some cents from equal temperament."""
    note = recorded_note(guitar, min(max(midi, LOWEST), HIGHEST), strength)
    moved: Floats = soxr.resample(
        note.samples, RATE_HZ * 2 ** ((cents - note.cents) / 1200), RATE_HZ, quality="MQ"
    )
    return moved


def _chain_sound(
    chain: list[Struck], guitar: str, strength: int, slurs: str, guitar_cents: float, ring_s: float
) -> Floats:
    total_s = sum(one.length_s for one in chain) + ring_s
    chain = _with_frets_passed(chain)
    if slurs == "jump":
        out = _jumped(chain, guitar, strength, guitar_cents, total_s)
    else:
        out = _crossfaded(chain, guitar, strength, guitar_cents, total_s)
    fade = min(round(_FADE_S * RATE_HZ), len(out) // 2)
    if fade:
        out[-fade:] *= np.linspace(1, 0, fade) ** 2
    return out


def _with_frets_passed(chain: Sequence[Struck]) -> list[Struck]:
    """The chain with a slur for every fret that a sliding finger passes before it arrives."""
    out = [chain[0]]
    for one in chain[1:]:
        before = out[-1]
        steps = abs(one.midi - before.midi)
        for step in range(1, steps if one.glides_s else 0):
            begins_s = one.onset_s - one.glides_s * (1 - step / steps)
            out[-1] = replace(out[-1], length_s=begins_s - out[-1].onset_s)
            midi = before.midi + step * (1 if one.midi > before.midi else -1)
            out.append(replace(one, onset_s=begins_s, midi=midi, level_db=0.0, glides_s=0.0))
            out[-1] = replace(out[-1], length_s=one.onset_s - begins_s)
        out.append(one)
    return out


def _level(one: Struck) -> float:
    return float(10 ** (one.level_db / 20))


def _fitted(samples: Floats, count: int) -> Floats:
    out = np.zeros(count)
    kept = min(count, len(samples))
    out[:kept] = samples[:kept]
    fade = min(400, kept)
    if kept < count and fade:
        out[kept - fade : kept] *= np.linspace(1, 0, fade)
    return out


def _crossfaded(
    chain: list[Struck], guitar: str, strength: int, guitar_cents: float, total_s: float
) -> Floats:
    count = round(total_s * RATE_HZ)
    first = chain[0]
    out = _fitted(_tuned(guitar, first.midi, strength, guitar_cents + first.cents), count) * _level(first)
    for one in chain[1:]:
        at = round((one.onset_s - first.onset_s) * RATE_HZ)
        target = _past_attack(guitar, one, strength, guitar_cents)
        _take_over(out, at, _fitted(target, max(0, count - at)), one, _level(first))
    return out


def _past_attack(guitar: str, one: Struck, strength: int, guitar_cents: float) -> Floats:
    return _tuned(guitar, one.midi, strength, guitar_cents + one.cents)[round(_PAST_ATTACK_S * RATE_HZ) :]


def _take_over(out: Floats, at: int, target: Floats, one: Struck, pluck: float) -> None:
    """Let a recording past its attack take over from what runs, at the level that it has."""
    near = round(0.04 * RATE_HZ)
    running = np.sqrt(np.mean(out[max(0, at - near) : at] ** 2) + 1e-12)
    ahead = np.sqrt(np.mean(target[:near] ** 2) + 1e-12)
    target = target * max(running, _LEAST_SLUR * pluck) / ahead * 10 ** (min(one.level_db, 1.0) / 20)
    cross = min(round(_CROSS_S * RATE_HZ), len(target))
    ramp = np.linspace(0, 1, cross)
    out[at : at + cross] = out[at : at + cross] * (1 - ramp) + target[:cross] * ramp
    out[at + cross :] = target[cross:]


def _jumped(chain: list[Struck], guitar: str, strength: int, guitar_cents: float, total_s: float) -> Floats:
    out = np.zeros(round(total_s * RATE_HZ))
    pluck = _level(chain[0])
    source = _tuned(guitar, chain[0].midi, strength, guitar_cents + chain[0].cents)
    for part in _carried(chain, len(source) / RATE_HZ):
        at = round((part[0].onset_s - chain[0].onset_s) * RATE_HZ)
        if part[0] is chain[0]:
            out = _read(part, source, len(out), pluck)
        else:
            source = _past_attack(guitar, part[0], strength, guitar_cents)
            _take_over(out, at, _read(part, source, len(out) - at, pluck), part[0], pluck)
    return out


def _carried(chain: list[Struck], recorded_s: float) -> list[list[Struck]]:
    """The chain in parts, each as long as one recording carries it when read at its notes' speeds."""
    parts, place_s, left_s = [[chain[0]]], 0.0, recorded_s
    for before, one in pairwise(chain):
        place_s += before.length_s * _speed(before, parts[-1][0])
        if place_s + min(one.length_s, _HEARD_S) * _speed(one, parts[-1][0]) > left_s:
            parts.append([one])
            place_s, left_s = 0.0, recorded_s - _PAST_ATTACK_S
        else:
            parts[-1].append(one)
    return parts


def _speed(one: Struck, first: Struck) -> float:
    return float(2 ** ((one.midi - first.midi + (one.cents - first.cents) / 100) / 12))


def _read(chain: list[Struck], source: Floats, count: int, pluck: float) -> Floats:
    """A recording read faster and slower; every slur is raised to the least that one has."""
    speed, gain = np.ones(count), np.full(count, _level(chain[0]))
    for one in chain[1:]:
        at = round((one.onset_s - chain[0].onset_s) * RATE_HZ)
        speed[at:] = _speed(one, chain[0])
        gain[at:] = gain[max(0, at - 1)] * 10 ** (min(one.level_db, 1.0) / 20)
    soft = np.hanning(round(0.003 * RATE_HZ))
    speed, gain = (
        np.convolve(np.pad(curve, len(soft), mode="edge"), soft / soft.sum(), mode="same")[
            len(soft) : -len(soft)
        ]
        for curve in (speed, gain)
    )
    at = np.cumsum(speed) - speed[0]
    read: Floats = np.interp(at, np.arange(len(source)), source, right=0.0)
    read *= gain
    for one in chain[1:]:
        start = round((one.onset_s - chain[0].onset_s) * RATE_HZ)
        near = read[start : start + round(0.04 * RATE_HZ)]
        running = float(np.sqrt(np.mean(near**2) + 1e-12))
        raised = max(1.0, min(_LEAST_SLUR * pluck / running, 100.0))
        lift = np.full(count - start, raised)
        lift[:176] = np.linspace(1, raised, 176)[: len(lift)]
        read[start:] *= lift
    return read
