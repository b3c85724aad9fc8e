"""When each lesson opens to one student: every so many days from the day they started, or earlier by hand.

Days are days of the student's own calendar: a lesson opens when that day begins where the student is, so that
neither a journey nor the change to summer time moves it to another date.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from fretwright.course.model import Course


@dataclass(frozen=True, slots=True)
class Opening:
    """One lesson and the day it opens."""

    lesson: str
    """Slug."""
    title: str
    number: int
    """Place in the course, from 1."""
    opens_on: date
    """By the schedule, in the student's own calendar."""
    opened_at: datetime | None
    """When the teacher opened it by hand, if that was done."""

    def is_open(self, now: datetime, zone: tzinfo) -> bool:
        """Whether a student in that time zone may see it."""
        by_hand = self.opened_at is not None and self.opened_at <= now
        return by_hand or now.astimezone(zone).date() >= self.opens_on

    def opens_at(self, zone: tzinfo) -> datetime:
        """The moment at which its day begins there, in UTC."""
        # A midnight that the clocks jump over stands for the moment of the jump (PEP 495).
        return datetime.combine(self.opens_on, time(), zone).astimezone(UTC)


def openings(
    course: Course, starts_on: date, opened_by_hand: Mapping[str, datetime] | None = None
) -> tuple[Opening, ...]:
    """Every lesson of the course in order, for a student whose first lesson opens on ``starts_on``.

    ``opened_by_hand`` says by slug when the teacher opened a lesson before its day.
    """
    step, by_hand = timedelta(days=course.days_between_lessons), opened_by_hand or {}
    return tuple(
        Opening(lesson.slug, lesson.title, place + 1, starts_on + place * step, by_hand.get(lesson.slug))
        for place, lesson in enumerate(course.lessons)
    )


def open_lessons(all_of_them: tuple[Opening, ...], now: datetime, zone: tzinfo) -> frozenset[str]:
    """Slugs of the lessons that the student may see now."""
    return frozenset(each.lesson for each in all_of_them if each.is_open(now, zone))
