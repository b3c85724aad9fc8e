"""Which day of practice a moment belongs to.

Conventions: moments are aware and kept in UTC; a day is the student's own, begins at four in the morning on
their wall clock, and is named by a date. Days are counted by date and never by hours, so that neither
daylight saving nor a late evening moves them.
"""

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Final
from zoneinfo import ZoneInfo

from fretwright.base.errors import UsageError

DAY_BEGINS_HOUR: Final = 4
"""Whoever plays after midnight has not begun a new day."""
LONGEST_WAIT: Final = timedelta(days=60)
"""A take that was recorded without a connection may wait so long on its device."""


def zone_named(name: str) -> tzinfo:
    """The time zone of an IANA name (``Europe/Oslo``).

    Raises :class:`~fretwright.base.errors.UsageError` if there is none.
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        message = f"there is no time zone {name!r}"
        raise UsageError(message, "Give the name of an IANA zone, such as Europe/Oslo.") from error


def practice_day(at: datetime, zone: tzinfo) -> date:
    """The day to which a moment belongs on the student's wall clock."""
    local = at.astimezone(zone)
    return local.date() - timedelta(days=local.hour < DAY_BEGINS_HOUR)


def day_starts(day: date, zone: tzinfo) -> datetime:
    """The moment at which a day begins, in UTC."""
    return datetime.combine(day, time(DAY_BEGINS_HOUR), zone).astimezone(UTC)


def week_of(day: date) -> date:
    """The Monday of its week (ISO 8601)."""
    return day - timedelta(days=day.weekday())


def believed(recorded_at: datetime | None, received_at: datetime) -> datetime:
    """When a take was played: as its device says, unless its clock cannot be right.

    A device that claims a time after the take arrived, or long before, has its clock set wrong; the
    server's moment of arrival is then the nearest that is known.
    """
    if recorded_at is None or not received_at - LONGEST_WAIT <= recorded_at <= received_at:
        return received_at.astimezone(UTC)
    return recorded_at.astimezone(UTC)
