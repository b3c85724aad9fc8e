"""What is written onto an exercise from outside the score, as data that any stage may draw or tell.

A mark hangs on a note's id. Whoever makes marks (a hearing, a teacher) decides on shapes and words; whoever
draws them knows nothing of where they come from.
"""

from dataclasses import dataclass
from enum import StrEnum


class MarkShape(StrEnum):
    """Shapes that are told apart without colour and at a small size."""

    RING = "ring"
    CROSS = "cross"
    LEFT = "left"
    """A triangle that points to the left."""
    RIGHT = "right"
    UP = "up"
    """A triangle that points upwards."""
    DOWN = "down"
    DIAMOND = "diamond"
    SQUARE = "square"
    PLUS = "plus"


@dataclass(frozen=True, slots=True)
class Mark:
    """A remark on one note."""

    note_id: str
    shape: MarkShape
    word: str
    """Short: it stands in the note's own column."""


@dataclass(frozen=True, slots=True)
class BetweenMark:
    """A remark on something that stands between two notes; one of them is ``None`` at either end."""

    after_id: str | None
    before_id: str | None
    shape: MarkShape
    word: str


@dataclass(frozen=True, slots=True)
class NoteTiming:
    """How far a note lies from the pulse."""

    note_id: str
    off_ms: float
    """Late (positive) or early."""
    band_ms: float
    """What nobody hears as late or early, either way."""


@dataclass(frozen=True, slots=True)
class NoteLevel:
    """How strong a note is."""

    note_id: str
    level_db: float
    """Against the middle of the plucked notes."""
    slurred: bool
    """Whether it is written as a slur."""


@dataclass(frozen=True, slots=True)
class MarkedScore:
    """All that is written onto one score. A note that sounds more than once may be named more than once."""

    headline: str
    """One or two sentences over everything."""
    marks: tuple[Mark, ...] = ()
    between: tuple[BetweenMark, ...] = ()
    timings: tuple[NoteTiming, ...] = ()
    levels: tuple[NoteLevel, ...] = ()
    meanings: tuple[tuple[MarkShape, str], ...] = ()
    """What each shape that occurs stands for."""
