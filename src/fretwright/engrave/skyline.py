"""A skyline: how far ink reaches on one side of a system, place by place.

x is cut into slices a quarter of a staff space wide. Each remembers the outermost ink; marks are then set
just outside it. Distances grow outwards, so that one class serves the upper and the lower side: ``sign``
is -1 above (y runs downwards) and 1 below.
"""

from collections.abc import Iterable
from math import ceil, inf
from typing import Final

from fretwright.engrave.ink import Box, Ink

SLICES_PER_SPACE: Final = 4


class Skyline:
    """The outer edge of everything added so far. Not a value: adding changes it."""

    __slots__ = ("_reach", "_sign", "width")

    def __init__(self, width: float, sign: int) -> None:
        """An empty skyline over x from 0 to ``width``."""
        self.width = width
        self._sign = sign
        self._reach = [-inf] * (ceil(width * SLICES_PER_SPACE) + 2)

    def add(self, box: Box) -> None:
        """Let a box stand in it."""
        self._raise((box,))

    def add_ink(self, ink: Iterable[Ink]) -> None:
        """Let primitives stand in it."""
        self._raise(box for each in ink for box in each.boxes)

    def moved(self, dy: float) -> "Skyline":
        """The same edge further down."""
        other = Skyline(self.width, self._sign)
        other._reach = [reach + self._sign * dy for reach in self._reach]
        return other

    @staticmethod
    def add_to_all(skylines: Iterable["Skyline"], ink: Iterable[Ink]) -> None:
        """Let primitives stand in several at once, their boxes being made only once."""
        boxes = [box for each in ink for box in each.boxes]
        for skyline in skylines:
            skyline._raise(boxes)  # noqa: SLF001 - its own kind

    def _raise(self, boxes: Iterable[Box]) -> None:
        """The innermost loop of engraving, written out for speed."""
        row, below, last = self._reach, self._sign > 0, len(self._reach) - 1
        for left, top, right, bottom in boxes:
            reach = bottom if below else -top
            index = int(left * SLICES_PER_SPACE) if left > 0 else 0
            end = ceil(right * SLICES_PER_SPACE)
            index, end = min(index, last), min(end, last + 1)
            while True:
                if row[index] < reach:  # noqa: PLR1730 - runs for every slice of every box
                    row[index] = reach
                index += 1
                if index >= end:
                    break

    def reach(self, left: float, right: float) -> float:
        """How far out the ink reaches between two places, as a distance on this side; -inf for none."""
        first, last = self._slices(left, right)
        return max(self._reach[first:last], default=-inf)

    def edge(self, left: float, right: float, gap: float, *, at_least: float) -> float:
        """The y that is ``gap`` outside of all ink between two places, and no nearer than ``at_least``."""
        return self._sign * max(self.reach(left, right) + gap, self._sign * at_least)

    def distance_to(self, other: "Skyline") -> float:
        """How far this lower side must stand above an upper side for the two just to touch."""
        touching = (mine + theirs for mine, theirs in zip(self._reach, other._reach, strict=True))  # noqa: SLF001 - its own kind
        return max(touching, default=-inf)

    @property
    def outermost(self) -> float:
        """The furthest reach anywhere."""
        return max(self._reach)

    def _slices(self, left: float, right: float) -> tuple[int, int]:
        count = len(self._reach)
        first = min(int(left * SLICES_PER_SPACE), count - 1) if left > 0 else 0
        return first, max(first + 1, min(count, ceil(right * SLICES_PER_SPACE)))
