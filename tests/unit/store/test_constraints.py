"""What must be true of stored data is refused by the database itself, whatever program writes it."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import Table, insert, text, update

from fretwright.base.errors import ConflictError, StoreError
from fretwright.store import classes, entry, people, takes
from fretwright.store.database import Database
from fretwright.store.records import Role, TakeOrder, TakeRecord
from fretwright.store.tables import exercises, note_verdicts, overrules, remarks
from fretwright.store.tables import people as people_table
from fretwright.store.tables import takes as takes_table
from population import Population

NOON = datetime(2027, 3, 4, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    "change",
    [
        {"role": "owner"},
        {"name": ""},
        {"email": "Upper@example.org"},
        {"email": "no-sign"},
        {"email": "ottoline@example.org"},
        {"below_age": True, "consent_at": NOON},
    ],
)
def test_a_person_who_cannot_be_is_refused(
    database: Database, population: Population, change: dict[str, Any]
) -> None:
    with pytest.raises(ConflictError), database.writing() as transaction:
        transaction.execute(
            update(people_table).where(people_table.c.id == population.student.id).values(**change)
        )


@pytest.mark.parametrize(
    "change",
    [
        {"state": "lost"},
        {"state": "judging"},
        {"state": "judged"},
        {"state": "arriving"},
        {"tempo_bpm": 9.0},
        {"tempo_bpm": 401.0},
        {"latency_ms": -1.0},
        {"stored_bytes": -1},
        {"claim": "somebody"},
        {"settled_at": NOON},
    ],
)
def test_a_take_in_an_impossible_state_is_refused(
    database: Database, received: Callable[[], TakeRecord], change: dict[str, Any]
) -> None:
    take = received()
    with pytest.raises(ConflictError), database.writing() as transaction:
        transaction.execute(update(takes_table).where(takes_table.c.id == take.id).values(**change))


@pytest.mark.parametrize(
    ("table", "values"),
    [
        (note_verdicts, {"place": 0, "note_id": "b1", "verdict": "fine"}),
        (note_verdicts, {"place": 0, "note_id": "b1", "verdict": "played", "attack": "kick"}),
        (overrules, {"place": 0, "heard": "played", "meant": "great", "made_at": NOON}),
        (remarks, {"words": "", "made_at": NOON}),
        (remarks, {"words": "Slower.", "bar": -1, "made_at": NOON}),
        (remarks, {"words": "", "file": "x", "made_at": NOON}),
    ],
)
def test_a_row_that_says_nothing_possible_is_refused(
    database: Database, received: Callable[[], TakeRecord], table: Table, values: dict[str, Any]
) -> None:
    take = received()
    others = {
        "take_id": take.id,
        "exercise_id": take.exercise.id,
        "teacher_id": take.person_id,
        "author_id": take.person_id,
    }
    row = values | {name: value for name, value in others.items() if name in table.c}
    with pytest.raises(ConflictError), database.writing() as transaction:
        transaction.execute(insert(table).values(**row))


def test_a_take_of_nobody_is_refused(database: Database, population: Population) -> None:
    order = TakeOrder(10_000, population.exercise.id, "take-1", 90, None, "audio/wav", NOON)
    with pytest.raises(ConflictError), database.writing() as transaction:
        takes.begin_take(transaction, order, NOON)


def test_a_time_without_a_zone_is_refused(database: Database, population: Population) -> None:
    with pytest.raises(StoreError, match="zone"), database.writing() as transaction:
        people.consent(transaction, population.student.id, guardian=None, now=NOON.replace(tzinfo=None))


def test_deleting_a_person_deletes_everything_of_theirs(
    database: Database, received: Callable[[], TakeRecord]
) -> None:
    take = received()
    with database.writing() as transaction:
        entry.add_session(
            transaction, take.person_id, digest="d", now=NOON, expires_at=NOON + timedelta(days=1)
        )
        people.delete_person(transaction, take.person_id)
    with database.reading() as transaction:
        assert takes.find_take(transaction, take.id) is None
        for table in ("takes", "sessions", "enrolments", "note_verdicts"):
            assert transaction.execute(text(f"SELECT count(*) FROM {table}")).scalar() == 0  # noqa: S608 - a fixed list


def test_a_link_opens_once_and_not_too_late(database: Database, population: Population) -> None:
    ends = NOON + timedelta(minutes=30)
    with database.writing() as transaction:
        entry.add_link(transaction, population.student.id, digest="one", now=NOON, expires_at=ends)
        entry.add_link(transaction, population.student.id, digest="two", now=NOON, expires_at=ends)
    with database.writing() as transaction:
        assert entry.use_link(transaction, "one", NOON) == population.student
        assert entry.use_link(transaction, "one", NOON) is None
        assert entry.use_link(transaction, "two", ends) is None
        assert entry.use_link(transaction, "three", NOON) is None


def test_the_last_place_is_taken_once(database: Database, population: Population) -> None:
    with database.writing() as transaction:
        made = classes.add_invitation(
            transaction,
            population.course.id,
            digest="i",
            note="",
            places=2,
            now=NOON,
            expires_at=NOON + timedelta(days=7),
        )
        got = [classes.take_place(transaction, made.id, NOON) for _ in range(3)]
        assert got == [True, True, False]
        assert classes.find_invitation(transaction, "i", NOON) is None


def test_a_lesson_is_released_once_for_all_and_for_one(database: Database, population: Population) -> None:
    course, student = population.course.id, population.student.id
    with database.writing() as transaction:
        for person_id in (None, None, student, student):
            classes.release(transaction, course, "02-lamp", person_id=person_id, now=NOON)
        assert len(classes.releases(transaction, course, student)) == 2
        assert len(classes.releases(transaction, course)) == 1
        classes.take_back_release(transaction, course, "02-lamp", person_id=None)
        assert [each.person_id for each in classes.releases(transaction, course, student)] == [student]


def test_who_left_may_come_back(database: Database, population: Population) -> None:
    course, student = population.course.id, population.student.id
    with database.writing() as transaction:
        first = classes.enrol(transaction, student, course, starts_on=date(2027, 3, 4), now=NOON)
        classes.leave(transaction, student, course, NOON)
        assert classes.enrolment(transaction, student, course) is None
        again = classes.enrol(transaction, student, course, starts_on=date(2027, 5, 1), now=NOON)
    assert (again.id, again.starts_on) == (first.id, first.starts_on)


def test_two_wordings_of_an_exercise_are_two_rows(database: Database, population: Population) -> None:
    with database.writing() as transaction:
        again = classes.ensure_exercises(
            transaction, population.course.id, [("01-stairs/up", "d1", "Up")], NOON
        )
        changed = classes.ensure_exercises(
            transaction, population.course.id, [("01-stairs/up", "d2", "Up")], NOON
        )
        count = transaction.execute(exercises.select()).all()
    assert again["01-stairs/up"] == population.exercise
    assert changed["01-stairs/up"].id != population.exercise.id
    assert len(count) == 2


@pytest.mark.parametrize(
    "words", ["'; DROP TABLE people; --", '" OR 1=1 --', "%s %(name)s :name ?", "back\\slash\\'", "日本 ♭"]
)
def test_words_are_never_read_as_sql(database: Database, population: Population, words: str) -> None:
    with database.writing() as transaction:
        people.change_person(transaction, population.student.id, name=words, time_zone="UTC")
        made = people.add_person(
            transaction, role=Role.STUDENT, name=words, email="new@example.org", time_zone="UTC", now=NOON
        )
        assert people.person_by_email(transaction, words) is None
        assert classes.find_invitation(transaction, words, NOON) is None
    assert made.name == words
