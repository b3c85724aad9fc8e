"""Letting students in, opening lessons, and the letters that leave the school."""

from datetime import timedelta
from typing import Annotated, Final

from fastapi import APIRouter, Depends, Form, Request
from starlette.responses import Response

from fretwright.base.errors import RefusedError, UsageError
from fretwright.flows.mail import require_address
from fretwright.store import classes, mail, people
from fretwright.store.records import LetterDraft
from fretwright.web.access import AtSchool, RowNumber, teacher_only
from fretwright.web.keys import digest, new_token
from fretwright.web.pages.account import see_other
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.school import School

router = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False, dependencies=[Depends(teacher_only)])

INVITATION_LASTS: Final = timedelta(days=30)
MOST_PLACES: Final = 500
_MOST_INVITED: Final = 200


@router.get("/desk/enrol")
def enrol_page(request: Request, school: AtSchool) -> Response:
    """Links by which students enrol, and lessons opened for the whole class."""
    return _page(request, school)


@router.post("/desk/links")
def make_link(
    request: Request,
    school: AtSchool,
    places: Annotated[int, Form(ge=1, le=MOST_PLACES)],
    note: Annotated[str, Form(max_length=120)] = "",
) -> Response:
    """Make a link for a number of students. It is shown once: the school keeps only its digest."""
    return _page(request, school, link=_invite(school, places, note))


@router.post("/desk/links/{invitation_id}/withdraw")
def withdraw(school: AtSchool, invitation_id: RowNumber) -> Response:
    """Close a link for good."""
    with school.database.writing() as transaction:
        classes.withdraw_invitation(transaction, school.classroom.now.record.id, invitation_id, school.now())
    return see_other("/desk/enrol")


@router.post("/desk/invite")
def invite(
    request: Request, school: AtSchool, addresses: Annotated[str, Form(max_length=60_000)]
) -> Response:
    """Write a letter with a link of its own to each address."""
    wanted = list(dict.fromkeys(addresses.replace(",", " ").replace(";", " ").split()))
    try:
        checked = [require_address(address) for address in wanted]
    except UsageError as error:
        return _page(request, school, trouble=str(error), addresses=addresses)
    if not 0 < len(checked) <= _MOST_INVITED:
        trouble = f"Write from 1 to {_MOST_INVITED} addresses."
        return _page(request, school, trouble=trouble, addresses=addresses)
    for address in checked:
        _write_invitation(school, address)
    return _page(request, school, invited=len(checked))


@router.post("/desk/open")
def open_lesson(
    school: AtSchool,
    lesson: Annotated[str, Form(max_length=100)],
    person_id: Annotated[RowNumber | None, Form()] = None,
    back: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Open a lesson before its day, for all or for one student; with ``back``, leave it to its day again."""
    taught = school.classroom.now
    if lesson not in {each.slug for each in taught.checked.course.lessons}:
        raise not_found()
    with school.database.writing() as transaction:
        if person_id is not None and classes.enrolment(transaction, person_id, taught.record.id) is None:
            raise not_found()
        if back:
            classes.take_back_release(transaction, taught.record.id, lesson, person_id=person_id)
        else:
            classes.release(transaction, taught.record.id, lesson, person_id=person_id, now=school.now())
    return see_other("/desk/enrol#lessons" if person_id is None else f"/desk/students/{person_id}#lessons")


@router.post("/desk/students/{person_id}/leave")
def let_go(school: AtSchool, person_id: RowNumber) -> Response:
    """Take a student out of the course; what they recorded stays theirs."""
    taught = school.classroom.now
    with school.database.writing() as transaction:
        if classes.enrolment(transaction, person_id, taught.record.id) is None:
            raise not_found()
        classes.leave(transaction, person_id, taught.record.id, school.now())
    return see_other("/desk")


@router.get("/desk/letters")
def letters_page(request: Request, school: AtSchool) -> Response:
    """What was sent, what waits, and what could not be sent."""
    with school.database.reading() as transaction:
        found = mail.letters(transaction, limit=100)
    return page(request, "desk/letters.html", letters=found, is_sent_by_mail=school.settings.smtp is not None)


def _page(
    request: Request,
    school: School,
    *,
    link: str | None = None,
    invited: int = 0,
    trouble: str = "",
    addresses: str = "",
) -> Response:
    taught = school.classroom.now
    with school.database.reading() as transaction:
        links = classes.invitations_of(transaction, taught.record.id)
        opened = {one.lesson: one.released_at for one in classes.releases(transaction, taught.record.id)}
        students = people.students_of(transaction, taught.record.id)
    return page(
        request,
        "desk/enrol.html",
        status=422 if trouble else 200,
        links=[each for each in links if each.withdrawn_at is None and each.expires_at > school.now()],
        link=link,
        invited=invited,
        trouble=trouble,
        addresses=addresses,
        students=students,
        lessons=[(lesson, opened.get(lesson.slug)) for lesson in taught.checked.course.lessons],
        pace=taught.checked.course.days_between_lessons,
        lasts=INVITATION_LASTS.days,
        is_sent_by_mail=school.settings.smtp is not None,
        most=MOST_PLACES,
    )


def _invite(school: School, places: int, note: str) -> str:
    """A new link; the address is all there is of it."""
    token, now = new_token(), school.now()
    with school.database.writing() as transaction:
        classes.add_invitation(
            transaction,
            school.classroom.now.record.id,
            digest=digest(token),
            note=note.strip(),
            places=places,
            now=now,
            expires_at=now + INVITATION_LASTS,
        )
    return f"{school.settings.origin}/enrol/{token}"


def _write_invitation(school: School, address: str) -> None:
    taught = school.classroom.now
    link = _invite(school, 1, address)
    draft = LetterDraft(
        recipient=address,
        subject=f"Your place in the course: {_one_line(taught.record.title)}",
        body=(
            f"{taught.checked.course.teacher} invites you to the course {_one_line(taught.record.title)}.\n\n"
            f"Open this address within {INVITATION_LASTS.days} days to take your place:\n\n{link}\n\n"
            "It works once. If you do not know what this is about, leave it be.\n"
        ),
        reason="invitation",
        once=f"invitation {digest(link)}",
    )
    with school.database.writing() as transaction:
        if not mail.write_letter(transaction, draft, school.now()):
            raise RefusedError(409, "conflict", "That letter was written already.")


def _one_line(text: str) -> str:
    return " ".join(text.split())
