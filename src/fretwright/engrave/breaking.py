"""Where the systems end: the breaks with the least total badness over the whole score.

Every break is weighed by how far the force that fills its system is from the natural one, as in the
optimal breaking of paragraphs (D. E. Knuth and M. F. Plass, "Breaking paragraphs into lines", Software:
Practice and Experience 11, 1981). The last system may stand loose. Only as many bars as could fit on one
system are tried from each start, so that time grows in proportion to the score.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, log2
from typing import Final

from fretwright.engrave.spacing import Spring, force_to_fill, least_total

COMPRESSION_WEIGHT: Final = 3.0
"""Crowding looks worse than looseness."""
SYSTEM_COST: Final = 0.16
"""Each system costs height."""
TORN_ARC_COST: Final = 0.12
"""A slur or tie that a break cuts in two."""
SHORT_LAST_COST: Final = 2.5
"""The last system standing nearly empty."""
LOOSEST_FORCE: Final = 1.9
"""A last system looser than this looks empty."""
OVERFULL_COST: Final = 1000.0


@dataclass(frozen=True, slots=True)
class BarRoom:
    """What line breaking has to know of a bar."""

    springs: tuple[Spring, ...]
    fixed: float
    """Width that does not stretch: signs at its start, bar line."""
    at_start: float
    """Further width where it opens a system: clef, key signature."""
    at_end: float
    """Further width where it closes a system: the time signature that the next bar brings."""
    torn_arcs: int
    """Slurs and ties that run over its end."""


def break_into_systems(bars: Sequence[BarRoom], width: float) -> tuple[tuple[int, int], ...]:
    """The systems as (first, last + 1) indices of bars.

    A bar that is too wide for a system of its own still gets one; it is then set as narrow as its ink
    allows.
    """
    best: list[tuple[float, int]] = [(0.0, 0)] + [(inf, 0)] * len(bars)
    for start in range(len(bars)):
        springs: list[Spring] = []
        fixed = bars[start].at_start
        least = fixed
        for end in range(start + 1, len(bars) + 1):
            bar = bars[end - 1]
            springs.extend(bar.springs)
            fixed += bar.fixed
            least += bar.fixed + least_total(bar.springs)
            if least > width and end > start + 1:
                break
            cost = best[start][0] + _badness(springs, width - fixed - bar.at_end, last=end == len(bars))
            cost += TORN_ARC_COST * bar.torn_arcs if end < len(bars) else 0.0
            if cost < best[end][0] - 1e-9:
                best[end] = (cost, start)
    systems: list[tuple[int, int]] = []
    end = len(bars)
    while end:
        systems.append((best[end][1], end))
        end = best[end][1]
    return tuple(reversed(systems))


def _badness(springs: Sequence[Spring], room: float, *, last: bool) -> float:
    force = force_to_fill(springs, room)
    if force <= 0:
        return SYSTEM_COST + OVERFULL_COST
    if last and force > 1:
        empty = 1 - min(1.0, LOOSEST_FORCE / force)
        return SYSTEM_COST + SHORT_LAST_COST * empty * empty
    strain = log2(force)
    return SYSTEM_COST + (strain * strain if strain > 0 else COMPRESSION_WEIGHT * strain * strain)
