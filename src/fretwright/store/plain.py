"""Rows as plain JSON and back, the same from either database."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from sqlalchemy import Row, Table


def plain_row(table: Table, row: Row[Any]) -> dict[str, Any]:
    """A row by column name; times and days as text (ISO 8601)."""
    return {
        column.name: value.isoformat() if isinstance(value, date) else value
        for column, value in zip(table.columns, row, strict=True)
    }


def row_of(table: Table, plain: Mapping[str, Any]) -> dict[str, Any]:
    """What :func:`plain_row` made, as the database takes it."""
    return {column.name: _value(column.type.python_type, plain[column.name]) for column in table.columns}


def _value(kind: type[Any], value: Any) -> Any:  # noqa: ANN401 - whatever a column holds
    if value is not None and issubclass(kind, datetime):
        return datetime.fromisoformat(value)
    if value is not None and issubclass(kind, date):
        return date.fromisoformat(value)
    return value
