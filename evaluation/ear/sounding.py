"""A performance turned into sound: recorded notes laid one after another, slurs made from them in two ways.

Neither way knows the package's own string model:

``crossfade``
    the running note fades within 4 ms into the sustain of a recording of the target pitch, past its
    attack, at the level the string has; ``jump`` the running recording goes on, read faster or slower by
    the interval from one moment to the next.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
import soxr
from evaluation.ear.guitars import HIGHEST, LOWEST, RATE_HZ, STRENGTHS, Floats, recorded_note
from evaluation.ear.performing import Performance, Struck

_FADE_S: Final = 0.015
_CROSS_S: Final = 0.004
_PAST_ATTACK_S: Final = 0.16
_RING_S: Final = 1.6
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
    first = chain[0]
    total_s = sum(one.length_s for one in chain) + ring_s
    if slurs == "jump":
        out = _jumped(chain, _tuned(guitar, first.midi, strength, guitar_cents + first.cents), total_s)
    else:
        out = _crossfaded(chain, guitar, strength, guitar_cents, total_s)
    fade = min(round(_FADE_S * RATE_HZ), len(out) // 2)
    if fade:
        out[-fade:] *= np.linspace(1, 0, fade) ** 2
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
        target = _tuned(guitar, one.midi, strength, guitar_cents + one.cents)[
            round(_PAST_ATTACK_S * RATE_HZ) :
        ]
        target = _fitted(target, max(0, count - at))
        near = round(0.04 * RATE_HZ)
        running = np.sqrt(np.mean(out[max(0, at - near) : at] ** 2) + 1e-12)
        ahead = np.sqrt(np.mean(target[:near] ** 2) + 1e-12)
        target *= max(running, _LEAST_SLUR * _level(first)) / ahead * 10 ** (min(one.level_db, 1.0) / 20)
        cross = min(round(_CROSS_S * RATE_HZ), len(target))
        ramp = np.linspace(0, 1, cross)
        out[at : at + cross] = out[at : at + cross] * (1 - ramp) + target[:cross] * ramp
        out[at + cross :] = target[cross:]
    return out


def _jumped(chain: list[Struck], source: Floats, total_s: float) -> Floats:
    count = round(total_s * RATE_HZ)
    speed, gain = np.ones(count), np.full(count, _level(chain[0]))
    for one in chain[1:]:
        at = round((one.onset_s - chain[0].onset_s) * RATE_HZ)
        speed[at:] = 2 ** ((one.midi - chain[0].midi + (one.cents - chain[0].cents) / 100) / 12)
        gain[at:] = gain[max(0, at - 1)] * 10 ** (min(one.level_db, 1.0) / 20)
    soft = np.hanning(round(0.003 * RATE_HZ))
    speed = np.convolve(np.pad(speed, len(soft), mode="edge"), soft / soft.sum(), mode="same")[
        len(soft) : -len(soft)
    ]
    gain = np.convolve(np.pad(gain, len(soft), mode="edge"), soft / soft.sum(), mode="same")[
        len(soft) : -len(soft)
    ]
    at = np.cumsum(speed) - speed[0]
    read: Floats = np.interp(at, np.arange(len(source)), source, right=0.0)
    read *= gain
    for one in chain[1:]:
        start = round((one.onset_s - chain[0].onset_s) * RATE_HZ)
        near = read[start : start + round(0.04 * RATE_HZ)]
        running = float(np.sqrt(np.mean(near**2) + 1e-12))
        raised = max(1.0, min(_LEAST_SLUR * _level(chain[0]) / running, 100.0))
        lift = np.ones(count - start)
        lift[:] = raised
        lift[:176] = np.linspace(1, raised, 176)[: len(lift)]
        read[start:] *= lift
    return read
