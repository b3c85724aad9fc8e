"""From rows of the database to records."""

from collections.abc import Iterable
from dataclasses import fields
from typing import Any, TypeVar, cast

from sqlalchemy import Insert, Row, Table
from sqlalchemy.dialects import postgresql, sqlite

from fretwright.store.database import Transaction

Kind = TypeVar("Kind")


def record(kind: type[Kind], row: Row[Any], **others: object) -> Kind:
    """A record from the row's columns of the same names; ``others`` are given as they are."""
    found = row._mapping  # noqa: SLF001 - public by the library's own documents, in spite of its name
    names = [field.name for field in fields(cast("Any", kind))]
    return kind(**{name: found[name] for name in names if name not in others}, **others)


def records(kind: type[Kind], rows: Iterable[Row[Any]]) -> tuple[Kind, ...]:
    """One record for each row."""
    return tuple(record(kind, row) for row in rows)


def upsert(transaction: Transaction, table: Table, keys: tuple[str, ...], values: dict[str, Any]) -> None:
    """Write a row, or the other columns of the one that has these keys already."""
    others = {name: value for name, value in values.items() if name not in keys}
    if transaction.dialect.name == "postgresql":
        pg = postgresql.insert(table).values(**values)
        transaction.execute(pg.on_conflict_do_update(index_elements=list(keys), set_=others))
        return
    lite = sqlite.insert(table).values(**values)
    transaction.execute(lite.on_conflict_do_update(index_elements=list(keys), set_=others))


def insert_or_leave(transaction: Transaction, table: Table, values: dict[str, Any]) -> bool:
    """Write a row unless one with the same keys is there. Says whether it was written."""
    statement: Insert = (
        postgresql.insert(table).values(**values).on_conflict_do_nothing()
        if transaction.dialect.name == "postgresql"
        else sqlite.insert(table).values(**values).on_conflict_do_nothing()
    )
    return transaction.execute(statement).rowcount == 1
