"""Courses, the exercises in them, who is enrolled, and what lies open to whom."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime

from sqlalchemy import ColumnElement, or_, select, update

from fretwright.store.database import Transaction
from fretwright.store.records import CourseRecord, Enrolment, ExerciseRecord, Invitation, Release
from fretwright.store.rows import insert_or_leave, record, records
from fretwright.store.tables import courses, enrolments, exercises, invitations, lesson_releases


def ensure_course(transaction: Transaction, *, name: str, title: str, now: datetime) -> CourseRecord:
    """The course of that name, added if it is new; its title is brought up to date."""
    insert_or_leave(transaction, courses, {"name": name, "title": title, "created_at": now})
    transaction.execute(
        update(courses).where(courses.c.name == name, courses.c.title != title).values(title=title)
    )
    row = transaction.execute(select(courses).where(courses.c.name == name)).one()
    return record(CourseRecord, row)


def ensure_exercises(
    transaction: Transaction, course_id: int, wordings: Iterable[tuple[str, str, str]], now: datetime
) -> Mapping[str, ExerciseRecord]:
    """The exercises given as (name, digest, title), added where they are new: by name."""
    found: dict[str, ExerciseRecord] = {}
    for name, digest, title in wordings:
        insert_or_leave(
            transaction,
            exercises,
            {"course_id": course_id, "name": name, "digest": digest, "title": title, "created_at": now},
        )
        row = transaction.execute(
            select(exercises).where(
                exercises.c.course_id == course_id, exercises.c.name == name, exercises.c.digest == digest
            )
        ).one()
        found[name] = record(ExerciseRecord, row)
    return found


def add_invitation(
    transaction: Transaction,
    course_id: int,
    *,
    digest: str,
    note: str,
    places: int,
    now: datetime,
    expires_at: datetime,
) -> Invitation:
    """Store an invitation by the digest of its link."""
    transaction.execute(
        invitations.insert().values(
            course_id=course_id,
            digest=digest,
            note=note,
            created_at=now,
            expires_at=expires_at,
            places=places,
            taken=0,
        )
    )
    row = transaction.execute(select(invitations).where(invitations.c.digest == digest)).one()
    return record(Invitation, row)


def find_invitation(transaction: Transaction, digest: str, now: datetime) -> Invitation | None:
    """The invitation with that digest, if it still has a place."""
    row = transaction.execute(
        select(invitations).where(invitations.c.digest == digest, *_is_open(now))
    ).one_or_none()
    return None if row is None else record(Invitation, row)


def take_place(transaction: Transaction, invitation_id: int, now: datetime) -> bool:
    """Use one place of an invitation; ``False`` if none is left. Two cannot take the last one."""
    taken = transaction.execute(
        update(invitations)
        .where(invitations.c.id == invitation_id, *_is_open(now))
        .values(taken=invitations.c.taken + 1)
    )
    return taken.rowcount == 1


def invitations_of(transaction: Transaction, course_id: int) -> tuple[Invitation, ...]:
    """All invitations to a course, the newest first."""
    rows = transaction.execute(
        select(invitations).where(invitations.c.course_id == course_id).order_by(invitations.c.id.desc())
    )
    return records(Invitation, rows)


def withdraw_invitation(transaction: Transaction, course_id: int, invitation_id: int, now: datetime) -> None:
    """Close an invitation for good."""
    transaction.execute(
        update(invitations)
        .where(
            invitations.c.id == invitation_id,
            invitations.c.course_id == course_id,
            invitations.c.withdrawn_at.is_(None),
        )
        .values(withdrawn_at=now)
    )


def enrol(
    transaction: Transaction, person_id: int, course_id: int, *, starts_on: date, now: datetime
) -> Enrolment:
    """Put a student into a course, or back into one that was left."""
    insert_or_leave(
        transaction,
        enrolments,
        {"person_id": person_id, "course_id": course_id, "enrolled_at": now, "starts_on": starts_on},
    )
    transaction.execute(
        update(enrolments)
        .where(enrolments.c.person_id == person_id, enrolments.c.course_id == course_id)
        .values(left_at=None)
    )
    _note_class(transaction, course_id)
    found = enrolment(transaction, person_id, course_id)
    assert found is not None  # noqa: S101 - it was just written
    return found


def enrolment(transaction: Transaction, person_id: int, course_id: int) -> Enrolment | None:
    """A student's place in a course, unless there is none or they left."""
    row = transaction.execute(
        select(enrolments).where(
            enrolments.c.person_id == person_id,
            enrolments.c.course_id == course_id,
            enrolments.c.left_at.is_(None),
        )
    ).one_or_none()
    return None if row is None else record(Enrolment, row)


def enrolments_of(transaction: Transaction, course_id: int) -> tuple[Enrolment, ...]:
    """All places in a course that are not given up."""
    rows = transaction.execute(
        select(enrolments)
        .where(enrolments.c.course_id == course_id, enrolments.c.left_at.is_(None))
        .order_by(enrolments.c.id)
    )
    return records(Enrolment, rows)


def leave(transaction: Transaction, person_id: int, course_id: int, now: datetime) -> None:
    """Give up a place; takes and verdicts stay the student's."""
    transaction.execute(
        update(enrolments)
        .where(enrolments.c.person_id == person_id, enrolments.c.course_id == course_id)
        .values(left_at=now)
    )
    _note_class(transaction, course_id)


def release(
    transaction: Transaction, course_id: int, lesson: str, *, person_id: int | None, now: datetime
) -> None:
    """Open a lesson before its day, for one student or for all; once is enough."""
    insert_or_leave(
        transaction,
        lesson_releases,
        {"course_id": course_id, "lesson": lesson, "person_id": person_id, "released_at": now},
    )


def take_back_release(
    transaction: Transaction, course_id: int, lesson: str, *, person_id: int | None
) -> None:
    """Leave a lesson to its day again."""
    whom = lesson_releases.c.person_id
    transaction.execute(
        lesson_releases.delete().where(
            lesson_releases.c.course_id == course_id,
            lesson_releases.c.lesson == lesson,
            whom.is_(None) if person_id is None else whom == person_id,
        )
    )


def releases(transaction: Transaction, course_id: int, person_id: int | None = None) -> tuple[Release, ...]:
    """Lessons opened for the whole class, and those for one student where one is named."""
    whom = lesson_releases.c.person_id
    rows = transaction.execute(
        select(lesson_releases)
        .where(lesson_releases.c.course_id == course_id, or_(whom.is_(None), whom == person_id))
        .order_by(lesson_releases.c.id)
    )
    return records(Release, rows)


def changes_of(transaction: Transaction, course_id: int) -> Mapping[int, int]:
    """How often something changed in what is known of each exercise, by its number."""
    rows = transaction.execute(
        select(exercises.c.id, exercises.c.changes).where(exercises.c.course_id == course_id)
    )
    return {row.id: row.changes for row in rows}


def _note_class(transaction: Transaction, course_id: int) -> None:
    """Note that other students make the class now."""
    transaction.execute(
        update(exercises).where(exercises.c.course_id == course_id).values(changes=exercises.c.changes + 1)
    )


def _is_open(now: datetime) -> tuple[ColumnElement[bool], ...]:
    return (
        invitations.c.withdrawn_at.is_(None),
        invitations.c.expires_at > now,
        invitations.c.taken < invitations.c.places,
    )
