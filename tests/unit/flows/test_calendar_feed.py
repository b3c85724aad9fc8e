"""The calendar feed, read by the icalendar library and held against the rules of RFC 5545."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.flows.calendar_feed import Feed, calendar_feed
from fretwright.flows.schedule import Opening, openings
from small_course import small_course

CHANGED = datetime(2026, 3, 1, 12, 30, tzinfo=UTC)
FEED = Feed("enrolment-12.weir.example", "Lines; for a lighthouse, & its keeper", CHANGED, {})
LESSON = Opening("01-stairs", "The stairs", 1, date(2026, 3, 27), None)


@pytest.fixture
def lessons(tmp_path: Path) -> tuple[Opening, ...]:
    return openings(small_course(tmp_path / "course"), date(2026, 3, 27))


def said(part: icalendar.cal.Component, name: str) -> str:
    """A value as the library reads it."""
    return str(part[name])


def events(feed: bytes) -> list[icalendar.Event]:
    return [
        each
        for each in icalendar.Calendar.from_ical(feed).walk("VEVENT")
        if isinstance(each, icalendar.Event)
    ]


def test_an_independent_reader_finds_every_lesson_on_its_day(lessons: tuple[Opening, ...]) -> None:
    feed = replace(FEED, addresses={"02-lamp": "https://weir.example/lessons/02-lamp"})

    first, second = events(calendar_feed(feed, lessons))

    assert (said(first, "SUMMARY"), first.start, first.end) == (
        "Lesson 1: The stairs",
        date(2026, 3, 27),
        date(2026, 3, 28),
    )
    assert (said(second, "SUMMARY"), second.start) == ("Lesson 2: The lamp", date(2026, 3, 30))
    assert said(second, "URL") == "https://weir.example/lessons/02-lamp"
    assert "URL" not in first
    assert first.DTSTAMP == CHANGED
    assert not first.errors


def test_the_calendar_says_who_made_it_and_what_it_is() -> None:
    """RFC 5545, sections 3.7.3 and 3.7.4: PRODID and VERSION once each; RFC 7986, 5.1: NAME."""
    calendar = icalendar.Calendar.from_ical(calendar_feed(FEED, [LESSON]))

    assert said(calendar, "VERSION") == "2.0"
    assert said(calendar, "PRODID").startswith("-//Fretwright//")
    # The library hands this one over as it stands; RFC 7986 makes it a text value.
    assert re.sub(r"\\(.)", r"\1", str(calendar.calendar_name)) == FEED.title
    assert not calendar.errors


def test_an_event_keeps_its_uid_when_its_day_moves_and_no_two_share_one(lessons: tuple[Opening, ...]) -> None:
    """RFC 5545, section 3.8.4.7: persistent and globally unique."""
    moved = [replace(each, opens_on=date(2027, 1, 1)) for each in lessons]
    uids = [said(event, "UID") for event in events(calendar_feed(FEED, lessons))]

    assert uids == [said(event, "UID") for event in events(calendar_feed(FEED, moved))]
    assert len({*uids}) == 2
    other = events(calendar_feed(replace(FEED, id="enrolment-13.weir.example"), lessons))
    assert not {*uids} & {said(event, "UID") for event in other}


def test_the_same_days_are_the_same_bytes(lessons: tuple[Opening, ...]) -> None:
    assert calendar_feed(FEED, lessons) == calendar_feed(FEED, lessons)


def test_a_lesson_that_was_opened_by_hand_says_so() -> None:
    (event,) = events(calendar_feed(FEED, [replace(LESSON, opened_at=CHANGED)]))

    assert "opened this lesson already" in said(event, "DESCRIPTION")


def test_a_course_without_lessons_is_an_empty_calendar() -> None:
    assert not events(calendar_feed(FEED, []))


_PRINTED = st.text(
    st.characters(exclude_categories=("Cs", "Cc")) | st.sampled_from(';,\\:\n\t"'), max_size=200
)


@given(_PRINTED, _PRINTED)
def test_lines_are_folded_and_any_title_comes_back(title: str, course: str) -> None:
    """RFC 5545, section 3.1: CRLF ends a line, none is longer than 75 octets; 3.3.11: text is escaped."""
    feed = calendar_feed(replace(FEED, title=course), [replace(LESSON, title=title)])

    lines = feed.split(b"\r\n")
    assert lines.pop() == b""
    assert all(len(line) <= 75 for line in lines)
    assert not [line for line in lines if b"\r" in line or b"\n" in line]
    for line in lines:
        line.decode("utf-8")
    unfolded = re.sub(rb"\r\n[ \t]", b"", feed).decode().split("\r\n")
    assert [line for line in unfolded if line.startswith("BEGIN")] == ["BEGIN:VCALENDAR", "BEGIN:VEVENT"]
    (event,) = events(feed)
    assert said(event, "SUMMARY") == f"Lesson 1: {title}"


@pytest.mark.parametrize("bad", ["a\x00b", "a\x1bb", "a\x7fb"])
def test_control_characters_are_left_out(bad: str) -> None:
    """RFC 5545, section 3.1: CONTROL may not stand in a content line."""
    (event,) = events(calendar_feed(FEED, [replace(LESSON, title=bad)]))

    assert said(event, "SUMMARY") == "Lesson 1: ab"
