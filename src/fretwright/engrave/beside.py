"""What stands beside a column: grace notes, bends, rakes, rolls, slides to nowhere, notes of a trill.

All x count from the column's axis; staff and tab share the places of grace notes, so that they stand under
each other. ``beside_room.py`` finds the places, ``asides.py`` and ``tab_bends.py`` draw what stands there.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from fretwright.score.note import Note
from fretwright.score.techniques import Roll

SLIDE_LENGTH: Final = 1.1
"""Of the stroke of a slide without a second note."""
TRILL_GAP: Final = 0.14
GOAL_BRACKET: Final = 0.3
"""Width of each bracket of a bend's goal with its white."""

Move = Literal["up", "down", "set"]
"""A bend rises, falls, or is there before the note is struck."""


@dataclass(frozen=True, slots=True)
class GraceHead:
    """One grace note."""

    note: Note
    """The note it belongs to."""
    index: int
    """Its place among the grace notes of that note."""
    step: int
    accidental: str | None
    dx: float = 0.0
    """How far it stands right of its axis, on the other side of the stem from a neighbour."""
    sign_dx: float = 0.0
    """How far its accidental stands further to the left than that of a lone head."""

    @property
    def text(self) -> str:
        """Its fret."""
        return str(self.note.techniques.graces[self.index].place.fret)


@dataclass(frozen=True, slots=True)
class GraceSlot:
    """Grace notes that sound together."""

    dx: float
    """Of their axis."""
    voice: int
    heads: tuple[GraceHead, ...]
    """From the lowest step up."""
    up: bool = True
    """Which way the stem points."""


@dataclass(frozen=True, slots=True)
class Goal:
    """The small head that says on the staff how far a note is bent."""

    note: Note
    start: float
    """Where the stroke from the note begins, from the axis."""
    dx: float
    """Of the left edge of its bracket."""
    step: int | None
    """``None`` for an amount that no written pitch stands for."""
    accidental: str | None


@dataclass(frozen=True, slots=True)
class BendMove:
    """One stroke of a bend's arrow in the tab."""

    kind: Move
    amount: str
    """Printed at its tip; empty where it comes back to the fretted pitch."""
    dx: float
    """Of its tip."""


@dataclass(frozen=True, slots=True)
class TabBend:
    """The arrows of one note."""

    note: Note
    dx: float
    """Where the first begins."""
    moves: tuple[BendMove, ...]


@dataclass(frozen=True, slots=True)
class RollSign:
    """The wave before a rolled chord."""

    roll: Roll
    notes: tuple[Note, ...]
    """All that are rolled, from the lowest string up."""
    dx: float
    """Of its middle on the staff."""
    tab_dx: float
    """Of its middle in the tab."""


@dataclass(frozen=True, slots=True)
class Beside:
    """All that stands beside one column, and how far it reaches."""

    left: float
    right: float
    tab_left: float
    tab_right: float
    graces: tuple[GraceSlot, ...] = ()
    """From left to right."""
    goals: tuple[Goal, ...] = ()
    bends: tuple[TabBend, ...] = ()
    slides_in: tuple[tuple[Note, float, float], ...] = ()
    """Note, and the right end of its stroke on the staff and in the tab."""
    slides_out: tuple[tuple[Note, float, float], ...] = ()
    """Note, and the left end of its stroke on the staff and in the tab."""
    rakes: tuple[tuple[Note, tuple[tuple[int, float], ...]], ...] = ()
    """Note, and the strings and places of its muted strings."""
    rolls: tuple[RollSign, ...] = ()
    has_auxiliary: bool = False
    """Whether the other note of a trill stands beside its number."""

    @property
    def is_crowded(self) -> bool:
        """Whether anything stands there at all."""
        return self.is_wide or bool(self.goals or self.bends or self.slides_out) or self.has_auxiliary

    @property
    def is_wide(self) -> bool:
        """Whether anything stands left of the heads and numbers themselves."""
        return bool(self.graces or self.slides_in or self.rakes or self.rolls)


def amount_text(semitones: Fraction) -> str:
    """How far a bend goes, in tones as the trade prints it: ``full``, ``½``, ``1½``."""
    if semitones == 2:
        return "full"
    whole, part = divmod(semitones / 2, 1)
    quarters = {Fraction(0): "", Fraction(1, 4): "¼", Fraction(1, 2): "½", Fraction(3, 4): "¾"}
    if part not in quarters:
        return f"{float(semitones / 2):g}"
    return f"{whole or ''}{quarters[part]}" or "0"


def plain_beside(left: float, right: float, reach: float) -> Beside:
    """A column with nothing beside it."""
    return Beside(left, right, reach, reach)


def small_sign_gap(steps: Sequence[int]) -> float:
    """White between a small head and its accidental, which keeps clear of a ledger line."""
    return 0.32 if min(steps) < -1 or max(steps) > 9 else 0.12
