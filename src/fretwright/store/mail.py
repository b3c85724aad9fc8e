"""The outbox: letters are stored first and sent afterwards, so that none is lost and none sent twice."""

from dataclasses import asdict
from datetime import datetime

from sqlalchemy import case, delete, select, update

from fretwright.base.errors import ConflictError
from fretwright.store.database import Transaction
from fretwright.store.records import Letter, LetterDraft
from fretwright.store.rows import insert_or_leave, records
from fretwright.store.tables import mail


def write_letter(transaction: Transaction, draft: LetterDraft, now: datetime) -> bool:
    """Put a letter into the outbox; ``False`` if one with the same ``once`` was written before.

    Raises :class:`~fretwright.base.errors.ConflictError` if the address or the subject breaks a line: what
    followed would be read as another header.
    """
    if any(sign in part for part in (draft.recipient, draft.subject) for sign in "\r\n"):
        raise ConflictError("An address and a subject are each one line.")
    return insert_or_leave(
        transaction,
        mail,
        {**asdict(draft), "due_at": draft.due_at or now, "created_at": now, "tries": 0},
    )


def letters_due(
    transaction: Transaction, now: datetime, *, most_tries: int = 5, limit: int = 50
) -> tuple[Letter, ...]:
    """Letters to be sent now, the oldest first."""
    rows = transaction.execute(
        select(mail)
        .where(mail.c.sent_at.is_(None), mail.c.due_at <= now, mail.c.tries < most_tries)
        .order_by(mail.c.due_at, mail.c.id)
        .limit(limit)
    )
    return records(Letter, rows)


def mark_sent(transaction: Transaction, letter_id: int, now: datetime) -> None:
    """Note that a letter left. One that signs somebody in is kept without its words, a key among them."""
    words = case((mail.c.reason == "sign-in", ""), else_=mail.c.body)
    transaction.execute(
        update(mail)
        .where(mail.c.id == letter_id)
        .values(sent_at=now, tries=mail.c.tries + 1, trouble=None, body=words)
    )


def mark_troubled(transaction: Transaction, letter_id: int, trouble: str, again_at: datetime) -> None:
    """Note that a letter could not be sent, and when to try again."""
    transaction.execute(
        update(mail)
        .where(mail.c.id == letter_id)
        .values(tries=mail.c.tries + 1, trouble=trouble, due_at=again_at)
    )


def letters(transaction: Transaction, *, limit: int = 100) -> tuple[Letter, ...]:
    """The outbox, the newest first."""
    return records(Letter, transaction.execute(select(mail).order_by(mail.c.id.desc()).limit(limit)))


def drop_unsent(transaction: Transaction, person_id: int, reason: str) -> None:
    """Forget letters of a kind that wait for a person who wants no more of them."""
    transaction.execute(
        delete(mail).where(mail.c.person_id == person_id, mail.c.reason == reason, mail.c.sent_at.is_(None))
    )


def hold_letter(transaction: Transaction, letter_id: int, now: datetime, until: datetime) -> bool:
    """Take a letter that is due in hand until then; ``False`` if another server has it, or it was sent."""
    held = transaction.execute(
        update(mail)
        .where(mail.c.id == letter_id, mail.c.sent_at.is_(None), mail.c.due_at <= now)
        .values(due_at=until)
    )
    return held.rowcount == 1
