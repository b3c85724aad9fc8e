"""Which exercise takes which part of the day.

Everything is chosen from what lay before the day began, so that the plan stands still while the day is
practised, on every device. An exercise takes one part of a day; only the one that is mended may be climbed as
well, where there is no other.

What research shows, and no more: a night between two times at the same exercise is kept (24 h gaps gained
accuracy where shorter ones did not; 29 players new to the piano: Simmons, Journal of Research in Music
Education 59, 2012). That mixing exercises helps was not found in applied settings (Czyz et al. 2024) and is
not claimed: the parts follow each other because they serve different ends.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from fretwright.practice.days import day_starts, practice_day
from fretwright.practice.history import (
    Fault,
    FaultKind,
    History,
    PracticeExercise,
    Remark,
    TakeSummary,
    Wishes,
    not_after,
)
from fretwright.practice.recall import Memory, memory_of
from fretwright.practice.standing import Standing, standing_of

UNDER_WAY: Final = 3
"""Exercises that are climbed in turns; more, and each comes too seldom (common practice, no source)."""
FRESH: Final = timedelta(days=21)
"""A fault heard longer ago than this is heard again before it is worked on."""


@dataclass(frozen=True, slots=True)
class Case:
    """One open exercise and all that is known of it when the day begins."""

    order: int
    """Its place in the course."""
    exercise: PracticeExercise
    standing: Standing
    memory: Memory | None
    takes: tuple[TakeSummary, ...]
    remarks: tuple[Remark, ...]

    @property
    def open_remark(self) -> Remark | None:
        """The teacher's last word, if nothing was recorded since."""
        if not self.remarks:
            return None
        last = self.remarks[-1]
        return last if not self.takes or last.at >= self.takes[-1].at else None

    @property
    def open_fault(self) -> Fault | None:
        """The gravest fault of the last take that concerns the hands, if it was not clean."""
        if not self.takes or self.takes[-1].clean:
            return None
        faults = [fault for fault in self.takes[-1].faults if fault.kind is not FaultKind.TUNE]
        return faults[0] if faults else None

    @property
    def times(self) -> int:
        """In how many takes on end, the last one included, the same bar had the same fault."""
        fault = self.open_fault
        count = 0
        for take in reversed(self.takes):
            if not any((each.kind, each.bar) == (fault and (fault.kind, fault.bar)) for each in take.faults):
                break
            count += 1
        return count


@dataclass(frozen=True, slots=True)
class Chosen:
    """Who takes which part; an empty tuple where a part has nobody."""

    warm_up: Case | None
    fix: Case | None
    reviews: tuple[Case, ...]
    climbs: tuple[Case, ...]
    music: tuple[Case, ...]


def cases(course: Sequence[PracticeExercise], history: History, wishes: Wishes) -> tuple[Case, ...]:
    """Every exercise that is open to the student, with its history up to the beginning of today."""
    today = practice_day(wishes.now, wishes.zone)
    starts = day_starts(today, wishes.zone)
    takes = not_after(history.takes, wishes.now)
    before = History(takes, history.remarks).until(starts)
    remarks = History((), history.remarks).until(wishes.now + timedelta.resolution).remarks
    by_name: dict[str, list[TakeSummary]] = {}
    for take in before.takes:
        by_name.setdefault(take.exercise, []).append(take)
    found: list[Case] = []
    for order, exercise in enumerate(course):
        if not wishes.is_open(exercise.lesson):
            continue
        own = tuple(by_name.get(exercise.name, ()))
        found.append(
            Case(
                order,
                exercise,
                standing_of(own, exercise.ladder),
                memory_of(own, wishes.zone, today),
                own,
                tuple(one for one in remarks if one.exercise == exercise.name),
            )
        )
    return tuple(found)


def choose(found: Sequence[Case], today: date, counts: Mapping[str, int]) -> Chosen:
    """Who takes which part; ``counts`` says how many ``reviews``, ``climbs`` and pieces of ``music``."""
    taken: set[int] = set()

    def pick(some: Iterator[Case], count: int) -> tuple[Case, ...]:
        picked: list[Case] = []
        for case in some:
            if len(picked) == count:
                break
            if case.order not in taken:
                picked.append(case)
                taken.add(case.order)
        return tuple(picked)

    fixes = pick(iter(_to_fix(found, today)), 1)
    climbs = pick(iter(_to_climb(found)), counts["climbs"])
    if not climbs:
        # nothing else is left to climb: go on with what was just mended
        climbs = tuple(case for case in fixes if not case.standing.at_goal)
    music = pick(iter(_music(found)), counts["music"])
    reviews = pick(iter(_due(found, today)), counts["reviews"])
    return Chosen(_to_warm_up(found, taken, today), fixes[0] if fixes else None, reviews, climbs, music)


def _to_fix(found: Sequence[Case], today: date) -> list[Case]:
    """What the teacher pointed out comes first, then what went wrong most often and last."""
    remarked = [case for case in found if case.open_remark is not None]
    remarked.sort(key=lambda case: (-_stamp(case.open_remark), case.order))
    faulty = [
        case
        for case in found
        if case.open_fault is not None and case.memory is not None and today - case.memory.last <= FRESH
    ]
    faulty.sort(key=lambda case: (-min(case.times, 3), -case.takes[-1].at.timestamp(), case.order))
    return [*remarked, *(case for case in faulty if case not in remarked)]


def _to_climb(found: Sequence[Case]) -> list[Case]:
    """In turns, the longest rested first, among the few that are under way; music has a part of its own."""
    short_of_goal = [case for case in found if not case.standing.at_goal]
    climbing = [case for case in short_of_goal if not case.exercise.is_music] or short_of_goal
    early = [case for case in climbing if not case.standing.is_known and not case.standing.is_stuck]
    begun = [case for case in early if case.takes]
    fresh = [case for case in early if not case.takes]
    # one that is past its middle, or that has thrown the student back, takes its turn with them
    others = sorted((case for case in climbing if case not in early), key=_longest_rested)
    under_way = [*[*begun, *fresh][:UNDER_WAY], *others[:1]]
    rest = [case for case in climbing if case not in under_way]
    return [*sorted(under_way, key=_longest_rested), *sorted(rest, key=_longest_rested)]


def _music(found: Sequence[Case]) -> list[Case]:
    return sorted((case for case in found if case.exercise.is_music), key=_longest_rested)


def _due(found: Sequence[Case], today: date) -> list[Case]:
    """What is known and due, the least sure first."""
    due = [
        case
        for case in found
        if case.standing.is_known and case.memory is not None and case.memory.due <= today
    ]
    return sorted(due, key=lambda case: (case.memory.recall if case.memory else 0.0, case.order))


def _to_warm_up(found: Sequence[Case], taken: Collection[int], today: date) -> Case | None:
    """Something that sits, another one each day; at first the beginning of the course."""
    drills = [case for case in found if not case.exercise.is_music] or list(found)
    free = [case for case in drills if case.order not in taken] or drills
    at_goal = [case for case in free if case.standing.at_goal]
    known = at_goal or [case for case in free if case.standing.is_known] or drills[:1]
    return known[today.toordinal() % len(known)] if known else None


def _longest_rested(case: Case) -> tuple[date, int]:
    """What was never played comes first, in the order of the course."""
    return (case.memory.last if case.memory else date.min, case.order)


def _stamp(remark: Remark | None) -> float:
    return remark.at.timestamp() if remark else 0.0
