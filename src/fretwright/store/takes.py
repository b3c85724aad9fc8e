"""Takes: from the first byte that arrives to the verdict.

Every step is one statement that names the state it starts from, so that of two who try it one succeeds.
A worker holds a take by a claim that runs out; whoever stores a result must still hold it.
"""

from datetime import datetime
from typing import Any, Final

from sqlalchemy import Row, Select, and_, case, func, select, text, update

from fretwright.base.errors import ConflictError
from fretwright.store.database import Transaction
from fretwright.store.records import ExerciseRecord, TakeOrder, TakeRecord, TakeState
from fretwright.store.rows import insert_or_leave, record
from fretwright.store.tables import exercises, people, takes

MOST_TRIES: Final = 10
"""Judging that broke down so often is given up: the recording itself brings it down."""


_TROUBLESOME: Final = 3
"""Tries after which a take lets all others go first."""
_WAITS: Final = text("takes.state IN ('received', 'judging')")
"""Said as the index of the queue says it: SQLite uses an index over part of a table for no other words."""


def begin_take(transaction: Transaction, order: TakeOrder, now: datetime) -> TakeRecord:
    """Open a take for what will arrive; the same one again where the device asks again."""
    insert_or_leave(
        transaction,
        takes,
        {
            "person_id": order.person_id,
            "exercise_id": order.exercise_id,
            "client_id": order.client_id,
            "state": TakeState.ARRIVING.value,
            "tempo_bpm": order.tempo_bpm,
            "latency_ms": order.latency_ms,
            "media_type": order.media_type,
            "stored_bytes": 0,
            "recorded_at": order.recorded_at,
            "created_at": now,
            "tries": 0,
        },
    )
    row = transaction.execute(
        select_takes().where(takes.c.person_id == order.person_id, takes.c.client_id == order.client_id)
    ).one()
    return take_from(row)


def find_take(transaction: Transaction, take_id: int) -> TakeRecord | None:
    """The take of that number, if there is one."""
    row = transaction.execute(select_takes().where(takes.c.id == take_id)).one_or_none()
    return None if row is None else take_from(row)


def hold_take(transaction: Transaction, take_id: int) -> TakeRecord | None:
    """The same, and nobody else changes it until this transaction ends."""
    row = transaction.execute(
        select_takes().where(takes.c.id == take_id).with_for_update(of=takes)
    ).one_or_none()
    return None if row is None else take_from(row)


def note_stored(transaction: Transaction, take_id: int, *, file: str, stored_bytes: int) -> None:
    """Note how much of an arriving take is safe on disk."""
    transaction.execute(
        update(takes)
        .where(takes.c.id == take_id, takes.c.state == TakeState.ARRIVING.value)
        .values(file=file, stored_bytes=stored_bytes)
    )


def receive(transaction: Transaction, take_id: int, now: datetime) -> None:
    """Note that all of it is on disk: from now on it will be judged, whatever happens."""
    transaction.execute(
        update(takes)
        .where(takes.c.id == take_id, takes.c.state == TakeState.ARRIVING.value)
        .values(state=TakeState.RECEIVED.value, received_at=now)
    )


# Judging


def claim_next(transaction: Transaction, claim: str, until: datetime) -> TakeRecord | None:
    """Take the next recording that waits, the oldest first; ``None`` if there is none.

    One that brought its judges down lets the others go first.
    """
    waiting = (
        select(takes.c.id)
        .where(_WAITS, takes.c.state == TakeState.RECEIVED.value)
        .order_by(case((takes.c.tries >= _TROUBLESOME, 1), else_=0), takes.c.received_at, takes.c.id)
        .limit(1)
        .with_for_update(skip_locked=True)
    )
    number = transaction.execute(waiting).scalar_one_or_none()
    if number is None:
        return None
    transaction.execute(
        update(takes)
        .where(takes.c.id == number)
        .values(state=TakeState.JUDGING.value, claim=claim, claimed_until=until, tries=takes.c.tries + 1)
    )
    return find_take(transaction, number)


def hand_out_again(transaction: Transaction, now: datetime, *, claims_like: str | None = None) -> int:
    """Put takes back into the queue whose claim ran out, or that are held by claims starting with a word.

    The first kind are given up where they were tried too often. The second were in hand when their server
    ended, which is not counted against them. Returns how many are back in the queue.
    """
    judging = and_(_WAITS, takes.c.state == TakeState.JUDGING.value)
    again = {"state": TakeState.RECEIVED.value, "claim": None, "claimed_until": None}
    count = 0
    if claims_like is not None:
        mine = and_(judging, takes.c.claim.startswith(claims_like, autoescape=True))
        freed = update(takes).where(mine).values(**again, tries=takes.c.tries - 1)
        count += transaction.execute(freed).rowcount
    expired = and_(judging, takes.c.claimed_until <= now)
    _fail(transaction, and_(expired, takes.c.tries >= MOST_TRIES), now)
    return count + transaction.execute(update(takes).where(expired).values(**again)).rowcount


def give_back(transaction: Transaction, take_id: int, claim: str, now: datetime) -> None:
    """Put one take back after judging it broke down, or give it up if that happened too often."""
    _fail(transaction, and_(*_held(take_id, claim), takes.c.tries >= MOST_TRIES), now)
    transaction.execute(
        update(takes)
        .where(*_held(take_id, claim))
        .values(state=TakeState.RECEIVED.value, claim=None, claimed_until=None)
    )


def settle(
    transaction: Transaction,
    take_id: int,
    claim: str,
    state: TakeState,
    now: datetime,
    trouble: str | None = None,
) -> bool:
    """Close a take that is held by this claim. ``False`` if it is not, and then nothing may be stored."""
    if not state.is_settled:
        raise ConflictError(f"A take is not settled by being {state.value}.")
    closed = transaction.execute(
        update(takes)
        .where(*_held(take_id, claim))
        .values(state=state.value, claim=None, claimed_until=None, settled_at=now, trouble=trouble)
    )
    return closed.rowcount == 1


_GIVEN_UP: Final = "Judging this recording broke down several times. It is kept: your teacher can hear it."


def _fail(transaction: Transaction, which: Any, now: datetime) -> None:  # noqa: ANN401 - a condition of the library
    transaction.execute(
        update(takes)
        .where(which)
        .values(
            state=TakeState.FAILED.value, claim=None, claimed_until=None, settled_at=now, trouble=_GIVEN_UP
        )
    )


def _held(take_id: int, claim: str) -> tuple[Any, ...]:
    return takes.c.id == take_id, takes.c.state == TakeState.JUDGING.value, takes.c.claim == claim


# Looking


def count_by_state(transaction: Transaction) -> dict[TakeState, int]:
    """How many takes stand where."""
    rows = transaction.execute(select(takes.c.state, func.count()).group_by(takes.c.state))
    return dict.fromkeys(TakeState, 0) | {TakeState(state): count for state, count in rows}


def waiting(transaction: Transaction) -> tuple[dict[TakeState, int], datetime | None]:
    """How many takes wait and how many are in hand, and since when the oldest waits; quick at any size."""
    rows = transaction.execute(
        select(takes.c.state, func.count(), func.min(takes.c.received_at))
        .where(_WAITS)
        .group_by(takes.c.state)
    ).all()
    counts = {TakeState.RECEIVED: 0, TakeState.JUDGING: 0}
    counts |= {TakeState(state): count for state, count, _ in rows}
    return counts, min((since for _, _, since in rows), default=None)


def takes_of(
    transaction: Transaction, person_id: int, *, exercise: str | None = None, limit: int = 100
) -> tuple[TakeRecord, ...]:
    """A student's takes, the newest first; of one exercise in all its wordings where one is named."""
    query = select_takes().where(takes.c.person_id == person_id)
    if exercise is not None:
        query = query.where(exercises.c.name == exercise)
    rows = transaction.execute(query.order_by(takes.c.id.desc()).limit(limit))
    return tuple(take_from(row) for row in rows)


def old_files(transaction: Transaction, before: datetime, limit: int = 500) -> tuple[tuple[int, str], ...]:
    """Takes whose recording was received before a moment and is still kept: number and file name."""
    rows = transaction.execute(
        select(takes.c.id, takes.c.file)
        .where(
            takes.c.file.is_not(None),
            takes.c.created_at < before,
            takes.c.state.not_in([TakeState.RECEIVED.value, TakeState.JUDGING.value]),
        )
        .order_by(takes.c.created_at)
        .limit(limit)
    )
    return tuple((number, file) for number, file in rows)


def forget_file(transaction: Transaction, take_id: int) -> None:
    """Note that a recording was deleted, verdicts being kept."""
    transaction.execute(update(takes).where(takes.c.id == take_id).values(file=None, stored_bytes=0))


def delete_take(transaction: Transaction, take_id: int) -> None:
    """Delete a take with its verdicts and remarks. Its file is ``takefiles``' matter, and comes after."""
    take = find_take(transaction, take_id)
    if take is not None:
        note_change(transaction, take)
    transaction.execute(takes.delete().where(takes.c.id == take_id))


def note_change(transaction: Transaction, take: TakeRecord) -> None:
    """Note that what is known of a student's takes, and of an exercise's, is changing.

    It comes first in its transaction: whoever deletes a person holds their row before those of their takes,
    and two that go the same way do not wait for each other.
    """
    for table, number in ((people, take.person_id), (exercises, take.exercise.id)):
        transaction.execute(update(table).where(table.c.id == number).values(changes=table.c.changes + 1))


_EXERCISE: Final = "exercise_"


def select_takes() -> Select[Any]:
    """Takes beside their exercises, for :func:`take_from`; what is joined to it may narrow it down."""
    return select(
        takes, *(column.label(_EXERCISE + column.name) for column in exercises.c if column.name != "id")
    ).join(exercises, takes.c.exercise_id == exercises.c.id)


def take_from(row: Row[Any]) -> TakeRecord:
    """A row of :func:`_select` as a record."""
    found = row._mapping  # noqa: SLF001 - public by the library's own documents, in spite of its name
    exercise = ExerciseRecord(
        id=found["exercise_id"],
        course_id=found["exercise_course_id"],
        name=found["exercise_name"],
        digest=found["exercise_digest"],
        title=found["exercise_title"],
    )
    return record(TakeRecord, row, exercise=exercise, state=TakeState(row.state))
