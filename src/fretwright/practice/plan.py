"""Today's practice: a warm-up, one fault to fix, one review, one new rung, one piece of music.

Ladder tempos are practised around the rung and not at it alone: alternating slow and target tempo did at
least as well as climbing steadily, and playing at the target only did worst (study of tempo strategies, seen
in abstract; partial support for varied practice in 36 pianists, Bangert et al. 2014).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from fretwright.practice import words
from fretwright.practice.chosen import Case, cases, choose
from fretwright.practice.days import day_starts, practice_day
from fretwright.practice.history import History, PracticeExercise, Wishes, in_order, not_after
from fretwright.practice.minutes import REST_MINUTES, ItemKind, Slot, timetable

A_DAY: Final = timedelta(hours=24)
EASED_DAYS: Final = 14
"""Rested so long, an exercise starts one rung lower (common practice, no source)."""
AWAY_DAYS: Final = 7
_TAKES_DONE: Final = {ItemKind.CLIMB: 2}
"""Takes of today that tick a part off, where it is more than one."""


@dataclass(frozen=True, slots=True)
class PlanItem:
    """One part of a day's practice."""

    kind: ItemKind
    minutes: int
    aim: str
    """What to do."""
    why: str
    """Why, in a sentence or two."""
    exercise: PracticeExercise | None = None
    """``None`` for a rest."""
    bar: int | None = None
    """Where the work is; ``None`` for the whole exercise."""
    tempos: tuple[int, ...] = ()
    """In the order in which to play them, the last one to be recorded."""
    rested_from: datetime | None = None
    """When a whole day has passed since it was last played, where that is still to come as the day begins."""
    takes_today: int = 0
    is_done: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """One day's practice."""

    day: date
    """On the student's own calendar."""
    minutes: int
    """That the student has."""
    items: tuple[PlanItem, ...]
    notes: tuple[str, ...]
    """What else there is to say of this day."""

    @property
    def planned_minutes(self) -> int:
        """How much of the time the plan uses, rests included."""
        return sum(item.minutes for item in self.items)


def plan_of(course: Sequence[PracticeExercise], history: History, wishes: Wishes) -> Plan:
    """The plan of the day to which ``wishes.now`` belongs, in teaching order of the ``course``.

    It rests on what was recorded before the day began, so that it stays the same all day; what is recorded
    today ticks its parts off.
    """
    today = practice_day(wishes.now, wishes.zone)
    found = cases(course, history, wishes)
    chosen = choose(found, today, _counts(wishes.minutes))
    parts: list[tuple[ItemKind, Case]] = []
    for kind, some in (
        (ItemKind.WARM_UP, (chosen.warm_up,)),
        (ItemKind.FIX, (chosen.fix,)),
        (ItemKind.REVIEW, chosen.reviews),
        (ItemKind.CLIMB, chosen.climbs),
        (ItemKind.MUSIC, chosen.music),
    ):
        parts += [(kind, case) for case in some if case is not None]
    slots = timetable([kind for kind, _ in parts], wishes.minutes)
    made_today = _takes_of_today(history, wishes, today)
    items: list[PlanItem] = []
    for slot in slots:
        if slot.rest_before:
            items.append(PlanItem(ItemKind.REST, REST_MINUTES, words.REST_AIM, words.REST_WHY))
        items.append(_item(parts[slot.wanted], slot, wishes, today, made_today))
    planned = sum(item.minutes for item in items)
    return Plan(today, wishes.minutes, tuple(items), _notes(found, today, wishes.minutes - planned))


def _counts(minutes: int) -> dict[str, int]:
    """How many of each kind a day of that length may hold."""
    more = 1 if minutes < 30 else 2 if minutes < 60 else 3
    return {"reviews": more, "climbs": more, "music": 1 if minutes < 45 else 2}


def _takes_of_today(history: History, wishes: Wishes, today: date) -> tuple[str, ...]:
    """The exercise of every take that was made today."""
    takes = in_order(not_after(history.takes, wishes.now))
    return tuple(take.exercise for take in takes if practice_day(take.at, wishes.zone) == today)


def _item(
    part: tuple[ItemKind, Case], slot: Slot, wishes: Wishes, today: date, made_today: tuple[str, ...]
) -> PlanItem:
    kind, case = part
    rested_days = (today - case.memory.last).days if case.memory is not None else 0
    eased = kind in _EASED and rested_days >= EASED_DAYS
    at = max(0, case.standing.at - eased)
    tempos, bar = _tempos(kind, case, at, today), _bar(kind, case)
    aim, why = _said(kind, case, tempos, bar, today)
    takes = made_today.count(case.exercise.name)
    return PlanItem(
        kind=kind,
        minutes=slot.minutes,
        aim=aim,
        why=why + (words.eased_words(case, today) if eased else ""),
        exercise=case.exercise,
        bar=bar,
        tempos=tempos,
        rested_from=_rested_from(kind, case, wishes, today),
        takes_today=takes,
        is_done=kind is not ItemKind.WARM_UP and takes >= _TAKES_DONE.get(kind, 1),
    )


_EASED: Final = frozenset({ItemKind.CLIMB, ItemKind.MUSIC})
"""A review looks whether it still comes as it was left, however long ago that is."""


def _tempos(kind: ItemKind, case: Case, at: int, today: date) -> tuple[int, ...]:
    """The tempos around a rung, the rung itself last; none lies above it."""
    one, two = max(0, at - 1), max(0, at - 2)
    order = {
        ItemKind.WARM_UP: (0,),
        ItemKind.FIX: (two, one),
        ItemKind.REVIEW: (one, at),
        ItemKind.MUSIC: (one, at),
        ItemKind.CLIMB: (two, at, one, at) if today.toordinal() % 2 else (one, at, two, at),
    }[kind]
    rungs = [case.standing.rungs[index] for index in order]
    return tuple(bpm for place, bpm in enumerate(rungs) if place == 0 or bpm != rungs[place - 1])


def _bar(kind: ItemKind, case: Case) -> int | None:
    if kind is not ItemKind.FIX:
        return None
    if case.open_remark is not None:
        return case.open_remark.bar
    return case.open_fault.bar if case.open_fault is not None else None


def _said(
    kind: ItemKind, case: Case, tempos: tuple[int, ...], bar: int | None, today: date
) -> tuple[str, str]:
    match kind:
        case ItemKind.FIX:
            return words.fix_aim(bar, tempos[0], tempos[-1]), words.fix_why(case)
        case ItemKind.REVIEW:
            return words.review_aim(tempos[-1]), words.review_why(case, today)
        case ItemKind.CLIMB:
            return words.climb_aim(tempos, tempos[-1]), words.climb_why(case)
        case ItemKind.MUSIC:
            return words.music_aim(tempos[-1]), words.music_why(case)
        case _:
            return words.WARM_UP_AIM, words.warm_up_why(case)


def _rested_from(kind: ItemKind, case: Case, wishes: Wishes, today: date) -> datetime | None:
    if kind is ItemKind.WARM_UP or case.standing.last_at is None:
        return None
    rested = case.standing.last_at + A_DAY
    return rested if rested > day_starts(today, wishes.zone) else None


def _notes(found: Sequence[Case], today: date, free_minutes: int) -> tuple[str, ...]:
    notes: list[str] = []
    days = [case.memory.last for case in found if case.memory is not None]
    if found and not days:
        notes.append(words.FIRST_DAY)
    elif days and (today - max(days)).days >= AWAY_DAYS:
        notes.append(words.away_words((today - max(days)).days))
    if not found:
        notes.append("No lesson is open to you yet.")
    elif free_minutes > 0:
        notes.append(words.free_words(free_minutes))
    return tuple(notes)
