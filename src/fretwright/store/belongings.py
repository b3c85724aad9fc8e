"""What belongs to one person: all of it, to take home or to delete."""

from collections.abc import Mapping
from typing import Any, Final

from sqlalchemy import ColumnElement, Table, or_, select

from fretwright.store.database import Transaction
from fretwright.store.plain import plain_row
from fretwright.store.tables import metadata, people, plans, remarks, takes

KEYS: Final = frozenset({"sessions", "sign_in_links", "rates"})
"""Tables of nothing but digests: of no use to anybody but the school that runs."""
SHARED: Final = frozenset({"courses", "exercises", "invitations"})
"""Tables in which nothing belongs to a person."""


def belongings(transaction: Transaction, person_id: int) -> Mapping[str, list[dict[str, Any]]]:
    """Every row that belongs to a person, by table, and what they wrote for others.

    :func:`~fretwright.store.people.delete_person` deletes just these.
    """
    found = {}
    for table in metadata.sorted_tables:
        if table.name not in KEYS | SHARED:
            rows = transaction.execute(select(table).where(_is_of(table, person_id)))
            found[table.name] = [plain_row(table, row) for row in rows]
    return found


def files_of(transaction: Transaction, person_id: int) -> tuple[str, ...]:
    """Names of all files that hold a person's recordings, and of those made in answer to them."""
    own = select(takes.c.file).where(takes.c.person_id == person_id, takes.c.file.is_not(None))
    answers = select(remarks.c.file).where(_is_of(remarks, person_id), remarks.c.file.is_not(None))
    return tuple(str(name) for query in (own, answers) for name in transaction.execute(query).scalars())


def all_files(transaction: Transaction) -> frozenset[str]:
    """Names of all files that any row names."""
    columns = (takes.c.file, remarks.c.file)
    queries = [select(column).where(column.is_not(None)) for column in columns]
    return frozenset(str(name) for query in queries for name in transaction.execute(query).scalars())


def _is_of(table: Table, person_id: int) -> ColumnElement[bool]:
    """Whether a row belongs to the person: by itself, or through the take or plan it belongs to."""
    columns = table.c
    ways: list[ColumnElement[bool]] = []
    if table is people:
        ways.append(columns.id == person_id)
    ways += [
        columns[name] == person_id for name in ("person_id", "author_id", "teacher_id") if name in columns
    ]
    if "take_id" in columns:
        ways.append(columns.take_id.in_(select(takes.c.id).where(takes.c.person_id == person_id)))
    if "plan_id" in columns:
        ways.append(columns.plan_id.in_(select(plans.c.id).where(plans.c.person_id == person_id)))
    return or_(*ways)
