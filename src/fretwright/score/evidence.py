"""What a recording was understood from, as data that any stage may draw: evidence beside the written notes.

Whoever listens fills it in; whoever draws it knows nothing of how it was found.
"""

from dataclasses import dataclass

from fretwright.score.marks import MarkShape


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment at which a note may start."""

    time_s: float
    odds: tuple[float, ...]
    """Natural logarithms of the odds that a note of each pitch starts there, from the lowest one up."""


@dataclass(frozen=True, slots=True)
class Found:
    """A sounding that was found in the recording."""

    time_s: float
    midi: int


@dataclass(frozen=True, slots=True)
class NoteEvidence:
    """One written note: where it was looked for, what was found, and why that was said."""

    note_id: str
    name: str
    """Its pitch, as the key spells it."""
    midi: int
    """Of its pitch in the recording."""
    due_s: float
    """Where it was found, or where its neighbours put it."""
    found: Found | None
    shape: MarkShape | None
    """Of a note that was not played as written, or of which nothing can be told."""
    reasons: tuple[str, ...]
    """What was said of it and what spoke for that and against it, the verdict first."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything that one take was understood from. All times are the recording's own."""

    headline: str
    length_s: float
    step_s: float
    """Between the values of each of the three courses."""
    levels_db: tuple[float, ...]
    """Against the loudest moment."""
    rises: tuple[float, ...]
    """How strongly the recording seems plucked; about 1 for a clear pluck."""
    changes: tuple[float, ...]
    """How strongly its partials move; about 1 for a clear slur."""
    lowest_midi: int
    pitch_names: tuple[str, ...]
    """Of all pitches from the lowest up."""
    moments: tuple[Moment, ...]
    notes: tuple[NoteEvidence, ...]
    """Of the time through that is judged."""
    way: tuple[Found, ...] = ()
    """Through what was found of it, one for each moment at which notes start: of a chord the lowest."""
    too_many: tuple[Found, ...] = ()
    others: tuple[tuple[Found, ...], ...] = ()
    """Other times through, or parts of them."""
