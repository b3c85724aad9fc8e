"""Rows of marks: each shape in its note's column, its word beneath, in the first row that has room."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from fretwright.engrave.heard_pieces import RADIUS_MM, WORD_MM, Piece, letters, shape, width_of
from fretwright.score.marks import MarkShape

_ROW_MM: Final = 2 * RADIUS_MM + WORD_MM + 1.5
_WORD_BELOW_MM: Final = RADIUS_MM + 0.5 + 0.72 * WORD_MM
_GAP_MM: Final = 0.9
"""Least white between two words."""


@dataclass(frozen=True, slots=True)
class PlacedMark:
    """A mark whose column is known."""

    x_mm: float
    shape: MarkShape
    word: str
    note_id: str | None


@dataclass(slots=True)
class _Row:
    taken: list[tuple[float, float]] = field(default_factory=list)

    def takes(self, left: float, right: float) -> bool:
        if any(left < end + _GAP_MM and start < right + _GAP_MM for start, end in self.taken):
            return False
        self.taken.append((left, right))
        return True


def set_rows(marks: Sequence[PlacedMark], top_mm: float, width_mm: float) -> tuple[list[Piece], float]:
    """The pieces of all marks of one system, and the lower edge of the last row.

    A word is centred under its shape, and pushed inwards where it would leave the plate.
    """
    rows: list[_Row] = []
    pieces: list[Piece] = []
    for mark in sorted(marks, key=lambda mark: mark.x_mm):
        wide = width_of(mark.word)
        left = min(max(0.0, mark.x_mm - wide / 2), width_mm - wide)
        span = min(left, mark.x_mm - RADIUS_MM), max(left + wide, mark.x_mm + RADIUS_MM)
        number = next((i for i, row in enumerate(rows) if row.takes(*span)), len(rows))
        if number == len(rows):
            rows.append(_Row([span]))
        y = top_mm + number * _ROW_MM + RADIUS_MM
        pieces.append(shape(mark.shape, mark.x_mm, y, mark.note_id))
        pieces.append(letters("word", mark.word, left, y + _WORD_BELOW_MM, note_id=mark.note_id))
    return pieces, top_mm + len(rows) * _ROW_MM
