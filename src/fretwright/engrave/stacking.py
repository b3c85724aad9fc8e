"""Systems under each other, as near as their skylines allow."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from fretwright.engrave.ink import Ink
from fretwright.engrave.style import SYSTEM_GAP
from fretwright.engrave.systems import SetSystem

MARGIN: Final = 0.6
"""White above the uppermost ink and below the lowest."""


@dataclass(frozen=True, slots=True)
class Stacked:
    """All systems in their places, in staff spaces."""

    ink: tuple[tuple[Ink, ...], ...]
    """The primitives of each system."""
    offsets: tuple[float, ...]
    """y of the top line of each system."""
    height: float


def stack(systems: Sequence[SetSystem]) -> Stacked:
    """Set each system :data:`SYSTEM_GAP` below the one before, measured between their skylines."""
    y = systems[0].upper.outermost + MARGIN
    offsets = [y]
    for above, below in pairwise(systems):
        clear = above.lower.distance_to(below.upper) + SYSTEM_GAP / 2
        lines = above.bottom + SYSTEM_GAP + max(0.0, -below.top)
        y += max(clear, lines)
        offsets.append(y)
    height = y + systems[-1].lower.outermost + MARGIN
    ink = tuple(
        tuple(each.moved(0.0, at + dy) for dy, part in system.ink for each in part)
        for system, at in zip(systems, offsets, strict=True)
    )
    return Stacked(ink, tuple(offsets), height)
