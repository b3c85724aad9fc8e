"""Remarks on takes, in words or as a recorded demonstration."""

from datetime import datetime

from sqlalchemy import select, update

from fretwright.store.database import Transaction
from fretwright.store.records import Remark
from fretwright.store.rows import record, records
from fretwright.store.tables import remarks, takes


def add_remark(
    transaction: Transaction,
    take_id: int,
    author_id: int,
    *,
    words: str,
    now: datetime,
    bar: int | None = None,
    file: str | None = None,
    media_type: str | None = None,
) -> Remark:
    """Write a remark on a bar of a take, or on all of it."""
    row = transaction.execute(
        remarks.insert()
        .values(
            take_id=take_id,
            author_id=author_id,
            bar=bar,
            words=words.strip(),
            file=file,
            media_type=media_type,
            made_at=now,
        )
        .returning(remarks)
    ).one()
    return record(Remark, row)


def remarks_of(transaction: Transaction, take_id: int) -> tuple[Remark, ...]:
    """The remarks on a take, the oldest first."""
    rows = transaction.execute(select(remarks).where(remarks.c.take_id == take_id).order_by(remarks.c.id))
    return records(Remark, rows)


def find_remark(transaction: Transaction, remark_id: int) -> Remark | None:
    """The remark of that number, if there is one."""
    row = transaction.execute(select(remarks).where(remarks.c.id == remark_id)).one_or_none()
    return None if row is None else record(Remark, row)


def remarks_to(transaction: Transaction, person_id: int, *, limit: int = 50) -> tuple[Remark, ...]:
    """What others wrote about a student's takes, the newest first."""
    rows = transaction.execute(
        select(remarks)
        .join(takes, takes.c.id == remarks.c.take_id)
        .where(takes.c.person_id == person_id, remarks.c.author_id != person_id)
        .order_by(remarks.c.id.desc())
        .limit(limit)
    )
    return records(Remark, rows)


def mark_read(transaction: Transaction, take_id: int, reader_id: int, now: datetime) -> None:
    """Note that somebody has read what others wrote about a take."""
    transaction.execute(
        update(remarks)
        .where(remarks.c.take_id == take_id, remarks.c.author_id != reader_id, remarks.c.read_at.is_(None))
        .values(read_at=now)
    )


def delete_remark(transaction: Transaction, remark_id: int) -> None:
    """Take a remark back. Its file is ``takefiles``' matter, and comes after."""
    transaction.execute(remarks.delete().where(remarks.c.id == remark_id))
