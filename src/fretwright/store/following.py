"""What the teacher's desk asks of a whole class: takes that nobody has looked at, and how each note went."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import and_, exists, func, or_, select

from fretwright.store.database import Transaction
from fretwright.store.records import TakeRecord, TakeState
from fretwright.store.tables import enrolments, exercises, hearings, note_verdicts, overrules, remarks, takes
from fretwright.store.takes import select_takes, take_from

_SETTLED = tuple(state.value for state in TakeState if state.is_settled)


@dataclass(frozen=True, slots=True)
class ClassVerdict:
    """What became of one note in one take, a teacher's word in place of the ear's."""

    person_id: int
    take_id: int
    note_id: str
    verdict: str


def unanswered_takes(
    transaction: Transaction, course_id: int, *, since: datetime, limit: int = 50
) -> tuple[TakeRecord, ...]:
    """Settled takes of enrolled students to which no teacher has said anything, the newest first.

    What a teacher says of a take answers the student's earlier ones of the same exercise as well.
    """
    later = takes.alias("later")
    said = or_(
        exists().where(overrules.c.take_id == later.c.id),
        exists().where(remarks.c.take_id == later.c.id, remarks.c.author_id != later.c.person_id),
    )
    answered = exists().where(
        later.c.person_id == takes.c.person_id,
        later.c.exercise_id == takes.c.exercise_id,
        later.c.id >= takes.c.id,
        said,
    )
    rows = transaction.execute(
        select_takes()
        .join(
            enrolments,
            and_(
                enrolments.c.person_id == takes.c.person_id,
                enrolments.c.course_id == course_id,
                enrolments.c.left_at.is_(None),
            ),
        )
        .where(
            exercises.c.course_id == course_id,
            takes.c.state.in_(_SETTLED),
            takes.c.received_at >= since,
            ~answered,
        )
        .order_by(takes.c.id.desc())
        .limit(limit)
    )
    return tuple(take_from(row) for row in rows)


def class_verdicts(
    transaction: Transaction, exercise_id: int, *, newest: int = 5
) -> tuple[ClassVerdict, ...]:
    """What became of each note in the ``newest`` judged takes of each enrolled student."""
    by_student = (
        select(
            takes.c.id.label("take_id"),
            takes.c.person_id,
            func.row_number().over(partition_by=takes.c.person_id, order_by=takes.c.id.desc()).label("nth"),
        )
        .join(exercises, exercises.c.id == takes.c.exercise_id)
        .join(hearings, hearings.c.take_id == takes.c.id)
        .join(
            enrolments,
            and_(
                enrolments.c.person_id == takes.c.person_id,
                enrolments.c.course_id == exercises.c.course_id,
                enrolments.c.left_at.is_(None),
            ),
        )
        .where(takes.c.exercise_id == exercise_id)
        .subquery()
    )
    rows = transaction.execute(
        select(
            by_student.c.person_id,
            by_student.c.take_id,
            note_verdicts.c.note_id,
            func.coalesce(overrules.c.meant, note_verdicts.c.verdict).label("verdict"),
        )
        .select_from(by_student)
        .join(note_verdicts, note_verdicts.c.take_id == by_student.c.take_id)
        .outerjoin(
            overrules,
            and_(overrules.c.take_id == note_verdicts.c.take_id, overrules.c.place == note_verdicts.c.place),
        )
        .where(by_student.c.nth <= newest)
        .order_by(by_student.c.person_id, by_student.c.take_id, note_verdicts.c.place)
    )
    return tuple(ClassVerdict(*row) for row in rows)
