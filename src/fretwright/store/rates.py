"""How often something was asked, counted for all servers together."""

from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import case, delete, literal
from sqlalchemy.dialects import postgresql, sqlite

from fretwright.store.database import Transaction
from fretwright.store.tables import rates


def add_hits(
    transaction: Transaction, key: str, hits: int, *, most: int, every: timedelta, now: datetime
) -> bool:
    """Count ``hits`` more of something that may happen ``most`` times in a span of time.

    ``False``, and nothing counted, where that would be too often. Of the span before as much is counted as
    lies within the last ``every``: a sliding window from two numbers. One statement decides, so that servers
    that ask at once do not both get the last place.
    """
    span, left = _place(now, every)
    row = {"key": key, "span": span, "hits": hits, "hits_before": 0, "expires_at": now + 2 * every}
    insert: Any = postgresql.insert if transaction.dialect.name == "postgresql" else sqlite.insert
    # A clock that is a little behind counts into the span that others have begun.
    same = rates.c.span >= span
    hits_now = case((same, rates.c.hits), else_=0)
    hits_before = case((same, rates.c.hits_before), (rates.c.span == span - 1, rates.c.hits), else_=0)
    counted = transaction.execute(
        insert(rates)
        .values(**row)
        .on_conflict_do_update(
            index_elements=["key"],
            set_={
                "span": case((same, rates.c.span), else_=span),
                "hits": hits_now + hits,
                "hits_before": hits_before,
                "expires_at": row["expires_at"],
            },
            where=hits_now + hits_before * literal(left) + hits <= most,
        )
        .returning(rates.c.hits)
    )
    return counted.first() is not None


def forget_rates(transaction: Transaction, now: datetime) -> None:
    """Delete counts that mean nothing any more."""
    transaction.execute(delete(rates).where(rates.c.expires_at <= now))


def _place(now: datetime, every: timedelta) -> tuple[int, float]:
    """Which span a moment lies in, and the share of it that is still to come."""
    spans = now.timestamp() / every.total_seconds()
    return int(spans), 1.0 - spans % 1.0
