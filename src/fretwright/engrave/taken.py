"""Ink that is in the way, found by place: what stands near a stretch of the line."""

from collections.abc import Iterable, Sequence
from math import floor
from typing import Final

from fretwright.engrave.ink import Box, Ink

_BUCKET: Final = 2.0
"""Width of the stretches that boxes are kept by, in staff spaces."""


class Taken:
    """Boxes by the place of their left edge. Not a value: adding changes it."""

    __slots__ = ("_by_place", "_widest")

    def __init__(self, ink: Iterable[Ink] = ()) -> None:
        """All boxes of some ink."""
        self._by_place: dict[int, list[Box]] = {}
        self._widest = 0.0
        self.add_ink(ink)

    def add_ink(self, ink: Iterable[Ink]) -> None:
        """Let primitives stand in it."""
        for each in ink:
            self.add(each.boxes)

    def add(self, boxes: Iterable[Box]) -> None:
        """Let boxes stand in it."""
        for box in boxes:
            self._by_place.setdefault(floor(box.left / _BUCKET), []).append(box)
            self._widest = max(self._widest, box.right - box.left)

    def near(self, left: float, right: float) -> list[Box]:
        """The boxes that have a part between two places."""
        first, last = floor((left - self._widest) / _BUCKET), floor(right / _BUCKET)
        return [
            box
            for place in range(first, last + 1)
            for box in self._by_place.get(place, ())
            if box.right > left and box.left < right
        ]


def count_met(pieces: Sequence[Box], boxes: Sequence[Box]) -> int:
    """How many pairs of a piece and a box share ink; 0 where the pieces are clear.

    The innermost loop of placing arcs, written out for speed: most boxes are not even near.
    """
    left, right = min(piece.left for piece in pieces), max(piece.right for piece in pieces)
    top, bottom = min(piece.top for piece in pieces), max(piece.bottom for piece in pieces)
    near = [
        box
        for box in boxes
        if box.left < right and box.right > left and box.top < bottom and box.bottom > top
    ]
    return sum(piece.meets(box) for box in near for piece in pieces) if near else 0
