"""Signing in: links that work once, and sessions. Only digests are stored, never what was sent."""

from datetime import datetime

from sqlalchemy import delete, select, update

from fretwright.store.database import Transaction
from fretwright.store.people import person_of
from fretwright.store.records import Person
from fretwright.store.tables import people, sessions, sign_in_links


def add_link(
    transaction: Transaction, person_id: int, *, digest: str, now: datetime, expires_at: datetime
) -> None:
    """Store a link by its digest."""
    transaction.execute(
        sign_in_links.insert().values(
            person_id=person_id, digest=digest, created_at=now, expires_at=expires_at
        )
    )


def use_link(transaction: Transaction, digest: str, now: datetime) -> Person | None:
    """Use a link up, and say whose it was; ``None`` if it is unknown, used or too old.

    One statement decides, so that of two who use a link at once one gets in.
    """
    used = transaction.execute(
        update(sign_in_links)
        .where(
            sign_in_links.c.digest == digest,
            sign_in_links.c.used_at.is_(None),
            sign_in_links.c.expires_at > now,
        )
        .values(used_at=now)
        .returning(sign_in_links.c.person_id)
    ).scalar_one_or_none()
    if used is None:
        return None
    return person_of(transaction.execute(select(people).where(people.c.id == used)).one())


def is_link_open(transaction: Transaction, digest: str, now: datetime) -> bool:
    """Whether a link could still be used."""
    found = transaction.execute(
        select(sign_in_links.c.id).where(
            sign_in_links.c.digest == digest,
            sign_in_links.c.used_at.is_(None),
            sign_in_links.c.expires_at > now,
        )
    )
    return found.first() is not None


def add_session(
    transaction: Transaction, person_id: int, *, digest: str, now: datetime, expires_at: datetime
) -> None:
    """Store a session by its digest."""
    transaction.execute(
        sessions.insert().values(person_id=person_id, digest=digest, created_at=now, expires_at=expires_at)
    )


def person_in_session(transaction: Transaction, digest: str, now: datetime) -> Person | None:
    """Who is signed in under that digest."""
    row = transaction.execute(
        select(people)
        .join(sessions, sessions.c.person_id == people.c.id)
        .where(sessions.c.digest == digest, sessions.c.expires_at > now)
    ).one_or_none()
    return None if row is None else person_of(row)


def end_session(transaction: Transaction, digest: str) -> None:
    """Sign out here."""
    transaction.execute(delete(sessions).where(sessions.c.digest == digest))


def end_all_sessions(transaction: Transaction, person_id: int) -> None:
    """Sign out everywhere."""
    transaction.execute(delete(sessions).where(sessions.c.person_id == person_id))


def forget_expired(transaction: Transaction, now: datetime) -> None:
    """Delete links and sessions that can no longer be used."""
    transaction.execute(delete(sign_in_links).where(sign_in_links.c.expires_at <= now))
    transaction.execute(delete(sessions).where(sessions.c.expires_at <= now))
