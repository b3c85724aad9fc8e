"""A small population for the tests of the store: a teacher, a student, an exercise."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from fretwright.store.records import CourseRecord, ExerciseRecord, Person

NOON: Final = datetime(2027, 3, 4, 12, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Population:
    """A teacher, a student, and one exercise."""

    teacher: Person
    student: Person
    course: CourseRecord
    exercise: ExerciseRecord
