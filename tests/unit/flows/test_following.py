"""Who practised, who is stuck and where, who has gone quiet."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from fretwright.flows.following import Followed, Member, Stuck, follow, footing_of
from fretwright.practice.history import Fault, FaultKind, PracticeExercise, TakeSummary
from fretwright.score.tempo import Ladder

NOW = datetime(2026, 3, 20, 18, tzinfo=UTC)
LINE = PracticeExercise("02-lamp/last-line", "The last line", "02-lamp", Ladder(60, 84), 8.0)
STAIRS = PracticeExercise("01-stairs/up", "Up and back", "01-stairs", Ladder(60, 84), 8.0)


def take(number: int, *, clean: bool, hours_ago: float, bpm: float = 60, bar: int | None = 2) -> TakeSummary:
    faults = () if clean else (Fault(FaultKind.NOTES, bar, 1),)
    at = NOW - timedelta(hours=hours_ago)
    return TakeSummary(f"t{number}", LINE.name, at, bpm, bpm, clean, faults)


def member(*takes: TakeSummary, name: str = "Ada", zone: str = "UTC", days: int = 30) -> Member:
    return Member(1, name, ZoneInfo(zone), footing_of(takes, [STAIRS, LINE]), NOW - timedelta(days=days))


def only(one: Member) -> Followed:
    (found,) = follow([one], NOW)
    return found


def test_takes_and_days_of_the_last_week_are_counted() -> None:
    found = only(member(*(take(n, clean=True, hours_ago=h) for n, h in enumerate((1, 2, 30, 24 * 8)))))

    assert (found.takes_in_week, found.days_in_week, found.begun) == (3, 2, 1)
    assert found.last_at == NOW - timedelta(hours=1)
    assert (found.state, found.quiet_days) == ("getting on", 0)


def test_a_day_is_one_of_the_students_own() -> None:
    # 18:00 in London is 07:00 the next day in Auckland (IANA time zone database: UTC+13 in March).
    takes = (take(1, clean=True, hours_ago=1), take(2, clean=True, hours_ago=5))

    assert only(member(*takes, zone="Europe/London")).days_in_week == 1
    assert only(member(*takes, zone="Pacific/Auckland")).days_in_week == 2


@pytest.mark.parametrize(("days", "state"), [(6, "getting on"), (7, "quiet"), (40, "quiet")])
def test_after_a_week_without_a_take_a_student_is_quiet(days: int, state: str) -> None:
    found = only(member(take(1, clean=True, hours_ago=24 * days)))

    assert (found.quiet_days, found.state) == (days, state)


def test_whoever_has_just_enrolled_is_not_quiet_yet() -> None:
    assert only(member(days=2)).state == "not begun"
    assert only(member(days=9)).state == "quiet"


def test_five_takes_in_a_row_that_are_not_clean_are_stuck_where_they_fail() -> None:
    bars = (1, 2, 2, 1, 2)
    takes = [take(n, clean=False, hours_ago=50 - n, bar=bar) for n, bar in enumerate(bars)]

    assert only(member(*takes[:4])).stuck == ()
    found = only(member(*takes))

    assert found.stuck == (Stuck(LINE.name, "The last line", 60, 2, 5, 0),)
    assert found.stuck[0].words == "The last line at 60, bar 2: 5 takes in a row not clean"
    assert found.state == "stuck"


def test_a_clean_take_ends_the_row() -> None:
    takes = [take(n, clean=n == 5, hours_ago=50 - n) for n in range(6)]

    assert only(member(*takes)).stuck == ()


def test_whoever_is_thrown_back_again_and_again_is_stuck() -> None:
    """Clean twice opens the next rung, two failures there lead back; the second time it takes four."""
    story = "cc ff cccc ff"
    steps = [letter for letter in story if letter != " "]
    rungs = LINE.ladder.rungs
    bpm = [rungs[0]] * 2 + [rungs[1]] * 2 + [rungs[0]] * 4 + [rungs[1]] * 2
    takes = [
        take(n, clean=letter == "c", hours_ago=50 - n, bpm=tempo)
        for n, (letter, tempo) in enumerate(zip(steps, bpm, strict=True))
    ]

    (stuck,) = only(member(*takes)).stuck

    assert (stuck.falls, stuck.bpm, stuck.bar) == (2, rungs[0], 2)
    assert stuck.words == f"The last line at {rungs[0]}, bar 2: thrown back 2 times"


def test_trouble_with_the_whole_has_no_bar() -> None:
    takes = [take(n, clean=False, hours_ago=9 - n, bar=None) for n in range(5)]

    assert only(member(*takes)).stuck[0].bar is None


def test_those_who_need_the_teacher_come_first() -> None:
    stuck = [take(n, clean=False, hours_ago=9 - n) for n in range(5)]
    fine = take(9, clean=True, hours_ago=1)
    quiet = take(9, clean=True, hours_ago=24 * 9)
    members = [
        member(fine, name="bea"),
        member(fine, name="Ann"),
        member(name="Eve", days=1),
        member(quiet, name="Cy"),
        member(*stuck, name="Dee"),
    ]

    assert [each.name for each in follow(members, NOW)] == ["Dee", "Cy", "Eve", "Ann", "bea"]


def test_a_take_twice_and_a_take_from_the_future_change_nothing() -> None:
    takes = [take(n, clean=True, hours_ago=9 - n) for n in range(3)]
    future = take(7, clean=False, hours_ago=-5)

    assert only(member(*takes, *takes, future)) == only(member(*takes))
