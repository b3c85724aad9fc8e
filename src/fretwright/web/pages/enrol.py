"""Enrolling by a link that the teacher gave away."""

from typing import Annotated, Final
from zoneinfo import available_timezones

from fastapi import APIRouter, Form, Request
from pydantic import BaseModel, Field, field_validator
from starlette.responses import Response

from fretwright.base.errors import RefusedError, UsageError
from fretwright.flows.mail import require_address
from fretwright.store import classes, people
from fretwright.store.database import Transaction
from fretwright.store.records import Invitation, Person, Role
from fretwright.web.access import Anyone, AtSchool
from fretwright.web.clock import day_of
from fretwright.web.keys import digest
from fretwright.web.pages.account import open_session, see_other, write_link
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.school import School

router = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False, dependencies=[Anyone])

LONGEST_NAME: Final = 80
_FIRST_PAGE: Final = "/course/index.html"


@router.get("/enrol/{token}")
def enrol_page(request: Request, school: AtSchool, token: str) -> Response:
    """The form; for a student who is signed in, a button."""
    _count(request, school)
    with school.database.reading() as transaction:
        _invitation(school, transaction, token)
    return _form(request, school)


class EnrolForm(BaseModel):
    """What a new student says of themselves."""

    name: Annotated[str, Field(max_length=LONGEST_NAME)] = ""
    email: Annotated[str, Field(max_length=300)] = ""
    time_zone: Annotated[str, Field(max_length=64)] = ""
    age: Annotated[str, Field(max_length=10)] = ""
    """``of-age`` or ``younger``."""
    guardian: Annotated[str, Field(max_length=200)] = ""
    consent: Annotated[str, Field(max_length=10)] = ""
    """To recording; empty where it is not given."""

    @field_validator("name", "email", "guardian")
    @classmethod
    def _one_line(cls, text: str) -> str:
        return " ".join(text.split())


@router.post("/enrol/{token}")
def enrol(request: Request, school: AtSchool, token: str, given: Annotated[EnrolForm, Form()]) -> Response:
    """Take a place: as whoever is signed in, or with a new account."""
    _count(request, school)
    if request.state.person is not None:
        return _take_own_place(request.state.person, school, token)
    trouble = _trouble(school, given)
    if trouble:
        return _form(request, school, given, trouble)
    known, person = _enrolled(school, token, given)
    if known or school.settings.smtp is not None:
        # An address proves itself by a letter. Whether there was an account already is not told.
        write_link(school, person)
        return page(request, "enrol/sent.html", is_sent_by_mail=school.settings.smtp is not None)
    answer = see_other(_FIRST_PAGE)
    open_session(school, person, answer)
    return answer


def _count(request: Request, school: School) -> None:
    school.limits.count("token", request.client.host if request.client is not None else "unknown")


def _invitation(school: School, transaction: Transaction, token: str) -> Invitation:
    found = classes.find_invitation(transaction, digest(token), school.now())
    if found is None or found.course_id != school.classroom.now.record.id:
        refused = not_found()
        raise RefusedError(
            refused.status,
            "invitation",
            "This link is used up, withdrawn or too old.",
            "Ask your teacher for another one.",
        )
    return found


def _form(request: Request, school: School, given: EnrolForm | None = None, trouble: str = "") -> Response:
    return page(
        request,
        "enrol/enrol.html",
        status=422 if trouble else 200,
        given=given or EnrolForm(),
        trouble=trouble,
        zones=sorted(available_timezones()),
        consent_age=school.settings.consent_age,
        retention_days=school.settings.retention_days,
        teacher=school.classroom.now.checked.course.teacher,
    )


def _trouble(school: School, given: EnrolForm) -> str:
    """What is missing from the form, in a sentence; empty where nothing is."""
    if not given.name:
        return "Write your name, as your teacher should read it."
    try:
        require_address(given.email)
    except UsageError as error:
        return str(error)
    if given.time_zone not in available_timezones():
        return "Choose a time zone from the list."
    if given.age not in {"of-age", "younger"}:
        return f"Say whether you are {school.settings.consent_age} or older."
    if given.consent and given.age == "younger" and not given.guardian:
        return "Write the name of the parent or guardian who agrees to recording."
    return ""


def _enrolled(school: School, token: str, given: EnrolForm) -> tuple[bool, Person]:
    """A new student with a place; for an address that has an account, that account and no place yet."""
    now = school.now()
    with school.database.writing() as transaction:
        invitation = _invitation(school, transaction, token)
        known = people.person_by_email(transaction, given.email)
        if known is not None:
            return True, known
        is_younger = given.age == "younger"
        person = people.add_person(
            transaction,
            role=Role.STUDENT,
            name=given.name,
            email=given.email,
            time_zone=given.time_zone,
            now=now,
            below_age=is_younger,
        )
        if given.consent:
            guardian = given.guardian if is_younger else None
            people.consent(transaction, person.id, guardian=guardian, now=now)
        _take_place(school, transaction, invitation, person)
        return False, people.person(transaction, person.id)


def _take_own_place(person: Person, school: School, token: str) -> Response:
    if person.is_teacher:
        raise RefusedError(
            403, "role", "A teacher takes no place in the course.", "Send the link to a student."
        )
    with school.database.writing() as transaction:
        invitation = _invitation(school, transaction, token)
        if classes.enrolment(transaction, person.id, invitation.course_id) is None:
            _take_place(school, transaction, invitation, person)
    return see_other(_FIRST_PAGE)


def _take_place(school: School, transaction: Transaction, invitation: Invitation, person: Person) -> None:
    now = school.now()
    if not classes.take_place(transaction, invitation.id, now):
        raise RefusedError(
            409, "full", "The last place was just taken.", "Ask your teacher for another link."
        )
    classes.enrol(transaction, person.id, invitation.course_id, starts_on=day_of(person, now), now=now)
