"""People: teachers and students."""

from datetime import datetime
from typing import Any

from sqlalchemy import Row, func, select, update

from fretwright.base.errors import ConflictError
from fretwright.store.database import Transaction
from fretwright.store.records import Person, Role
from fretwright.store.rows import record
from fretwright.store.tables import enrolments, people


def add_person(
    transaction: Transaction,
    *,
    role: Role,
    name: str,
    email: str,
    time_zone: str,
    now: datetime,
    below_age: bool = False,
) -> Person:
    """Add a person. Nothing may be recorded before :func:`consent`.

    Raises :class:`~fretwright.base.errors.ConflictError` if the address belongs to one already.
    """
    if person_by_email(transaction, email) is not None:
        raise ConflictError("There is an account with that address already.", "Sign in with it.")
    number = transaction.execute(
        people.insert().values(
            role=role.value,
            name=name.strip(),
            email=plain_email(email),
            time_zone=time_zone,
            created_at=now,
            below_age=below_age,
        )
    ).inserted_primary_key
    assert number is not None  # noqa: S101 - an insert of one row has a key
    return person(transaction, int(number[0]))


def plain_email(email: str) -> str:
    """An address as it is compared: without blanks around it, in small letters."""
    return email.strip().lower()


def person(transaction: Transaction, number: int) -> Person:
    """The person of that number.

    Raises :class:`~fretwright.base.errors.ConflictError` if there is none any more.
    """
    found = find_person(transaction, number)
    if found is None:
        raise ConflictError("That person is no longer here.")
    return found


def find_person(transaction: Transaction, number: int) -> Person | None:
    """The person of that number, if there is one."""
    row = transaction.execute(select(people).where(people.c.id == number)).one_or_none()
    return None if row is None else person_of(row)


def person_by_email(transaction: Transaction, email: str) -> Person | None:
    """The person with that address, if there is one."""
    row = transaction.execute(select(people).where(people.c.email == plain_email(email))).one_or_none()
    return None if row is None else person_of(row)


def teachers(transaction: Transaction) -> tuple[Person, ...]:
    """All teachers, the first one first."""
    rows = transaction.execute(
        select(people).where(people.c.role == Role.TEACHER.value).order_by(people.c.id)
    )
    return tuple(person_of(row) for row in rows)


def students_of(transaction: Transaction, course_id: int) -> tuple[Person, ...]:
    """The students of a course who have not left it, by name."""
    rows = transaction.execute(
        select(people)
        .join(enrolments, enrolments.c.person_id == people.c.id)
        .where(enrolments.c.course_id == course_id, enrolments.c.left_at.is_(None))
        .order_by(func.lower(people.c.name), people.c.id)
    )
    return tuple(person_of(row) for row in rows)


def consent(transaction: Transaction, person_id: int, *, guardian: str | None, now: datetime) -> None:
    """Note that recording was agreed to, below the school's age by a guardian."""
    transaction.execute(
        update(people).where(people.c.id == person_id).values(guardian=guardian, consent_at=now)
    )


def withdraw_consent(transaction: Transaction, person_id: int) -> None:
    """Note that nothing more may be recorded; what was is deleted by whoever asks for that."""
    transaction.execute(update(people).where(people.c.id == person_id).values(consent_at=None))


def change_person(transaction: Transaction, person_id: int, *, name: str, time_zone: str) -> None:
    """Change what a person may change about themselves."""
    transaction.execute(
        update(people).where(people.c.id == person_id).values(name=name.strip(), time_zone=time_zone)
    )


def want_lesson_letters(transaction: Transaction, person_id: int, *, wanted: bool) -> None:
    """Note whether a person wants a letter when a lesson opens."""
    transaction.execute(update(people).where(people.c.id == person_id).values(lesson_letters=wanted))


def delete_person(transaction: Transaction, person_id: int) -> None:
    """Delete a person and every row that is theirs. Files are ``takefiles``' matter, and come after."""
    transaction.execute(people.delete().where(people.c.id == person_id))


def person_of(row: Row[Any]) -> Person:
    """A row of people as a record."""
    return record(Person, row, role=Role(row.role))
