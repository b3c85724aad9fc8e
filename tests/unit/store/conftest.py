"""A small population for the tests of the store."""

from collections.abc import Callable
from datetime import timedelta
from itertools import count

import pytest

from fretwright.store import classes, people, takes
from fretwright.store.database import Database
from fretwright.store.records import Role, TakeOrder, TakeRecord
from population import NOON, Population


@pytest.fixture
def population(database: Database) -> Population:
    """The people and the exercise, in an otherwise empty database."""
    with database.writing() as transaction:
        teacher = people.add_person(
            transaction,
            role=Role.TEACHER,
            name="Ottoline Quay",
            email="ottoline@example.org",
            time_zone="UTC",
            now=NOON,
        )
        student = people.add_person(
            transaction,
            role=Role.STUDENT,
            name="Isolde Fenn",
            email="isolde@example.org",
            time_zone="Europe/Lisbon",
            now=NOON,
        )
        course = classes.ensure_course(transaction, name="lighthouse", title="Lines", now=NOON)
        found = classes.ensure_exercises(transaction, course.id, [("01-stairs/up", "d1", "Up")], NOON)
        return Population(teacher, student, course, found["01-stairs/up"])


@pytest.fixture
def received(database: Database, population: Population) -> Callable[[], TakeRecord]:
    """Makes takes that wait to be judged, each a second after the one before."""
    numbers = count(1)

    def make() -> TakeRecord:
        number = next(numbers)
        at = NOON + timedelta(seconds=number)
        order = TakeOrder(
            population.student.id, population.exercise.id, f"take-{number}", 90.0, None, "audio/wav", at
        )
        with database.writing() as transaction:
            take = takes.begin_take(transaction, order, at)
            takes.note_stored(transaction, take.id, file=f"file-{number}", stored_bytes=9)
            takes.receive(transaction, take.id, at)
            found = takes.find_take(transaction, take.id)
        assert found is not None
        return found

    return make
