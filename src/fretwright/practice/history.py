"""What the planner is told: exercises, judged takes, remarks, and what the student wishes."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, tzinfo
from enum import StrEnum

from fretwright.base.errors import UsageError
from fretwright.score.tempo import Ladder


class FaultKind(StrEnum):
    """What kind of thing is to be mended, in the order in which a teacher takes them up."""

    PLACE = "place"
    """Everything sounds higher or lower than written: a capo, a tuning, a position."""
    NOTES = "notes"
    """Wrong or left out."""
    SLURS = "slurs"
    """Plucked where a slur is written."""
    TIME = "time"
    """Uneven, or one note far from the pulse."""
    EXTRAS = "extras"
    """Notes too many."""
    DRIFT = "drift"
    """Faster or slower towards the end."""
    TUNE = "tune"
    """Bent out of tune by the fretting hand. It keeps nobody from the next tempo."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing to mend in one take."""

    kind: FaultKind
    bar: int | None
    """Where it is worst; ``None`` where it concerns the whole exercise."""
    count: int
    """How many notes of that bar it concerns; of the whole exercise where there is no bar."""


@dataclass(frozen=True, slots=True)
class TakeSummary:
    """What a plan needs to know of one judged take."""

    id: str
    """The same however often it arrives."""
    exercise: str
    """``lesson/exercise``."""
    at: datetime
    """When it was played, aware (:func:`~fretwright.practice.days.believed`)."""
    asked_bpm: float
    """The tempo the student set out to play."""
    played_bpm: float
    clean: bool
    """Every note came as written, in time (:func:`~fretwright.practice.faults.is_clean`)."""
    faults: tuple[Fault, ...] = ()
    """The gravest first."""
    spread_ms: float | None = None
    """Standard deviation of the notes' timing."""
    interval_ms: float | None = None
    """The usual distance of two notes, as played."""
    slur_db: float | None = None
    """Middle level of the slurred notes against the plucked; ``None`` without slurs."""


@dataclass(frozen=True, slots=True)
class PracticeExercise:
    """One exercise of the course, in so far as it is practised."""

    name: str
    """``lesson/exercise``."""
    title: str
    lesson: str
    """Slug of its lesson."""
    ladder: Ladder
    beats: float
    """How many beats it lasts, repeats taken."""
    is_music: bool = False
    """A lick or a piece, as opposed to a drill."""


@dataclass(frozen=True, slots=True)
class Remark:
    """What the teacher wrote on an exercise of this student."""

    exercise: str
    bar: int | None
    text: str
    at: datetime


@dataclass(frozen=True, slots=True)
class History:
    """All that is known of one student. Takes may come in any order and more than once."""

    takes: tuple[TakeSummary, ...] = ()
    remarks: tuple[Remark, ...] = ()

    def until(self, end: datetime) -> "History":
        """What lies before a moment, takes in order of time and each once."""
        return History(
            tuple(take for take in in_order(self.takes) if take.at < end),
            tuple(sorted((one for one in self.remarks if one.at < end), key=lambda one: (one.at, one.text))),
        )

    def of(self, exercise: str) -> tuple[TakeSummary, ...]:
        """The takes of one exercise, as they stand here."""
        return tuple(take for take in self.takes if take.exercise == exercise)


SHORTEST_MINUTES = 5
LONGEST_MINUTES = 120


@dataclass(frozen=True, slots=True)
class Wishes:
    """What one day's plan has to fit."""

    now: datetime
    """Aware."""
    zone: tzinfo
    """The student's own."""
    minutes: int
    """That the student has, breaks included."""
    releases: Mapping[str, datetime] | None = field(default=None, hash=False)
    """Lesson slug -> when it opens; a lesson that is not named stays shut. ``None``: all are open."""

    def __post_init__(self) -> None:
        if self.now.tzinfo is None:
            message = "a moment without a time zone cannot be planned from"
            raise UsageError(message)
        if not SHORTEST_MINUTES <= self.minutes <= LONGEST_MINUTES:
            message = f"no day of practice can be planned for {self.minutes} minutes"
            raise UsageError(message, f"Give {SHORTEST_MINUTES} to {LONGEST_MINUTES} minutes.")

    def is_open(self, lesson: str) -> bool:
        """Whether the student may see a lesson by now."""
        if self.releases is None:
            return True
        opens = self.releases.get(lesson)
        return opens is not None and opens <= self.now


def in_order(takes: Iterable[TakeSummary]) -> tuple[TakeSummary, ...]:
    """Takes in order of time, each id once: what was judged anew replaces nothing but itself.

    Of two summaries under one id that differ, the one that sorts last stands, whatever order they came in.
    """
    unique: dict[str, TakeSummary] = {}
    for take in takes:
        other = unique.setdefault(take.id, take)
        if other != take:
            unique[take.id] = max(other, take, key=_whole)
    return tuple(sorted(unique.values(), key=lambda take: (take.at, take.id)))


def not_after(takes: Iterable[TakeSummary], now: datetime) -> tuple[TakeSummary, ...]:
    """The same takes with none in the future: one that claims to be counts as played now.

    This happens where the server's own clock was set back.
    """
    return tuple(take if take.at <= now else replace(take, at=now) for take in takes)


def _whole(take: TakeSummary) -> tuple[object, ...]:
    return (take.at, take.exercise, take.asked_bpm, take.played_bpm, take.clean, repr(take))
