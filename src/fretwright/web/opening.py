"""When each lesson opens to a student: on its day by the course's pace, or when the teacher says so."""

from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from fretwright.flows import schedule
from fretwright.store import classes
from fretwright.store.records import Person
from fretwright.web.access import enrolment_of
from fretwright.web.school import School


@dataclass(frozen=True, slots=True)
class Opening:
    """A lesson and when it opens to one student."""

    lesson: str
    """Its slug."""
    day: date
    """By the course's pace, in the student's own calendar."""
    is_open: bool


def openings(school: School, person: Person) -> tuple[Opening, ...]:
    """Every lesson of the course in order, for a student of it.

    Raises :class:`~fretwright.base.errors.RefusedError` (403) for who is not in the course.
    """
    taught = school.classroom.now
    enrolled = enrolment_of(school, person)
    with school.database.reading() as transaction:
        by_hand = classes.releases(transaction, taught.record.id, person.id)
    opened = {each.lesson: each.released_at for each in by_hand}
    now, zone = school.now(), ZoneInfo(person.time_zone)
    return tuple(
        Opening(each.lesson, each.opens_on, each.is_open(now, zone))
        for each in schedule.openings(taught.checked.course, enrolled.starts_on, opened)
    )


def opening_of(school: School, person: Person, lesson: str) -> Opening:
    """The same for one lesson that the course has."""
    return next(each for each in openings(school, person) if each.lesson == lesson)


def open_lessons(school: School, person: Person) -> frozenset[str]:
    """Slugs of the lessons that lie open: all of them to a teacher."""
    if person.is_teacher:
        return frozenset(lesson.slug for lesson in school.classroom.now.checked.course.lessons)
    return frozenset(each.lesson for each in openings(school, person) if each.is_open)
