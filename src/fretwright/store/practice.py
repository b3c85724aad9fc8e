"""What was planned for each day, and what of it is done."""

from collections.abc import Iterable
from datetime import date, datetime

from sqlalchemy import Row, delete, select, update

from fretwright.store.database import Transaction
from fretwright.store.records import Plan, PlanItem
from fretwright.store.rows import record, records
from fretwright.store.tables import plan_items, plans


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


def mark_done(transaction: Transaction, plan_id: int, place: int, now: datetime | None) -> None:
    """Tick an item of a plan, or take the tick back with ``None``; a tick keeps its first time."""
    ticked = update(plan_items).where(plan_items.c.plan_id == plan_id, plan_items.c.place == place)
    if now is not None:
        ticked = ticked.where(plan_items.c.done_at.is_(None))
    transaction.execute(ticked.values(done_at=now))


def _plan(transaction: Transaction, row: Row[tuple[object, ...]]) -> Plan:
    found = transaction.execute(
        select(plan_items).where(plan_items.c.plan_id == row.id).order_by(plan_items.c.place)
    )
    return record(Plan, row, items=records(PlanItem, found))
