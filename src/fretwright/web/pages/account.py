"""Signing in and out, and what a person may change about themselves."""

from typing import Annotated
from zoneinfo import available_timezones

from fastapi import APIRouter, Form, Request
from starlette.responses import RedirectResponse, Response

from fretwright.base.errors import RefusedError
from fretwright.store import entry, mail, people
from fretwright.store.records import LetterDraft, Person
from fretwright.web import keeping
from fretwright.web.access import Anyone, AnySignedIn, AtSchool, SignedIn, session_cookie
from fretwright.web.keys import digest, new_token
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.school import LINK_LASTS, SESSION_LASTS, School

router = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False)


@router.get("/", dependencies=[Anyone])
def home(request: Request) -> Response:
    """Each to where their day begins."""
    person = request.state.person
    if person is None:
        return see_other("/sign-in")
    return see_other("/desk" if person.is_teacher else "/today")


@router.get("/sign-in", dependencies=[Anyone])
def ask_for_link(request: Request) -> Response:
    """Ask for an address."""
    return page(request, "account/sign-in.html", sent=False)


@router.post("/sign-in", dependencies=[Anyone])
def send_link(request: Request, school: AtSchool, email: Annotated[str, Form(max_length=254)]) -> Response:
    """Write a letter with a link, where there is such an account; the page does not tell."""
    address = request.client.host if request.client is not None else "unknown"
    school.limits.count("sign-in-address", address)
    school.limits.count("sign-in-email", digest(people.plain_email(email)))
    with school.database.reading() as transaction:
        found = people.person_by_email(transaction, email)
    if found is not None:
        write_link(school, found)
    return page(request, "account/sign-in.html", sent=True, minutes=LINK_LASTS.seconds // 60)


@router.get("/sign-in/{token}", dependencies=[Anyone])
def show_link(request: Request, school: AtSchool, token: str) -> Response:
    """Show a button. What merely looks at the links in letters does not use them up."""
    school.limits.count("token", request.client.host if request.client is not None else "unknown")
    with school.database.reading() as transaction:
        is_open = entry.is_link_open(transaction, digest(token), school.now())
    if not is_open:
        raise _used_up()
    return page(request, "account/link.html")


@router.post("/sign-in/{token}", dependencies=[Anyone])
def use_link(request: Request, school: AtSchool, token: str) -> Response:
    """Use the link up and open a session."""
    school.limits.count("token", request.client.host if request.client is not None else "unknown")
    with school.database.writing() as transaction:
        person = entry.use_link(transaction, digest(token), school.now())
    if person is None:
        raise _used_up()
    answer = see_other("/")
    open_session(school, person, answer)
    return answer


@router.post("/sign-out")
def sign_out(
    request: Request, school: AtSchool, person: SignedIn, everywhere: Annotated[str, Form()] = ""
) -> Response:
    """End this session, or all of them."""
    token = request.cookies[session_cookie(school)]
    with school.database.writing() as transaction:
        if everywhere:
            entry.end_all_sessions(transaction, person.id)
        else:
            entry.end_session(transaction, digest(token))
    answer = see_other("/sign-in")
    answer.delete_cookie(session_cookie(school), path="/", secure=school.settings.is_https, httponly=True)
    return answer


@router.get("/account", dependencies=[AnySignedIn])
def show_account(request: Request) -> Response:
    """What is known of a person, and what they can do about it."""
    return page(request, "account/account.html", zones=sorted(available_timezones()))


@router.post("/account")
def change_account(
    school: AtSchool,
    person: SignedIn,
    name: Annotated[str, Form(min_length=1, max_length=80)],
    time_zone: Annotated[str, Form(max_length=64)],
    lesson_letters: Annotated[str, Form(max_length=3)] = "",
) -> Response:
    """Change name, time zone, and whether letters about lessons are wanted."""
    if time_zone not in available_timezones() or not name.strip():
        raise RefusedError(422, "malformed", "That name or time zone is not one.", "Choose from the list.")
    with school.database.writing() as transaction:
        people.change_person(transaction, person.id, name=name, time_zone=time_zone)
        if not person.is_teacher:
            people.want_lesson_letters(transaction, person.id, wanted=lesson_letters == "yes")
    return see_other("/account")


@router.post("/account/consent")
def agree(
    school: AtSchool, person: SignedIn, guardian: Annotated[str, Form(max_length=200)] = ""
) -> Response:
    """Agree to recording; below the school's age a guardian does."""
    if person.below_age and not guardian.strip():
        raise RefusedError(
            422, "guardian", "A parent or guardian must agree.", "Write their name or their address."
        )
    with school.database.writing() as transaction:
        people.consent(
            transaction,
            person.id,
            guardian=guardian.strip() if person.below_age else None,
            now=school.now(),
        )
    return see_other("/account")


@router.post("/account/withdraw")
def withdraw(school: AtSchool, person: SignedIn) -> Response:
    """Agree no longer: nothing more can be recorded. What was stays until it is deleted."""
    with school.database.writing() as transaction:
        people.withdraw_consent(transaction, person.id)
    return see_other("/account")


@router.get("/account/export")
def export(school: AtSchool, person: SignedIn) -> Response:
    """Everything that belongs to this person, as one file."""
    school.limits.count("export", str(person.id))
    return Response(
        keeping.exported(school, person),
        media_type="application/zip",
        headers={
            "Content-Disposition": 'attachment; filename="my-practice.zip"',
            "Cache-Control": "no-store",
        },
    )


@router.post("/account/delete")
def delete(school: AtSchool, person: SignedIn, sure: Annotated[str, Form()] = "") -> Response:
    """Delete this person with everything that is theirs."""
    if sure != "yes":
        raise RefusedError(422, "sure", "Nothing was deleted.", "Tick the box if you are sure.")
    keeping.delete_everything(school, person)
    answer = see_other("/sign-in")
    answer.delete_cookie(session_cookie(school), path="/", secure=school.settings.is_https, httponly=True)
    return answer


def open_session(school: School, person: Person, answer: Response) -> None:
    """Sign a person in: a new random cookie, of which the database gets the digest alone."""
    token, now = new_token(), school.now()
    with school.database.writing() as transaction:
        entry.add_session(
            transaction, person.id, digest=digest(token), now=now, expires_at=now + SESSION_LASTS
        )
    answer.set_cookie(
        session_cookie(school),
        token,
        max_age=int(SESSION_LASTS.total_seconds()),
        path="/",
        secure=school.settings.is_https,
        httponly=True,
        samesite="lax",
    )


def write_link(school: School, person: Person) -> None:
    """Put a letter with a sign-in link into the outbox."""
    address = school.sign_in_address(person)
    title = school.classroom.now.record.title
    draft = LetterDraft(
        recipient=person.email,
        subject=f"Sign in: {title}",
        body=f"Open this address within {LINK_LASTS.seconds // 60} minutes to sign in:\n\n{address}\n\n"
        "If you did not ask for it, leave it be: nobody gets in without it.\n",
        reason="sign-in",
        once=f"sign-in {digest(address)}",
        person_id=person.id,
    )
    with school.database.writing() as transaction:
        mail.write_letter(transaction, draft, school.now())


def see_other(address: str) -> RedirectResponse:
    """On to another page, by GET."""
    return RedirectResponse(address, status_code=303)


def _used_up() -> RefusedError:
    refused = not_found()
    return RefusedError(
        refused.status, "link", "This link was used, or is too old.", "Ask for a new one on the sign-in page."
    )
