"""The student's calendar: when each lesson opens, on a page and as a feed for a calendar program."""

from fastapi import APIRouter, Request
from starlette.responses import Response

from fretwright.flows.calendar_feed import MEDIA_TYPE, Feed, calendar_feed
from fretwright.flows.schedule import Opening, openings
from fretwright.practice.days import zone_named
from fretwright.store import classes
from fretwright.store.database import Transaction
from fretwright.store.records import Enrolment
from fretwright.web.access import Anyone, AtSchool, RowNumber, StudentOnly, enrolment_of
from fretwright.web.keys import is_signature, signature
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.school import School

router = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False)

_PURPOSE = "calendar"


@router.get("/calendar")
def calendar_page(request: Request, person: StudentOnly, school: AtSchool) -> Response:
    """Every lesson with its day, and the address of the feed."""
    place = enrolment_of(school, person)
    with school.database.reading() as transaction:
        lessons = _lessons(school, transaction, place)
    zone = zone_named(person.time_zone)
    return page(
        request,
        "calendar/calendar.html",
        lessons=[(lesson, lesson.is_open(school.now(), zone)) for lesson in lessons],
        feed=feed_address(school, person.id),
    )


@router.get("/calendar/{person_id}-{word}.ics", dependencies=[Anyone])
def feed(school: AtSchool, person_id: RowNumber, word: str) -> Response:
    """The feed. A calendar program does not sign in: the address itself is the key, and shows days alone."""
    if not is_signature(word, school.key, _PURPOSE, str(person_id)):
        raise not_found()
    with school.database.reading() as transaction:
        place = classes.enrolment(transaction, person_id, school.classroom.now.record.id)
        if place is None:
            raise not_found()
        lessons = _lessons(school, transaction, place)
    origin = school.settings.origin
    described = Feed(
        id=f"{signature(school.key, 'calendar-event', str(person_id))[:24]}.fretwright",
        title=school.classroom.now.record.title,
        changed_at=max(
            [place.enrolled_at, *(lesson.opened_at for lesson in lessons if lesson.opened_at is not None)]
        ),
        addresses={lesson.lesson: f"{origin}/course/lessons/{lesson.lesson}.html" for lesson in lessons},
    )
    return Response(
        calendar_feed(described, lessons),
        media_type=MEDIA_TYPE,
        headers={"Cache-Control": "private, no-cache"},
    )


def feed_address(school: School, person_id: int) -> str:
    """Where a student's calendar program finds the feed."""
    word = signature(school.key, _PURPOSE, str(person_id))
    return f"{school.settings.origin}/calendar/{person_id}-{word}.ics"


def _lessons(school: School, transaction: Transaction, place: Enrolment) -> tuple[Opening, ...]:
    taught = school.classroom.now
    by_hand = classes.releases(transaction, taught.record.id, place.person_id)
    opened = {one.lesson: one.released_at for one in by_hand}
    return openings(taught.checked.course, place.starts_on, opened)
