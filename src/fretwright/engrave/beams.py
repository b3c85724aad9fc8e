"""Stems and beams: which way they point, how long they are, how a beam slants.

From memory of engraving handbooks: a stem is an octave long and reaches at least the middle line; a beam
slants no more than its outer notes rise and never more than a space and a quarter, less where the notes
stand close, and lies flat over notes that turn back; inside the staff its edges sit on, hang from or
straddle the lines. Heights are chosen by least cost among all quarter-space positions.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from fretwright.engrave.pitches import MIDDLE_STEP, y_of
from fretwright.engrave.style import BEAM, BEAM_GAP, STEM_LENGTH

BEAM_STEP: Final = BEAM + BEAM_GAP
"""From one beam's middle to the next."""
_RISE_OF_STEPS: Final = (0.0, 0.25, 0.5, 0.75, 1.0, 1.0, 1.25)
"""Slant in spaces for an interval of so many steps between the outer notes."""
_STEEPEST: Final = 0.2
"""Spaces of rise for each space of width."""
_SHORTEST: Final = 2.6
"""From a head to the middle of the outer beam."""
_MIDDLE_LINE_Y: Final = 2.0
_CLEAR_OF_LEDGERS: Final = 0.5
"""How far a flagged stem from outside the staff passes the middle line, so that its flag ends on white."""
_ACCIDENTAL_REACH: Final = 1.9
"""How far left of a stem its accidental begins, where a rising beam is lower."""
_CLEAR_OF_HEAD: Final = 0.25
"""A flag under a head curls up towards it, which costs its stem this much length."""
_STAFF_BOTTOM_Y: Final = 4.0


def points_up(groups: Sequence[Sequence[int]]) -> bool:
    """Whether the stems of one column, or of all columns under one beam, point up.

    The note furthest from the middle line decides; between two as far, the majority; then down.
    """
    steps = [step for group in groups for step in group]
    above, below = max(steps) - MIDDLE_STEP, MIDDLE_STEP - min(steps)
    if above != below:
        return below > above
    balance = sum((step > MIDDLE_STEP) - (step < MIDDLE_STEP) for step in steps)
    return balance < 0


def single_tip(low: int, high: int, flags: int, *, up: bool) -> float:
    """The y of the free end of a stem of its own."""
    length = STEM_LENGTH + BEAM_STEP * max(0, flags - 2)
    beyond = _CLEAR_OF_LEDGERS if flags else 0.0
    if up:
        return min(y_of(high) - length, _MIDDLE_LINE_Y - (beyond if high < -2 else 0.0))
    return max(
        y_of(low) + length + (_CLEAR_OF_HEAD if flags else 0.0),
        _MIDDLE_LINE_Y + (beyond if low > 2 * MIDDLE_STEP + 2 else 0.0),
    )


def beam_ends(
    xs: Sequence[float], near: Sequence[int], flags: Sequence[int], tall: Sequence[float], *, up: bool
) -> tuple[float, float]:
    """The y of the middle of the outer beam at the first and the last stem.

    ``near`` holds for each stem the step of its head nearest to the beam, and ``tall`` how far the accidental
    of that head reaches from its middle towards the beam, 0 where there is none.
    """
    relative = tuple(round(x - xs[0], 1) for x in xs)
    if up:
        return _solve(relative, tuple(near), tuple(flags), tuple(tall))
    mirrored = _solve(relative, tuple(2 * MIDDLE_STEP - step for step in near), tuple(flags), tuple(tall))
    return _STAFF_BOTTOM_Y - mirrored[0], _STAFF_BOTTOM_Y - mirrored[1]


@lru_cache(maxsize=8192)
def _solve(
    xs: tuple[float, ...], steps: tuple[int, ...], flags: tuple[int, ...], tall: tuple[float, ...]
) -> tuple[float, float]:
    """The best beam above notes (stems up)."""
    ideal = [
        min(y_of(step) - _ideal_length(count), _MIDDLE_LINE_Y)
        for step, count in zip(steps, flags, strict=True)
    ]
    heads = [y_of(step) for step in steps]
    least = [
        max(
            _SHORTEST + BEAM_STEP * max(0, count - 2),
            reach and reach + 0.45 + BEAM_STEP * (max(count, before) - 1),
        )
        for count, before, reach in zip(flags, (0, *flags), tall, strict=False)
    ]
    shares = [x / xs[-1] for x in xs]
    levels = max(flags)
    wanted = _wanted_rise(xs, steps)
    highest = round(min(ideal) * 4) - 6
    lowest = round(sum(ideal) / len(ideal) * 4) + 6
    best = (float("inf"), 0.0, 0.0)
    for rise in _rises(wanted):
        slant_cost = 5.0 * (rise - wanted) ** 2
        for quarter in range(highest, lowest + 1):
            left = (quarter - round(rise * 2)) / 4
            right = left + rise
            cost = slant_cost + _edge_cost(left, levels) + _edge_cost(right, levels)
            drop = max(0.0, -rise / xs[-1]) * _ACCIDENTAL_REACH
            for share, head, target, shortest, reach in zip(shares, heads, ideal, least, tall, strict=True):
                y = left + share * rise
                off = y - target
                cost += 2.4 * off * off if off > 0 else 0.45 * off * off
                missing = shortest - head + y + (drop if reach else 0.0)
                if missing > 0:
                    cost += 60.0 * missing
            if cost < best[0] - 1e-9:
                best = (cost, left, right)
    return best[1], best[2]


def _ideal_length(count: int) -> float:
    return STEM_LENGTH - 0.25 + BEAM_STEP * max(0, count - 2) + (0.25 if count > 1 else 0.0)


def _wanted_rise(xs: Sequence[float], steps: Sequence[int]) -> float:
    """Signed slant (below zero rises to the right) before it is fitted to the lines."""
    first, last = steps[0], steps[-1]
    if first == last or _is_concave(steps):
        return 0.0
    rise = min(_RISE_OF_STEPS[min(abs(last - first), len(_RISE_OF_STEPS) - 1)], xs[-1] * _STEEPEST)
    return -rise if last > first else rise


def _is_concave(steps: Sequence[int]) -> bool:
    """Whether an inner note comes nearer to the beam than the outer ones, or the line turns back."""
    inner = steps[1:-1]
    outer = max(steps[0], steps[-1])
    return bool(inner) and (max(inner) > outer or (max(inner) == outer and len(inner) > 1))


def _rises(wanted: float) -> list[float]:
    sign = -1.0 if wanted < 0 else 1.0
    most = round(abs(wanted) * 4 + 0.49)
    return [sign * quarter / 4 for quarter in range(most + 1)]


def _edge_cost(y: float, levels: int) -> float:
    """Price of beams whose edges leave a sliver of white against a staff line."""
    cost = 0.0
    for level in range(levels):
        middle = y + level * BEAM_STEP
        if -BEAM / 2 < middle < _STAFF_BOTTOM_Y + BEAM / 2 and middle % 1.0 == 0.5:
            cost += 0.35
    return cost
