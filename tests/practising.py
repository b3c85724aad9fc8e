"""Histories and simulated students for the tests of practice."""

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Final

from hypothesis import strategies as st

from fretwright.practice.history import (
    Fault,
    FaultKind,
    History,
    PracticeExercise,
    Remark,
    TakeSummary,
    Wishes,
)
from fretwright.practice.minutes import ItemKind
from fretwright.practice.plan import Plan, plan_of
from fretwright.score.tempo import Ladder

NOON: Final = datetime(2031, 3, 3, 12, 0, tzinfo=UTC)
"""A Monday."""
LADDER: Final = Ladder(60, 104)
"""60, 64, 69, 74, 79, 85, 91, 97, 104."""


def exercise(
    name: str = "01-harbour/steps", *, is_music: bool = False, goal: float = 104
) -> PracticeExercise:
    lesson, _, own = name.partition("/")
    return PracticeExercise(
        name, own.replace("-", " ").capitalize(), lesson, Ladder(60, goal), 16.0, is_music
    )


COURSE: Final = (
    exercise("01-harbour/steps"),
    exercise("01-harbour/ropes", goal=88),
    exercise("02-pier/planks"),
    exercise("02-pier/lamps", goal=96),
    exercise("02-pier/shanty", is_music=True, goal=84),
    exercise("03-boat/oars"),
    exercise("03-boat/wake", is_music=True),
    exercise("04-swell/rolling", goal=80),
)


def take(
    at: datetime = NOON,
    *,
    bpm: float = 60,
    clean: bool = True,
    of: str = "01-harbour/steps",
    bar: int | None = 2,
    kind: FaultKind = FaultKind.NOTES,
    name: str | None = None,
) -> TakeSummary:
    """One take; one that is not clean has a fault."""
    faults = () if clean else (Fault(kind, bar, 2),)
    return TakeSummary(
        name or f"{of}@{at.isoformat()}#{bpm:g}{clean:d}", of, at, bpm, bpm, clean, faults, 14.0, 500.0, -4.0
    )


def run(
    results: str, *, bpm: float = 60, of: str = "01-harbour/steps", start: datetime = NOON
) -> list[TakeSummary]:
    """Takes a minute apart at one tempo: ``+`` clean, ``-`` not."""
    return [
        take(start + timedelta(minutes=index), bpm=bpm, clean=sign == "+", of=of)
        for index, sign in enumerate(results)
    ]


def takes_of(exercises: Sequence[PracticeExercise] = COURSE) -> st.SearchStrategy[TakeSummary]:
    """Any take of any exercise within half a year."""
    moments = st.datetimes(datetime(2031, 1, 1), datetime(2031, 6, 30), timezones=st.just(UTC))  # noqa: DTZ001 - hypothesis wants naive bounds
    return st.builds(
        take,
        moments,
        bpm=st.sampled_from([50, *LADDER.rungs, 120]),
        clean=st.booleans(),
        of=st.sampled_from([each.name for each in exercises]),
        bar=st.none() | st.integers(1, 4),
        kind=st.sampled_from(FaultKind),
    )


def histories(most: int = 60) -> st.SearchStrategy[History]:
    """Takes and remarks in any order."""
    remarks = st.builds(
        Remark,
        st.sampled_from([each.name for each in COURSE]),
        st.none() | st.integers(1, 4),
        st.sampled_from(["Thumb behind the neck.", "Lighter.", "Listen to the last note."]),
        st.datetimes(datetime(2031, 1, 1), datetime(2031, 6, 30), timezones=st.just(UTC)),  # noqa: DTZ001 - as above
    )
    return st.builds(
        History,
        st.lists(takes_of(), max_size=most).map(tuple),
        st.lists(remarks, max_size=4).map(tuple),
    )


@dataclass
class Learner:
    """A simulated student: for each exercise a tempo at which every second take comes clean.

    A night between two days of practice consolidates; weeks without practice take some of it back; nobody
    gets beyond their own limit. The numbers are invented: the rules must hold for any of them.
    """

    seed: int
    gain: float = 0.035
    """Share of the way to the limit that a day of practice adds."""
    limit_bpm: float = 150.0
    start_bpm: float = 58.0
    width_bpm: float = 4.0
    """How sharp the edge is between what comes and what does not."""
    able: dict[str, float] = field(default_factory=dict)
    last: dict[str, datetime] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.chance = random.Random(self.seed)

    def plays(self, name: str, bpm: float, at: datetime) -> TakeSummary:
        """One take, clean or not, and what is learned from it overnight."""
        able = self.able.setdefault(name, self.start_bpm)
        rested = at - self.last.get(name, at - timedelta(days=1))
        if rested > timedelta(hours=12):
            forgotten = max(0, rested.days - 10) * 0.2
            able = self.able[name] = max(self.start_bpm, able - forgotten) + self.gain * (
                self.limit_bpm - able
            )
        self.last[name] = at
        clean = self.chance.random() < 1 / (1 + math.exp((bpm - able) / self.width_bpm))
        return take(at, bpm=bpm, clean=clean, of=name, bar=1 + self.chance.randrange(4))


def practise(
    learner: Learner,
    days: int,
    *,
    minutes: int = 20,
    zone: tzinfo = UTC,
    skips: float = 0.0,
    course: Sequence[PracticeExercise] = COURSE,
) -> tuple[History, list[Plan]]:
    """Follow the plan day after day, recording what it says to record."""
    takes: list[TakeSummary] = []
    plans: list[Plan] = []
    for day in range(days):
        now = NOON + timedelta(days=day, minutes=learner.chance.randrange(-240, 240))
        if learner.chance.random() < skips:
            continue
        plan = plan_of(course, History(tuple(takes)), Wishes(now, zone, minutes))
        plans.append(plan)
        for item in plan.items:
            if item.exercise is None or item.kind is ItemKind.WARM_UP:
                continue
            for _ in range(2 if item.kind is ItemKind.CLIMB else 1):
                now += timedelta(minutes=1)
                takes.append(learner.plays(item.exercise.name, item.tempos[-1], now))
    return History(tuple(takes)), plans
