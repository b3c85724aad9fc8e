"""How one hand takes a few notes on one string: which fingers, and how far from its position.

The rule is common practice: one finger to a fret, the hand moving by a fret where a string asks for it,
a stretch only where four frets do not hold the notes. Costs are whole numbers without a unit, used only
to choose between layouts of the same notes; what a stretch measures in millimetres is the business of
the fingering layer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement, pairwise
from typing import Final

FINGERS: Final = (1, 2, 3, 4)
REACH_FRETS: Final = 3
"""Frets from the first to the fourth finger of a hand at rest."""
OPEN_POSITION: Final = 0
"""Position that stands for open strings with the first finger at fret 1."""

_MOVE_COST: Final = 100
"""The hand leaves its position by a fret for the length of one string."""
_STRETCH_COSTS: Final = {1: 150, 2: 200, 3: 180}
"""A fret more than natural between a finger and the next: the first finger reaches most easily."""
_SLIDE_COSTS: Final = {1: 410, 2: 420, 3: 420, 4: 400}
"""One finger takes two notes of the string in a row and slides a fret between them."""
_BEYOND_COST: Final = 100
"""Each fret past the fifth from first note to last: the hand has to jump in mid string."""
_LITTLE_FINGER_COST: Final = 1
"""Breaks ties in favour of the stronger fingers."""
_BELOW_COST: Final = 2
"""Breaks ties in favour of notes at or above the position, where a teacher looks for them."""


@dataclass(frozen=True, slots=True)
class Hold:
    """Fingers for the notes of one string."""

    fingers: tuple[int, ...]
    """A finger from 1 to 4 for each note, 0 for an open string."""
    cost: int
    """What it takes to leave the position or to stretch, and a little that only breaks ties."""

    @property
    def at_rest(self) -> bool:
        """Whether every note lies under the hand's own four frets (or open)."""
        return self.cost < _MOVE_COST


def first_finger_fret(position: int) -> int:
    """Fret under the first finger; in open position it is the first."""
    return max(position, 1)


@lru_cache(maxsize=4096)
def hold(frets: tuple[int, ...], position: int) -> Hold:
    """The easiest way for a hand in ``position`` to take ``frets``, rising, on one string."""
    stopped = tuple(fret for fret in frets if fret > 0)
    if not stopped:
        return Hold((0,) * len(frets), 0)
    resting = first_finger_fret(position)
    lowest, highest = stopped[0], stopped[-1]
    nearest, farthest = sorted((lowest, max(highest - REACH_FRETS, 1)))
    hand = min(max(resting, nearest), farthest)
    if highest - lowest <= REACH_FRETS:
        fingers, stretch = tuple(fret - hand + 1 for fret in stopped), 0
    else:
        fingers, stretch = _stretched(stopped)
    ties = _LITTLE_FINGER_COST * fingers.count(4) + _BELOW_COST * sum(fret < resting for fret in stopped)
    cost = _MOVE_COST * abs(hand - resting) + stretch + ties
    return Hold((0,) * (len(frets) - len(stopped)) + fingers, cost)


def _stretched(frets: Sequence[int]) -> tuple[tuple[int, ...], int]:
    """Fingers for notes that span more than four frets, and what the stretch costs."""
    choices = combinations_with_replacement(FINGERS, len(frets))
    priced = ((_stretch_cost(frets, fingers), fingers) for fingers in choices)
    cost, fingers = min((cost, fingers) for cost, fingers in priced if cost is not None)
    return fingers, cost + _BEYOND_COST * (frets[-1] - frets[0] - REACH_FRETS - 1)


def _stretch_cost(frets: Sequence[int], fingers: Sequence[int]) -> int | None:
    """Cost of one choice of fingers, or None where fingers would have to crowd into too few frets."""
    total = 0
    for (low_fret, low), (high_fret, high) in pairwise(zip(frets, fingers, strict=True)):
        if low == high:
            total += _SLIDE_COSTS[low] * (high_fret - low_fret)
            continue
        excess = high_fret - low_fret - (high - low)
        if excess < 0:
            return None
        total += excess * min(_STRETCH_COSTS[finger] for finger in range(low, high))
    return total
