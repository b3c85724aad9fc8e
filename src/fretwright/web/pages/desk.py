"""The desk: the class at a glance, and one student."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from fretwright.flows.following import Followed, follow
from fretwright.flows.schedule import openings
from fretwright.practice.progress import progress_of
from fretwright.store import classes, following, hearings, people, takes
from fretwright.store.records import TakeRecord, TakeState
from fretwright.web.access import AtSchool, RowNumber, teacher_only
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.roll import followed_class, member_of
from fretwright.web.school import School
from fretwright.web.studies import study_of

router = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False, dependencies=[Depends(teacher_only)])

WAITING_DAYS: Final = 28
MOST_WAITING: Final = 200
_MOST_TAKES: Final = 60
_SIGNS: Final = {"stuck": "✕", "quiet": "◇", "not begun": "○", "getting on": "●"}
"""Told apart without colour, and always beside the word."""


@dataclass(frozen=True, slots=True)
class WaitingTake:
    """A take that waits for the teacher."""

    take: TakeRecord
    student: str
    """Their name."""
    earlier: int
    """Takes of the same student and exercise before it that wait as well."""
    says: str
    """What the ear says of it."""


@router.get("/desk")
def class_page(request: Request, school: AtSchool) -> Response:
    """Who practised, who is stuck and where, and the takes that wait."""
    followed = followed_class(school)
    return page(
        request,
        "desk/class.html",
        headline=headline_of(followed),
        followed=followed,
        waiting=waiting_takes(school),
        days=WAITING_DAYS,
        signs=_SIGNS,
    )


@router.get("/desk/students/{person_id}")
def student_page(request: Request, school: AtSchool, person_id: RowNumber) -> Response:
    """One student: where they stand, what they recorded, which lessons lie open."""
    taught = school.classroom.now
    with school.database.reading() as transaction:
        student = people.find_person(transaction, person_id)
        place = classes.enrolment(transaction, person_id, taught.record.id)
        if student is None or place is None:
            raise not_found()
        found = takes.takes_of(transaction, person_id, limit=_MOST_TAKES)
        headlines = hearings.headlines(transaction, [take.id for take in found])
        by_hand = classes.releases(transaction, taught.record.id, person_id)
    said = {take.id: _says(take, headlines) for take in found if take.exercise.course_id == taught.record.id}
    study = study_of(school, student)
    opened = {one.lesson: one.released_at for one in by_hand}
    lessons = openings(taught.checked.course, place.starts_on, opened)
    (followed,) = follow([member_of(school, student)], school.now())
    return page(
        request,
        "desk/student.html",
        student=student,
        place=place,
        followed=followed,
        signs=_SIGNS,
        ways=progress_of(study.course, study.history, study.zone).exercises,
        takes=[take for take in found if take.id in said],
        said=said,
        lessons=[(lesson, lesson.is_open(school.now(), study.zone)) for lesson in lessons],
    )


def headline_of(followed: Iterable[Followed]) -> str:
    """The class in a sentence."""
    everybody = list(followed)
    if not everybody:
        return "No students yet."
    states = [each.state for each in everybody]
    active = sum(each.takes_in_week > 0 for each in everybody)
    parts = [f"{active} of {len(everybody)} recorded something in the last seven days"]
    if stuck := states.count("stuck"):
        parts.append(f"{stuck} {'is' if stuck == 1 else 'are'} stuck")
    if quiet := states.count("quiet"):
        parts.append(f"{quiet} {'has' if quiet == 1 else 'have'} gone quiet")
    return f"{', '.join(parts)}."


def waiting_takes(school: School) -> list[WaitingTake]:
    """The newest take of each student and exercise that waits, the newest first."""
    taught = school.classroom.now
    since = school.now() - timedelta(days=WAITING_DAYS)
    with school.database.reading() as transaction:
        found = following.unanswered_takes(transaction, taught.record.id, since=since, limit=MOST_WAITING)
        names = {student.id: student.name for student in people.students_of(transaction, taught.record.id)}
        headlines = hearings.headlines(transaction, [take.id for take in found])
    together: dict[tuple[int, str], list[TakeRecord]] = {}
    for take in found:
        together.setdefault((take.person_id, take.exercise.name), []).append(take)
    return [
        WaitingTake(
            newest[0], names.get(newest[0].person_id, ""), len(newest) - 1, _says(newest[0], headlines)
        )
        for newest in together.values()
    ]


def _says(take: TakeRecord, headlines: Mapping[int, str]) -> str:
    """What there is to say of a take, in a line."""
    if take.state in {TakeState.REFUSED, TakeState.FAILED}:
        return take.trouble or "could not be judged"
    if take.state is not TakeState.JUDGED:
        return "waits to be judged"
    return headlines.get(take.id, "")
