"""What time it is, as something that a test can replace."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from fretwright.store.records import Person

Clock = Callable[[], datetime]
"""Gives the present moment, aware."""


def utc_now() -> datetime:
    """The present moment in UTC."""
    return datetime.now(UTC)


def day_of(person: Person, at: datetime) -> date:
    """What day a moment is where that person lives."""
    return at.astimezone(ZoneInfo(person.time_zone)).date()
