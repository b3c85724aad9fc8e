"""Room along the line: springs between columns, and one force that stretches them all.

Every gap between neighbouring columns is a spring. Its natural length follows the time it spans on an
optical curve, each doubling of the time widening it by :data:`DOUBLING`; its least length keeps the ink
of the two columns apart. A system of a given width finds the one force f at which the lengths
max(least, natural * f) fill it exactly. The spring model is that of J. S. Gourlay, "Spacing a line of music",
Ohio State University OSU-CISRC-10/87-TR35, 1987; the curve is common practice (no source).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

EIGHTH_WIDTH: Final = 3.4
"""Natural room for an eighth note."""
DOUBLING: Final = 1.4
"""Factor for twice the time; 2 would be proportional, 1 equal spacing."""


@dataclass(frozen=True, slots=True)
class Spring:
    """The room between two neighbouring columns."""

    natural: float
    least: float

    def length(self, force: float) -> float:
        """Its length under a force, 1 being natural."""
        return max(self.least, self.natural * force)


@lru_cache(maxsize=1024)
def natural_width(time: Fraction) -> float:
    """Room in staff spaces that looks right for a stretch of time."""
    return round(EIGHTH_WIDTH * math.pow(DOUBLING, math.log2(float(time) * 8)), 6)


def least_total(springs: Sequence[Spring]) -> float:
    """The narrowest a row of springs can be."""
    return sum(spring.least for spring in springs)


def force_to_fill(springs: Sequence[Spring], width: float) -> float:
    """The force at which the springs fill a width exactly; 0 where they cannot be as narrow as that.

    The total length is piecewise linear in the force, with a bend where each spring leaves its least
    length; the bends are passed in rising order until the width is met.
    """
    bends = sorted(springs, key=lambda spring: spring.least / spring.natural)
    stiff = least_total(springs)
    if not bends or stiff > width:
        return 0.0
    moving = 0.0
    for index, spring in enumerate(bends):
        stiff -= spring.least
        moving += spring.natural
        force = (width - stiff) / moving
        following = bends[index + 1].least / bends[index + 1].natural if index + 1 < len(bends) else None
        if following is None or force <= following:
            return force
    return 0.0
