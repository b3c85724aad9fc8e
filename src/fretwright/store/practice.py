"""What was planned, what was practised, and how well it is remembered."""

from collections.abc import Iterable
from datetime import date, datetime

from sqlalchemy import Row, delete, select, update

from fretwright.store.database import Transaction
from fretwright.store.records import Plan, PlanItem, Practised, RecallCard
from fretwright.store.rows import insert_or_leave, record, records, upsert
from fretwright.store.tables import device_latencies, plan_items, plans, practice_log, recall_cards


def store_plan(
    transaction: Transaction,
    person_id: int,
    course_id: int,
    *,
    day: date,
    minutes: int,
    items: Iterable[PlanItem],
    now: datetime,
) -> Plan:
    """Store the plan of a day, in place of the one that may be there."""
    key = (plans.c.person_id == person_id, plans.c.course_id == course_id, plans.c.day == day)
    transaction.execute(delete(plans).where(*key))
    number = transaction.execute(
        plans.insert()
        .values(person_id=person_id, course_id=course_id, day=day, minutes=minutes, made_at=now)
        .returning(plans.c.id)
    ).scalar_one()
    rows = [
        {
            "plan_id": number, "place": item.place, "kind": item.kind, "exercise": item.exercise,
            "tempo_bpm": item.tempo_bpm, "minutes": item.minutes, "reason": item.reason,
            "details": dict(item.details), "done_at": item.done_at,
        }
        for item in items
    ]  # fmt: skip
    if rows:
        transaction.execute(plan_items.insert(), rows)
    return _plan(transaction, transaction.execute(select(plans).where(plans.c.id == number)).one())


def find_plan(transaction: Transaction, person_id: int, course_id: int, day: date) -> Plan | None:
    """The plan of a day, if one was made."""
    row = transaction.execute(
        select(plans).where(
            plans.c.person_id == person_id, plans.c.course_id == course_id, plans.c.day == day
        )
    ).one_or_none()
    return None if row is None else _plan(transaction, row)


def plans_since(transaction: Transaction, person_id: int, course_id: int, day: date) -> tuple[Plan, ...]:
    """The plans of a day and of all after it."""
    rows = transaction.execute(
        select(plans)
        .where(plans.c.person_id == person_id, plans.c.course_id == course_id, plans.c.day >= day)
        .order_by(plans.c.day)
    ).all()
    return tuple(_plan(transaction, row) for row in rows)


def mark_done(transaction: Transaction, plan_id: int, place: int, now: datetime | None) -> None:
    """Tick an item of a plan, or take the tick back with ``None``; a tick keeps its first time."""
    ticked = update(plan_items).where(plan_items.c.plan_id == plan_id, plan_items.c.place == place)
    if now is not None:
        ticked = ticked.where(plan_items.c.done_at.is_(None))
    transaction.execute(ticked.values(done_at=now))


def log_practice(transaction: Transaction, person_id: int, course_id: int, done: Practised) -> bool:
    """Note a stretch of practice; ``False`` if the device had sent it before."""
    return insert_or_leave(
        transaction,
        practice_log,
        {
            "person_id": person_id, "course_id": course_id, "client_id": done.client_id,
            "exercise": done.exercise, "tempo_bpm": done.tempo_bpm, "seconds": done.seconds,
            "started_at": done.started_at,
        },
    )  # fmt: skip


def practised_since(
    transaction: Transaction, person_id: int, course_id: int, since: datetime
) -> tuple[Practised, ...]:
    """What a student practised from a moment on, the oldest first."""
    rows = transaction.execute(
        select(practice_log)
        .where(
            practice_log.c.person_id == person_id,
            practice_log.c.course_id == course_id,
            practice_log.c.started_at >= since,
        )
        .order_by(practice_log.c.started_at, practice_log.c.id)
    )
    return records(Practised, rows)


def store_card(transaction: Transaction, person_id: int, card: RecallCard) -> None:
    """Store how well an exercise is remembered."""
    upsert(
        transaction,
        recall_cards,
        ("person_id", "exercise"),
        {
            "person_id": person_id,
            "exercise": card.exercise,
            "card": dict(card.card),
            "due_at": card.due_at,
            "changed_at": card.changed_at,
        },
    )


def cards_of(transaction: Transaction, person_id: int) -> tuple[RecallCard, ...]:
    """What is known of a student's memory, what is due first."""
    rows = transaction.execute(
        select(recall_cards).where(recall_cards.c.person_id == person_id).order_by(recall_cards.c.due_at)
    )
    return records(RecallCard, rows)


def store_latency(
    transaction: Transaction, person_id: int, device: str, latency_ms: float, now: datetime
) -> None:
    """Remember how late a device records what it plays."""
    upsert(
        transaction,
        device_latencies,
        ("person_id", "device"),
        {"person_id": person_id, "device": device, "latency_ms": latency_ms, "measured_at": now},
    )


def latency_of(transaction: Transaction, person_id: int, device: str) -> float | None:
    """The latency of a device in milliseconds, if it was measured."""
    return transaction.execute(
        select(device_latencies.c.latency_ms).where(
            device_latencies.c.person_id == person_id, device_latencies.c.device == device
        )
    ).scalar_one_or_none()


def _plan(transaction: Transaction, row: Row[tuple[object, ...]]) -> Plan:
    found = transaction.execute(
        select(plan_items).where(plan_items.c.plan_id == row.id).order_by(plan_items.c.place)
    )
    return record(Plan, row, items=records(PlanItem, found))
