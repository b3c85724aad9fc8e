"""What a rule sees of one exercise, and how it says where something is."""

from dataclasses import dataclass

from fretwright.base.findings import Finding, Severity
from fretwright.base.spans import Span
from fretwright.course.model import Exercise, Lesson
from fretwright.fingering.finger import Fingered
from fretwright.score.note import Note
from fretwright.score.score import Score


@dataclass(frozen=True, slots=True)
class Case:
    """One exercise in front of a rule."""

    lesson: Lesson
    exercise: Exercise
    fingered: Fingered
    """By the hand that the check assumes."""
    largest: Fingered
    """By the largest hand."""

    @property
    def score(self) -> Score:
        """The exercise's score with fingers and strokes."""
        return self.fingered.score

    def span_of(self, *fields: str) -> Span:
        """Where the first of these keys that was written stands; else where the exercise opens."""
        written = (self.exercise.fields[name] for name in fields if name in self.exercise.fields)
        return next(written, self.exercise.span)

    def span_at(self, note: Note, *fields: str) -> Span:
        """Where a note stands in the text; for notes laid out by a rule, where that rule was written."""
        return note.source or self.span_of(*fields)

    def finding(self, code: str, severity: Severity, span: Span, message: str, mend: str) -> Finding:
        """A finding that belongs to this exercise."""
        return Finding(code, severity, span, message, mend, self.exercise.name)


def where(note: Note) -> str:
    """A note's place as a teacher says it: ``string 3, fret 9``."""
    return f"string {note.string}, fret {note.fret}"


def enumeration(words: list[str], most: int = 3) -> str:
    """``a, b and c``; past ``most`` the rest is only counted."""
    shown = words[:most]
    if len(words) > most:
        return f"{', '.join(shown)} and {len(words) - most} more"
    return " and ".join([", ".join(shown[:-1]), shown[-1]]) if len(shown) > 1 else "".join(shown)
