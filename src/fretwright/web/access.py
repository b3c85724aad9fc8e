"""Who may use a route. Every route declares it by one of the kinds below; a test holds them to it.

``SignedIn``, ``TeacherOnly`` and ``StudentOnly`` are parameters of a route's function, ``Anyone`` and
``AnySignedIn`` stand in its decorator::

    def progress(request: Request, person: StudentOnly, school: AtSchool) -> Response: ...

Whose an object is, is asked where it is fetched: ``own_take``. What belongs to another is not there (404).
"""

from typing import Annotated, Final

from fastapi import Depends, Request
from pydantic import Field

from fretwright.base.errors import RefusedError
from fretwright.store import classes, entry, takes
from fretwright.store.records import Enrolment, Person, Role, TakeRecord
from fretwright.web.keys import digest
from fretwright.web.refusals import not_found
from fretwright.web.school import School

RowNumber = Annotated[int, Field(ge=0, le=2**53 - 1)]
"""The number of a row, in an address or a form; larger ones are nobody's."""


def school_of(request: Request) -> School:
    """The school that the application serves."""
    found: School = request.app.state.school
    return found


AtSchool = Annotated[School, Depends(school_of)]
"""A parameter that is the school."""


def session_cookie(school: School) -> str:
    """The session cookie's name. Over https its prefix has the browser refuse it from anywhere else."""
    return "__Host-fretwright" if school.settings.is_https else "fretwright"


def anyone(request: Request, school: AtSchool) -> None:
    """Whoever asks, as often as one address may; who is signed in is known to the page all the same."""
    request.state.person = _person(request, school)
    school.limits.count("address", _address(request))


def signed_in(request: Request, school: AtSchool) -> Person:
    """A person with an account."""
    person = _person(request, school)
    if person is None:
        school.limits.count("address", _address(request))
        raise RefusedError(401, "sign-in", "You are not signed in.", "Sign in and try again.")
    school.limits.count("person", str(person.id))
    request.state.person = person
    return person


def teacher_only(person: Annotated[Person, Depends(signed_in)]) -> Person:
    """A teacher."""
    return _in_role(person, Role.TEACHER)


def student_only(person: Annotated[Person, Depends(signed_in)]) -> Person:
    """A student."""
    return _in_role(person, Role.STUDENT)


Anyone = Depends(anyone)
"""For ``dependencies=[Anyone]``: no account is needed."""
AnySignedIn = Depends(signed_in)
"""The same for ``dependencies=[...]``, where the function need not know who it is."""
SignedIn = Annotated[Person, Depends(signed_in)]
"""A parameter that is whoever is signed in."""
TeacherOnly = Annotated[Person, Depends(teacher_only)]
"""A parameter that is the teacher who is signed in."""
StudentOnly = Annotated[Person, Depends(student_only)]
"""A parameter that is the student who is signed in."""

DECLARATIONS: Final = (anyone, signed_in, teacher_only, student_only)
"""One of these stands behind every route."""


def own_take(school: School, person: Person, take_id: int) -> TakeRecord:
    """A student's own take; for a teacher, any of the course.

    Raises :class:`~fretwright.base.errors.RefusedError` (404) for every other.
    """
    with school.database.reading() as transaction:
        take = takes.find_take(transaction, take_id)
    course_id = school.classroom.now.record.id
    if take is None or take.exercise.course_id != course_id:
        raise not_found()
    if take.person_id != person.id and not person.is_teacher:
        raise not_found()
    return take


def enrolment_of(school: School, person: Person) -> Enrolment:
    """The student's place in the course.

    Raises :class:`~fretwright.base.errors.RefusedError` (403) if there is none.
    """
    with school.database.reading() as transaction:
        found = classes.enrolment(transaction, person.id, school.classroom.now.record.id)
    if found is None:
        raise RefusedError(403, "not-enrolled", "You are not in this course.", "Ask your teacher for a link.")
    return found


def _in_role(person: Person, role: Role) -> Person:
    if person.role is not role:
        raise RefusedError(403, "role", f"This is for a {role.value}.")
    return person


def _person(request: Request, school: School) -> Person | None:
    token = request.cookies.get(session_cookie(school))
    if not token:
        return None
    with school.database.reading() as transaction:
        return entry.person_in_session(transaction, digest(token), school.now())


def _address(request: Request) -> str:
    return request.client.host if request.client is not None else "unknown"
