"""Tempo, evenness and slurs over the weeks, as numbers and as sentences.

Weeks begin on Monday of the student's own calendar. A week without a take is absent, never drawn through.
Evenness is the spread of a take's notes around the player's own pulse, as a share of the interval between
them: musicians tap within some 2-4 % (from memory), and below 2.5 % or 6 ms nobody hears it (Friberg &
Sundberg, JASA 98, 1995), so a take steadier than that is shown at that line and not below.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo
from itertools import groupby
from statistics import median
from typing import Final

from fretwright.practice.days import practice_day, week_of
from fretwright.practice.faults import JUST_HEARD_MS, JUST_HEARD_SHARE
from fretwright.practice.history import History, PracticeExercise, Remark, TakeSummary, in_order
from fretwright.practice.standing import Standing, standing_of

_PERCENT: Final = 100.0


@dataclass(frozen=True, slots=True)
class Week:
    """One week of one exercise."""

    monday: date
    takes: int
    clean: int
    clean_bpm: float | None
    """Quickest take that came clean; ``None`` where none did."""
    tried_bpm: float
    """Quickest take of all."""
    uneven_percent: float | None
    """Middle spread of the notes, as a share of the interval between them."""
    slur_db: float | None
    """Middle level of slurs against plucks; ``None`` where there are none."""


@dataclass(frozen=True, slots=True)
class Way:
    """How one exercise went over the weeks."""

    exercise: PracticeExercise
    standing: Standing
    weeks: tuple[Week, ...]
    """In order of time; only those with a take."""
    remarks: tuple[Remark, ...]
    """What the teacher wrote on it, the newest first."""

    @property
    def sentence(self) -> str:
        """The same in words, for whoever cannot see a chart."""
        clean = [(week.monday, week.clean_bpm) for week in self.weeks if week.clean_bpm is not None]
        if not clean:
            return f"{_takes(sum(week.takes for week in self.weeks))} so far, none clean yet."
        (_, first), (_, last) = clean[0], clean[-1]
        goal = self.standing.rungs[-1]
        if len(clean) == 1:
            return f"Clean at {last:.0f} beats a minute; the goal is {goal}."
        weeks = (clean[-1][0] - clean[0][0]).days // 7
        over = f"{weeks} {'week' if weeks == 1 else 'weeks'}"
        if f"{first:.0f}" == f"{last:.0f}":
            return f"Clean at {last:.0f} beats a minute, and so {over} before; the goal is {goal}."
        return f"Clean at {first:.0f} beats a minute, {over} later at {last:.0f}; the goal is {goal}."


@dataclass(frozen=True, slots=True)
class Progress:
    """All that was practised."""

    exercises: tuple[Way, ...]
    """Those with a take or a remark, in the order of the course."""
    days: tuple[date, ...]
    """Every day on which something was recorded."""
    takes: int


def progress_of(course: Sequence[PracticeExercise], history: History, zone: tzinfo) -> Progress:
    """How it went, from a history in any order."""
    takes = in_order(history.takes)
    by_name: dict[str, list[TakeSummary]] = {}
    for take in takes:
        by_name.setdefault(take.exercise, []).append(take)
    remarks = sorted(set(history.remarks), key=lambda one: (one.at, one.text), reverse=True)
    exercises = []
    for exercise in course:
        own = by_name.get(exercise.name, [])
        said = tuple(one for one in remarks if one.exercise == exercise.name)
        if own or said:
            standing = standing_of(own, exercise.ladder)
            exercises.append(Way(exercise, standing, _weeks(own, zone), said))
    days = sorted({practice_day(take.at, zone) for take in takes})
    return Progress(tuple(exercises), tuple(days), len(takes))


def uneven_percent(take: TakeSummary) -> float | None:
    """Spread as a share of the interval, never below what can be heard; ``None`` where it is not known."""
    if take.spread_ms is None or not take.interval_ms:
        return None
    heard = max(JUST_HEARD_MS, JUST_HEARD_SHARE * take.interval_ms)
    return _PERCENT * max(take.spread_ms, heard) / take.interval_ms


def _weeks(takes: Sequence[TakeSummary], zone: tzinfo) -> tuple[Week, ...]:
    def monday(take: TakeSummary) -> date:
        return week_of(practice_day(take.at, zone))

    return tuple(_week(day, tuple(some)) for day, some in groupby(sorted(takes, key=monday), key=monday))


def _week(monday: date, takes: tuple[TakeSummary, ...]) -> Week:
    clean = [take.played_bpm for take in takes if take.clean]
    return Week(
        monday,
        len(takes),
        len(clean),
        max(clean, default=None),
        max(take.played_bpm for take in takes),
        _middle(uneven_percent(take) for take in takes),
        _middle(take.slur_db for take in takes),
    )


def _middle(values: Iterable[float | None]) -> float | None:
    told = [value for value in values if value is not None]
    return round(median(told), 2) if told else None


def _takes(count: int) -> str:
    return f"{count} {'take' if count == 1 else 'takes'}"
