"""What a course is once it has been read: lessons, their prose and their exercises."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from fretwright.base.errors import UsageError
from fretwright.base.findings import Finding
from fretwright.base.spans import Span
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.shapes import Shape
from fretwright.fretboard.tuning import Tuning
from fretwright.score.score import Score
from fretwright.score.tempo import Ladder


@dataclass(frozen=True, slots=True)
class Prose:
    """A stretch of the teacher's own words between two exercises."""

    markdown: str
    """CommonMark, as written."""
    span: Span
    """Its first line."""


@dataclass(frozen=True, slots=True)
class Exercise:
    """One thing to practise."""

    id: str
    """Unique in its lesson (``up-and-back``)."""
    lesson: str
    """Slug of its lesson (``07-river-shape``)."""
    title: str
    """As written, or made from the id."""
    score: Score
    """Notes with the fingers and strokes that the teacher fixed, and no others yet."""
    ladder: Ladder
    shape: Shape | None
    """The shape it was laid out from, where a rule gave one."""
    source: str | None
    """Id (``exercise`` or ``lesson/exercise``) of the exercise it was made from."""
    is_tab: bool
    """Written as text tab; otherwise as a rule."""
    remark: str
    """What the teacher adds under the plate, CommonMark; empty where nothing is added."""
    span: Span
    """The line that opens the block; ``text`` is the id."""
    is_chart: bool = False
    """A chart: chords in bars, printed as a lead sheet."""
    band: str | None = None
    """The feel of the backing band that plays along, where one is wanted."""
    fields: Mapping[str, Span] = field(default_factory=dict)
    """Where each key's value stands, for findings that speak of it."""

    @property
    def name(self) -> str:
        """``lesson/exercise``, as commands take it."""
        return f"{self.lesson}/{self.id}"


class TuningWay(StrEnum):
    """A way to tune."""

    TONES = "reference tones"
    """Each string to a tone that is heard."""
    FRETS = "frets"
    """Each string to a fretted one."""
    HARMONICS = "harmonics"
    """Each string to harmonics of another."""


@dataclass(frozen=True, slots=True)
class TuningBlock:
    """What a lesson says and sounds of tuning."""

    id: str
    """Unique in its lesson, among its exercises too."""
    lesson: str
    title: str
    tuning: Tuning
    ways: tuple[TuningWay, ...]
    """In the order in which they are told."""
    pegs_in_a_row: bool
    """Whether all pegs are on one side of the head."""
    left_handed: bool
    """Whether the instrument is strung for the left hand."""
    remark: str
    """What the teacher adds, CommonMark."""
    span: Span

    @property
    def name(self) -> str:
        """``lesson/id``."""
        return f"{self.lesson}/{self.id}"


LessonBlock = Prose | Exercise | TuningBlock
"""What a lesson consists of."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """One lesson: what a student watches, reads and practises until the next."""

    slug: str
    """File name without its ending (``07-river-shape``)."""
    title: str
    goal: str
    """What the student can do at the end, one sentence."""
    teaches: tuple[tuple[str, Span], ...]
    """Skills that it introduces, each with the place it is named."""
    needs: tuple[tuple[str, Span], ...]
    """Skills or lessons that must have come before."""
    blocks: tuple[LessonBlock, ...]
    """In reading order."""
    span: Span

    @property
    def tunings(self) -> tuple[TuningBlock, ...]:
        """The tuning blocks in reading order."""
        return tuple(block for block in self.blocks if isinstance(block, TuningBlock))

    @property
    def exercises(self) -> tuple[Exercise, ...]:
        """The exercises in reading order."""
        return tuple(block for block in self.blocks if isinstance(block, Exercise))


@dataclass(frozen=True, slots=True)
class Course:
    """A whole course as its folder holds it."""

    title: str
    teacher: str
    about: str
    """One paragraph for the course page, CommonMark; empty where none is given."""
    language: str
    """BCP 47 tag of the prose (``en``)."""
    neck: Neck
    days_between_lessons: int
    lessons: tuple[Lesson, ...]
    """In teaching order."""
    span: Span
    assumes: tuple[tuple[str, Span], ...] = ()
    """Skills that students bring along, each with the place it is named (``students know`` in the file)."""

    @property
    def exercises(self) -> Iterator[Exercise]:
        """All exercises in teaching order."""
        for lesson in self.lessons:
            yield from lesson.exercises

    def exercise(self, name: str) -> Exercise:
        """The exercise called ``lesson/exercise``.

        Raises :class:`~fretwright.base.errors.UsageError` if there is none.
        """
        for exercise in self.exercises:
            if exercise.name == name:
                return exercise
        known = ", ".join(exercise.name for exercise in self.exercises) or "none"
        message = f"there is no exercise {name!r} in this course"
        raise UsageError(message, f"Built exercises: {known}.")


@dataclass(frozen=True, slots=True)
class Reading:
    """What came of reading a course folder."""

    course: Course
    """All that could be read; what was broken is left out."""
    findings: tuple[Finding, ...]
    """In reading order."""
