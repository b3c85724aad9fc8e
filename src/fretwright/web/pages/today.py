"""Today's practice: the plan of the day, as long as the student has time, ticked off as it is done."""

from datetime import tzinfo
from typing import Annotated, Final

from fastapi import APIRouter, Form, Path, Request
from starlette.responses import HTMLResponse, RedirectResponse

from fretwright.base.errors import ConflictError
from fretwright.practice.days import practice_day
from fretwright.practice.history import LONGEST_MINUTES, SHORTEST_MINUTES, Wishes
from fretwright.practice.plan import Plan, PlanItem, plan_of
from fretwright.publish.cautions import SHORT_CAUTION
from fretwright.store import practice, remarks
from fretwright.store.records import Person
from fretwright.store.records import Plan as StoredPlan
from fretwright.store.records import PlanItem as StoredItem
from fretwright.web.access import AtSchool, StudentOnly
from fretwright.web.refusals import ERROR_ANSWERS
from fretwright.web.rendering import page
from fretwright.web.school import School
from fretwright.web.studies import Study, study_of

router: Final = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False)
USUAL_MINUTES: Final = 20


@router.get("/today")
def today(request: Request, person: StudentOnly, school: AtSchool) -> HTMLResponse:
    """Today's plan."""
    study = study_of(school, person)
    plan, stored = _plan(school, person, study, None)
    return page(
        request,
        "practice/today.html",
        plan=plan,
        rows=[_row(item, kept, study.zone) for item, kept in zip(plan.items, stored.items, strict=True)],
        least=SHORTEST_MINUTES,
        most=LONGEST_MINUTES,
        caution=SHORT_CAUTION,
        unread=_unread(school, person),
    )


@router.post("/today")
def replan(
    person: StudentOnly,
    school: AtSchool,
    minutes: Annotated[int, Form(ge=SHORTEST_MINUTES, le=LONGEST_MINUTES)],
) -> RedirectResponse:
    """Plan the day for another number of minutes."""
    _plan(school, person, study_of(school, person), minutes)
    return RedirectResponse("/today", status_code=303)


@router.post("/today/{place}")
def tick(
    person: StudentOnly,
    school: AtSchool,
    place: Annotated[int, Path(ge=0, le=1000)],
    done: Annotated[bool, Form()],
) -> RedirectResponse:
    """Tick a part of today's plan, or take the tick back."""
    _, stored = _plan(school, person, study_of(school, person), None)
    with school.database.writing() as transaction:
        practice.mark_done(transaction, stored.id, place, school.now() if done else None)
    return RedirectResponse(f"/today#part-{place}", status_code=303)


def _unread(school: School, person: Person) -> list[int]:
    """Takes about which the teacher wrote something that was not read yet, the newest first."""
    with school.database.reading() as transaction:
        said = remarks.remarks_to(transaction, person.id)
    return list(dict.fromkeys(one.take_id for one in said if one.read_at is None))


def _plan(school: School, person: Person, study: Study, minutes: int | None) -> tuple[Plan, StoredPlan]:
    """The plan of today, and what the store keeps of it; written only where it is another than before."""
    try:
        return _planned(school, person, study, minutes)
    except ConflictError:
        # another device of the student planned the day at the same moment: now it is there
        return _planned(school, person, study, minutes)


def _planned(school: School, person: Person, study: Study, minutes: int | None) -> tuple[Plan, StoredPlan]:
    now, course_id = school.now(), school.classroom.now.record.id
    day = practice_day(now, study.zone)
    with school.database.reading() as transaction:
        stored = practice.find_plan(transaction, person.id, course_id, day)
    if minutes is None:
        minutes = stored.minutes if stored is not None else USUAL_MINUTES
    plan = plan_of(study.course, study.history, Wishes(now, study.zone, minutes, study.releases))
    items = _items(plan, stored)
    if stored is not None and stored.minutes == minutes and _same(stored.items, items):
        return plan, stored
    with school.database.writing() as transaction:
        stored = practice.store_plan(
            transaction, person.id, course_id, day=day, minutes=minutes, items=items, now=now
        )
    return plan, stored


def _items(plan: Plan, stored: StoredPlan | None) -> tuple[StoredItem, ...]:
    """The plan as it is stored, with the ticks that were made already."""
    ticks = {} if stored is None else {(one.kind, one.exercise): one.done_at for one in stored.items}
    return tuple(
        StoredItem(
            place=place,
            kind=item.kind.value,
            exercise=item.exercise.name if item.exercise is not None else None,
            tempo_bpm=float(item.tempos[-1]) if item.tempos else None,
            minutes=float(item.minutes),
            reason=item.why,
            details={"aim": item.aim, "tempos": list(item.tempos), "bar": item.bar},
            done_at=ticks.get((item.kind.value, item.exercise.name if item.exercise is not None else None)),
        )
        for place, item in enumerate(plan.items)
    )


def _same(stored: tuple[StoredItem, ...], items: tuple[StoredItem, ...]) -> bool:
    return [(one.kind, one.exercise, one.reason, one.minutes) for one in stored] == [
        (one.kind, one.exercise, one.reason, one.minutes) for one in items
    ]


_KINDS: Final = {
    "warm-up": "Warm-up",
    "fix": "Fix one thing",
    "review": "Review",
    "climb": "New rung",
    "music": "Music",
    "rest": "Rest",
}


def _row(item: PlanItem, kept: StoredItem, zone: tzinfo) -> dict[str, object]:
    """One part as its template shows it."""
    exercise = item.exercise
    lesson, _, own = (exercise.name if exercise is not None else "").partition("/")
    return {
        "item": item,
        "place": kept.place,
        "label": _KINDS[item.kind.value],
        "address": f"/course/lessons/{lesson}.html#ex-{own}" if exercise is not None else None,
        "rested": f"{item.rested_from.astimezone(zone):%H:%M}" if item.rested_from is not None else None,
        "tempos": ", ".join(str(bpm) for bpm in item.tempos),
        "is_done": item.is_done or kept.done_at is not None,
        "by_take": item.is_done,
    }
