"""Wanting no more letters about lessons: by the address that stands in each, without signing in."""

from fastapi import APIRouter, Request
from starlette.responses import Response

from fretwright.store import mail, people
from fretwright.store.records import Person
from fretwright.web.access import Anyone, AtSchool, RowNumber
from fretwright.web.guards import STOP
from fretwright.web.keys import is_signature
from fretwright.web.postbox import LESSON
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.school import School

router = APIRouter(
    prefix=STOP.rstrip("/"), responses=ERROR_ANSWERS, include_in_schema=False, dependencies=[Anyone]
)


@router.get("/{person_id}-{word}")
def ask(request: Request, school: AtSchool, person_id: RowNumber, word: str) -> Response:
    """A button. What merely looks at the links in letters stops none."""
    return page(request, "letters/stop.html", reader=_reader(school, person_id, word))


@router.post("/{person_id}-{word}")
def stop(request: Request, school: AtSchool, person_id: RowNumber, word: str) -> Response:
    """Write no more letters about lessons to this person.

    Mailboxes post here by themselves when their owner presses their own button (RFC 8058): they bring no
    session and no ``Origin``, and the address itself is the key.
    """
    reader = _reader(school, person_id, word)
    with school.database.writing() as transaction:
        people.want_lesson_letters(transaction, reader.id, wanted=False)
        mail.drop_unsent(transaction, reader.id, LESSON)
        reader = people.person(transaction, reader.id)
    return page(request, "letters/stop.html", reader=reader)


def _reader(school: School, person_id: int, word: str) -> Person:
    """Whose letters they are, if the address is one that the school made."""
    if not is_signature(word, school.key, LESSON, str(person_id)):
        raise not_found()
    with school.database.reading() as transaction:
        found = people.find_person(transaction, person_id)
    if found is None:
        raise not_found()
    return found
