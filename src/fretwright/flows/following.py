"""Following a class: who practised, who is stuck and where, and who has gone quiet.

The takes of each student as practice knows them enter; one line a student leaves, those who need the teacher
first. A student is stuck on an exercise where the ladder's own rule says so (thrown back from a rung again
and again), or where many takes in a row did not come clean; where, is the bar that their newest takes name
most.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from typing import Final

from fretwright.practice.days import practice_day
from fretwright.practice.history import PracticeExercise, TakeSummary, in_order
from fretwright.practice.standing import Standing, standing_of

WEEK: Final = 7
QUIET_DAYS: Final = 7
"""After so many days without a take a teacher asks what is the matter (common practice, no source)."""
FAILING_RUN: Final = 5
"""So many takes in a row that did not come clean are more than a bad evening (common practice, no source)."""
_LOOKED_AT: Final = 8
"""Of the newest takes that did not come clean, so many say where the trouble is."""


@dataclass(frozen=True, slots=True)
class Stuck:
    """An exercise on which a student does not get on."""

    exercise: str
    """``lesson/exercise``."""
    title: str
    bpm: int
    """The rung to practise at."""
    bar: int | None
    """Where it goes wrong most often; ``None`` where it concerns the whole."""
    failed_run: int
    """Takes in a row that did not come clean."""
    falls: int
    """How often the next rung threw them back."""

    @property
    def words(self) -> str:
        """``Night watch at 72, bar 2``, and why."""
        where = f", bar {self.bar}" if self.bar is not None else ""
        if self.failed_run >= FAILING_RUN:
            return f"{self.title} at {self.bpm}{where}: {self.failed_run} takes in a row not clean"
        return f"{self.title} at {self.bpm}{where}: thrown back {self.falls} times"


@dataclass(frozen=True, slots=True)
class Footing:
    """Where the takes of one student have led, whatever day it is: it changes with their takes alone."""

    moments: tuple[datetime, ...]
    """When each was played, in order."""
    goals_reached: int
    begun: int
    stuck: tuple[Stuck, ...]


@dataclass(frozen=True, slots=True)
class Member:
    """One student of the class."""

    id: int
    name: str
    zone: tzinfo
    footing: Footing
    enrolled_at: datetime


@dataclass(frozen=True, slots=True)
class Followed:
    """One student as the teacher follows them."""

    id: int
    name: str
    last_at: datetime | None
    """Of the newest take."""
    quiet_days: int
    """Since then, or since enrolling, in days of the student's own calendar."""
    days_in_week: int
    """Days of the last seven on which something was recorded."""
    takes_in_week: int
    goals_reached: int
    """Exercises that are at their goal."""
    begun: int
    """Exercises with a take."""
    stuck: tuple[Stuck, ...]

    @property
    def is_quiet(self) -> bool:
        """Whether nothing came for a week or longer."""
        return self.quiet_days >= QUIET_DAYS

    @property
    def state(self) -> str:
        """One word or two for a list."""
        if self.stuck:
            return "stuck"
        if self.is_quiet:
            return "quiet"
        return "getting on" if self.last_at else "not begun"


def footing_of(takes: Iterable[TakeSummary], exercises: Sequence[PracticeExercise]) -> Footing:
    """Where a student's takes have led on each exercise of the course."""
    ordered = in_order(takes)
    by_name: dict[str, list[TakeSummary]] = {}
    for take in ordered:
        by_name.setdefault(take.exercise, []).append(take)
    standings = [
        (exercise, standing_of(by_name[exercise.name], exercise.ladder))
        for exercise in exercises
        if exercise.name in by_name
    ]
    return Footing(
        moments=tuple(take.at for take in ordered),
        goals_reached=sum(standing.at_goal for _, standing in standings),
        begun=len(standings),
        stuck=tuple(
            stuck
            for exercise, standing in standings
            if (stuck := _stuck(exercise, standing, by_name[exercise.name])) is not None
        ),
    )


def follow(members: Iterable[Member], now: datetime) -> tuple[Followed, ...]:
    """The class, those who need the teacher first: stuck, then quiet, then the others, each by name."""
    order = {"stuck": 0, "quiet": 1, "not begun": 2, "getting on": 3}
    followed = (_followed(member, now) for member in members)
    return tuple(sorted(followed, key=lambda each: (order[each.state], each.name.casefold(), each.id)))


def _followed(member: Member, now: datetime) -> Followed:
    footing, today = member.footing, practice_day(now, member.zone)
    moments = footing.moments[: bisect_right(footing.moments, now)]
    last_at = moments[-1] if moments else None
    recent: list[date] = []
    for moment in reversed(moments):
        day = practice_day(moment, member.zone)
        if day <= today - timedelta(days=WEEK):
            break
        recent.append(day)
    last_day = practice_day(last_at or member.enrolled_at, member.zone)
    return Followed(
        id=member.id,
        name=member.name,
        last_at=last_at,
        quiet_days=max(0, (today - last_day).days),
        days_in_week=len({*recent}),
        takes_in_week=len(recent),
        goals_reached=footing.goals_reached,
        begun=footing.begun,
        stuck=footing.stuck,
    )


def _stuck(exercise: PracticeExercise, standing: Standing, takes: Sequence[TakeSummary]) -> Stuck | None:
    failed = 0
    for take in reversed(takes):
        if take.clean:
            break
        failed += 1
    if failed < FAILING_RUN and not standing.is_stuck:
        return None
    unclean = [take for take in takes if not take.clean][-_LOOKED_AT:]
    # The gravest fault of each take; of equals the earlier bar, where the trouble begins.
    bars = Counter(take.faults[0].bar for take in unclean if take.faults)
    bar = min(bars, key=lambda each: (-bars[each], each is None, each or 0), default=None)
    return Stuck(exercise.name, exercise.title, standing.bpm, bar, failed, standing.falls)
