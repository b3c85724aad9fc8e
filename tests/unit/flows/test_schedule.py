"""When lessons open: days of the student's own calendar."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from fretwright.course.model import Course
from fretwright.flows.schedule import open_lessons, openings
from fretwright.practice.days import zone_named
from small_course import small_course

START = date(2026, 3, 27)


@pytest.fixture
def course(tmp_path: Path) -> Course:
    return small_course(tmp_path / "course")


def test_lessons_open_every_so_many_days(course: Course) -> None:
    lessons = openings(course, START)

    assert [(each.number, each.lesson, each.opens_on) for each in lessons] == [
        (1, "01-stairs", date(2026, 3, 27)),
        (2, "02-lamp", date(2026, 3, 30)),
    ]


@pytest.mark.parametrize(
    ("zone", "opens_at"),
    [
        ("UTC", datetime(2026, 3, 30, 0, tzinfo=UTC)),
        # Summer time began on 29 March 2026 in the European Union (Directive 2000/84/EC: the last Sunday).
        ("Europe/Lisbon", datetime(2026, 3, 29, 23, tzinfo=UTC)),
        ("Pacific/Kiritimati", datetime(2026, 3, 29, 10, tzinfo=UTC)),
        ("Pacific/Pago_Pago", datetime(2026, 3, 30, 11, tzinfo=UTC)),
    ],
)
def test_a_day_begins_where_the_student_is(course: Course, zone: str, opens_at: datetime) -> None:
    lessons, where = openings(course, START), zone_named(zone)

    assert lessons[1].opens_at(where) == opens_at
    assert open_lessons(lessons, opens_at - timedelta(seconds=1), where) == {"01-stairs"}
    assert open_lessons(lessons, opens_at, where) == {"01-stairs", "02-lamp"}


def test_a_day_without_a_midnight_begins_when_the_clocks_have_jumped(course: Course) -> None:
    """Beirut went from 00:00 to 01:00 on 31 March 2024 (IANA time zone database, asia)."""
    where = ZoneInfo("Asia/Beirut")
    lesson = openings(course, date(2024, 3, 31))[0]

    assert lesson.opens_at(where) == datetime(2024, 3, 30, 22, tzinfo=UTC)
    assert lesson.is_open(lesson.opens_at(where), where)
    assert not lesson.is_open(lesson.opens_at(where) - timedelta(seconds=1), where)


def test_the_teacher_opens_a_lesson_before_its_day(course: Course) -> None:
    now = datetime(2026, 3, 27, 12, tzinfo=UTC)
    lessons = openings(course, START, {"02-lamp": now})

    assert open_lessons(lessons, now, zone_named("UTC")) == {"01-stairs", "02-lamp"}
    assert open_lessons(lessons, now - timedelta(seconds=1), zone_named("UTC")) == {"01-stairs"}


def test_before_the_start_nothing_is_open(course: Course) -> None:
    assert not open_lessons(openings(course, START), datetime(2026, 3, 26, 23, tzinfo=UTC), zone_named("UTC"))


def test_days_follow_the_course(course: Course) -> None:
    weekly = openings(replace(course, days_between_lessons=7), START)

    assert weekly[1].opens_on - weekly[0].opens_on == timedelta(days=7)
