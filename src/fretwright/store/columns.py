"""Kinds of columns that mean the same on SQLite and on PostgreSQL."""

from datetime import UTC, datetime
from typing import Final

from sqlalchemy import JSON, BigInteger, DateTime, Dialect, Integer
from sqlalchemy.types import TypeDecorator

from fretwright.base.errors import StoreError


class Moment(TypeDecorator[datetime]):
    """An aware time. Stored in UTC; SQLite, which knows no zones, gets it without one."""

    impl = DateTime(timezone=True)
    cache_ok = True

    @property
    def python_type(self) -> type[datetime]:
        """What a value of it is."""
        return datetime

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse a time without a zone, and turn any other into UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise StoreError(
                f"The time {value} has no zone.", "Give an aware time, such as datetime.now(UTC)."
            )
        in_utc = value.astimezone(UTC)
        return in_utc.replace(tzinfo=None) if dialect.name == "sqlite" else in_utc

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002 - the library's signature
        """Give every time its zone back."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


Key = BigInteger().with_variant(Integer, "sqlite")
"""A row's number. SQLite counts up by itself only a column of its own integer kind."""

Document: Final = JSON(none_as_null=True)
"""A JSON document that is read back whole."""
