"""Days of practice: time zones, daylight saving, late nights, clocks that are wrong."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import UsageError
from fretwright.practice.days import LONGEST_WAIT, believed, day_starts, practice_day, week_of, zone_named

ZONES = ("UTC", "Europe/Oslo", "America/St_Johns", "Asia/Kathmandu", "Pacific/Apia", "Pacific/Chatham",
         "Australia/Lord_Howe", "America/Sao_Paulo", "Pacific/Kiritimati", "Africa/Casablanca")  # fmt: skip
moments = st.datetimes(datetime(2020, 1, 1), datetime(2035, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001 - hypothesis wants naive bounds


@given(moments, st.sampled_from(ZONES))
def test_a_day_holds_the_moments_from_its_start_to_the_next(at: datetime, name: str) -> None:
    zone = ZoneInfo(name)
    day = practice_day(at, zone)

    assert day_starts(day, zone) <= at < day_starts(day + timedelta(days=1), zone)


@given(moments, st.sampled_from(ZONES))
def test_a_day_begins_at_four_on_the_wall(at: datetime, name: str) -> None:
    zone = ZoneInfo(name)

    assert day_starts(practice_day(at, zone), zone).astimezone(zone).hour == 4


def test_after_midnight_is_still_the_same_day() -> None:
    oslo = ZoneInfo("Europe/Oslo")

    assert practice_day(datetime(2031, 7, 2, 1, 30, tzinfo=oslo), oslo) == date(2031, 7, 1)
    assert practice_day(datetime(2031, 7, 2, 4, 0, tzinfo=oslo), oslo) == date(2031, 7, 2)


def test_the_days_on_which_clocks_change_have_23_and_25_hours() -> None:
    """Daylight saving in the European Union begins and ends on the last Sundays of March and October
    (Directive 2000/84/EC)."""
    oslo = ZoneInfo("Europe/Oslo")

    def hours(day: date) -> float:
        return (day_starts(day + timedelta(days=1), oslo) - day_starts(day, oslo)) / timedelta(hours=1)

    assert hours(date(2026, 3, 28)) == 23
    assert hours(date(2026, 10, 24)) == 25
    assert hours(date(2026, 6, 1)) == 24


def test_the_same_evening_is_another_date_elsewhere() -> None:
    at = datetime(2031, 3, 3, 22, 0, tzinfo=UTC)

    assert practice_day(at, ZoneInfo("America/St_Johns")) == date(2031, 3, 3)
    assert practice_day(at, ZoneInfo("Pacific/Chatham")) == date(2031, 3, 4)


def test_weeks_begin_on_monday() -> None:
    """ISO 8601: 2031-03-03 is the Monday of week 10."""
    assert week_of(date(2031, 3, 9)) == date(2031, 3, 3) == date.fromisocalendar(2031, 10, 1)


@given(moments, st.timedeltas(-LONGEST_WAIT * 3, LONGEST_WAIT * 3))
def test_a_take_is_never_believed_to_lie_in_the_future_or_too_far_back(
    received: datetime, ahead: timedelta
) -> None:
    at = believed(received + ahead, received)

    assert received - LONGEST_WAIT <= at <= received
    assert at in {received, received + ahead}


def test_a_take_that_waited_for_a_connection_keeps_its_own_time() -> None:
    received = datetime(2031, 3, 3, 12, tzinfo=UTC)

    assert believed(received - timedelta(days=3), received) == received - timedelta(days=3)
    assert believed(datetime(1970, 1, 1, tzinfo=UTC), received) == received
    assert believed(received + timedelta(hours=1), received) == received
    assert believed(None, received) == received


@pytest.mark.parametrize("name", ["", "Mars/Base", "../etc/passwd", "/etc/localtime"])
def test_a_zone_that_is_none_is_told(name: str) -> None:
    with pytest.raises(UsageError, match="time zone"):
        zone_named(name)
