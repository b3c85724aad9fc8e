"""What became of a written bend: where it arrived, when, and whether it came back.

A bend is judged by the pitch at which it rests, against the guitar's own tuning and not against the note's
own beginning: what a listener compares it with are the fretted notes around it. Where it hardly rests, the
furthest it goes counts.
"""

from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats
from fretwright.ear.curves import HOP_S, Curve
from fretwright.ear.verdicts import BendVerdict, HeardBend
from fretwright.score.techniques import Bend

OFF_CENTS: Final = 20.0
"""A bend further than this from where it should arrive is told; a trained ear hears some 10 to 20 cents in a
melody (from memory), and the ear's own error is up to 10."""
_ATTACK_S: Final = 0.03
"""The pitch of a string that was just struck is not yet its own."""
_SMOOTH_S: Final = 0.05
_SWING_S: Final = 0.19
"""One swing of a usual vibrato: its mean is the note's pitch."""
_KERNEL_CENTS: Final = 8.0
_REST_CENTS: Final = 15.0
_ROOM_CENTS: Final = 40.0
_LEAST_REST_S: Final = 0.08
_ARRIVED_CENTS: Final = 20.0
_START_S: Final = 0.10
_END_S: Final = 0.06


def heard_bend(curve: Curve, bend: Bend, *, swings: bool) -> HeardBend:
    """The bend that a curve shows, whose cents are above the fretted pitch.

    ``swings`` says that there is a vibrato on top of it, which is then averaged out.
    """
    asked = 100 * float(bend.peak)
    kept = curve.sure & (curve.times_s >= _ATTACK_S)
    if not curve.is_clear or kept.sum() * HOP_S < _LEAST_REST_S:
        return HeardBend(BendVerdict.UNSURE, asked)
    times_s, cents = curve.times_s[kept], curve.cents[kept]
    course = _smooth(cents, _SWING_S if swings else _SMOOTH_S)
    reached = _rest(course, _room_below(bend))
    off = reached - asked
    verdict = BendVerdict.REACHED if abs(off) <= OFF_CENTS else BendVerdict.SHORT
    if off > OFF_CENTS:
        verdict = BendVerdict.SHARP
    arrived = np.flatnonzero(course >= reached - _ARRIVED_CENTS)
    starts = times_s <= times_s[0] + _START_S
    ends = times_s >= times_s[-1] - _END_S
    start_off = float(np.median(cents[starts])) - 100 * float(bend.points[0].semitones)
    end_off = float(np.median(cents[ends])) - 100 * float(bend.target)
    return HeardBend(
        verdict,
        asked,
        round(reached, 1),
        round(off, 1),
        None if bend.starts_bent or not len(arrived) else round(1000 * float(times_s[arrived[0]]), 0),
        round(start_off, 1) if bend.starts_bent else None,
        round(end_off, 1) if bend.is_released else None,
    )


def _room_below(bend: Bend) -> float:
    """How far under its peak a bend rests nowhere else as written, in cents."""
    levels = sorted({float(point.semitones) for point in bend.points} | {0.0})
    return 50 * (levels[-1] - levels[-2])


def _smooth(cents: Floats, length_s: float) -> Floats:
    """A running mean of an odd number of moments, the ends held."""
    half = max(1, round(length_s / HOP_S) // 2)
    half = min(half, (len(cents) - 1) // 2)
    padded = np.pad(cents, half, mode="edge")
    sums = np.cumsum(np.concatenate([[0.0], padded]))
    out: Floats = (sums[2 * half + 1 :] - sums[: -2 * half - 1]) / (2 * half + 1)
    return out


def _rest(course: Floats, room_cents: float) -> float:
    """Where the top of a course rests: its commonest pitch there, or its summit where it does not rest."""
    summit = float(np.quantile(course, 0.98))
    room_cents = min(max(_ROOM_CENTS, room_cents), max(_REST_CENTS, summit / 2))
    top = course[course > summit - room_cents]
    grid = np.arange(top.min(), top.max() + 1.0)
    likeness = np.exp(-0.5 * np.square((grid[:, None] - top) / _KERNEL_CENTS)).sum(axis=1)
    commonest = float(grid[likeness.argmax()])
    resting = top[np.abs(top - commonest) < _REST_CENTS]
    return float(np.median(resting)) if len(resting) * HOP_S >= _LEAST_REST_S else summit
