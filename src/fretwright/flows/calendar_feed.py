"""The lessons of one student as a calendar feed (RFC 5545, with the names and intervals of RFC 7986).

Each lesson is an all-day event on the day it opens: a date without a time is the same day in every calendar,
so no time zone travels along. Lines end with CRLF and are folded at 75 octets (section 3.1); text is escaped
(section 3.3.11). An event keeps its UID when its day moves, so that a calendar moves it too.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Final

from fretwright import __version__
from fretwright.flows.schedule import Opening

MEDIA_TYPE: Final = "text/calendar; charset=utf-8"
_MOST_OCTETS: Final = 75


@dataclass(frozen=True, slots=True)
class Feed:
    """What a feed says besides its days."""

    id: str
    """Unique among all feeds of all schools, such as ``enrolment-12.weir.example``; part of every UID."""
    title: str
    """Of the course."""
    changed_at: datetime
    """When anything in it last changed; aware."""
    addresses: dict[str, str]
    """Slug -> address of the lesson's page; may lack some."""


def calendar_feed(feed: Feed, lessons: Iterable[Opening]) -> bytes:
    """The feed as an iCalendar object."""
    return b"".join(_folded(line) for line in _lines(feed, lessons))


def _lines(feed: Feed, lessons: Iterable[Opening]) -> Iterator[str]:
    yield "BEGIN:VCALENDAR"
    yield "VERSION:2.0"
    yield f"PRODID:-//Fretwright//Fretwright {__version__}//EN"
    yield "METHOD:PUBLISH"
    yield f"NAME:{_text(feed.title)}"
    yield f"X-WR-CALNAME:{_text(feed.title)}"
    yield "REFRESH-INTERVAL;VALUE=DURATION:P1D"
    stamp = f"{feed.changed_at.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    for lesson in lessons:
        yield "BEGIN:VEVENT"
        yield f"UID:{lesson.lesson}.{feed.id}"
        yield f"DTSTAMP:{stamp}"
        yield f"DTSTART;VALUE=DATE:{_day(lesson.opens_on)}"
        yield f"DTEND;VALUE=DATE:{_day(lesson.opens_on + timedelta(days=1))}"  # not in it
        yield f"SUMMARY:{_text(f'Lesson {lesson.number}: {lesson.title}')}"
        if lesson.opened_at is not None:
            yield f"DESCRIPTION:{_text('Your teacher has opened this lesson already.')}"
        if lesson.lesson in feed.addresses:
            yield f"URL:{feed.addresses[lesson.lesson]}"
        yield "TRANSP:TRANSPARENT"  # a lesson that opens leaves nobody busy
        yield "END:VEVENT"
    yield "END:VCALENDAR"


def _day(day: date) -> str:
    return f"{day:%Y%m%d}" if day.year >= 1000 else f"{day.year:04}{day:%m%d}"


def _text(words: str) -> str:
    """A text value; control characters other than a line end may not stand in one (section 3.1, CONTROL)."""
    plain = words.replace("\r\n", "\n").replace("\r", "\n")
    kept = "".join(each for each in plain if each in "\n\t" or (each >= " " and each != "\x7f"))
    return kept.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def _folded(line: str) -> bytes:
    """One content line; folded between characters, never inside one."""
    pieces = [bytearray()]
    for character in line:
        octets = character.encode("utf-8", "replace")
        if len(pieces[-1]) + len(octets) > _MOST_OCTETS:
            pieces.append(bytearray(b" "))
        pieces[-1] += octets
    return b"\r\n".join(pieces) + b"\r\n"
