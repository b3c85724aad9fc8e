"""The desk for programs: the same class, takes and pictures, the same verdicts and remarks."""

from datetime import datetime
from typing import Annotated, Final

from fastapi import APIRouter, Depends
from pydantic import BaseModel, Field

from fretwright.ear.verdicts import Verdict
from fretwright.flows.agreement import Rate, agreement_of
from fretwright.store import hearings
from fretwright.web.access import AtSchool, RowNumber, TeacherOnly, teacher_only
from fretwright.web.pages.desk import waiting_takes
from fretwright.web.pages.desk_takes import LONGEST_WORDS, store_remark, store_verdicts
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.roll import followed_class, picture_of

router = APIRouter(
    prefix="/api/desk", tags=["desk"], responses=ERROR_ANSWERS, dependencies=[Depends(teacher_only)]
)

_MOST_NOTES: Final = 5000


class StuckBody(BaseModel):
    """An exercise on which a student does not get on."""

    exercise: str
    bpm: int
    bar: int | None
    words: str


class StudentBody(BaseModel):
    """One student as the teacher follows them."""

    id: int
    name: str
    state: str
    """``stuck``, ``quiet``, ``not begun`` or ``getting on``."""
    last_at: datetime | None
    quiet_days: int
    days_in_week: int
    takes_in_week: int
    stuck: list[StuckBody]


class WaitingBody(BaseModel):
    """A take that waits for the teacher."""

    id: int
    person_id: int
    exercise: str
    received_at: datetime | None
    earlier: int
    """Takes of the same student and exercise before it that wait as well."""
    says: str


class ClassAnswer(BaseModel):
    """The class, those who need the teacher first."""

    students: list[StudentBody]
    waiting: list[WaitingBody]


class RateBody(BaseModel):
    """A share, with Wilson's interval at 95 %."""

    hits: int
    cases: int
    low: float
    high: float


class BarBody(BaseModel):
    """One bar over the class."""

    bar: int
    stopped: RateBody


class NoteBody(BaseModel):
    """One note over the class."""

    id: str
    failing: float
    missed: float
    students: int


class PictureAnswer(BaseModel):
    """One exercise over the class."""

    exercise: str
    headline: str
    students: int
    takes: int
    bars: list[BarBody]
    notes: list[NoteBody]


class AgreementAnswer(BaseModel):
    """How far the ear agrees with the teacher."""

    overall: RateBody
    by_verdict: dict[str, RateBody]
    unsure: RateBody


class MeantBody(BaseModel):
    """A teacher's own verdict on one note."""

    place: Annotated[int, Field(ge=0, le=_MOST_NOTES)]
    """Of the hearing's notes, counted from 0."""
    meant: Verdict


class VerdictsOrder(BaseModel):
    """Verdicts on a take."""

    verdicts: Annotated[list[MeantBody], Field(max_length=_MOST_NOTES)] = []
    agree: bool = False
    """Whether the ear is right on all others."""


class RemarkOrder(BaseModel):
    """A remark on a take."""

    words: Annotated[str, Field(min_length=1, max_length=LONGEST_WORDS)]
    bar: Annotated[int, Field(ge=0, le=9999)] | None = None


@router.get("/class")
def read_class(school: AtSchool) -> ClassAnswer:
    """Who practised, who is stuck and where, and the takes that wait."""
    return ClassAnswer(
        students=[
            StudentBody(
                id=each.id,
                name=each.name,
                state=each.state,
                last_at=each.last_at,
                quiet_days=each.quiet_days,
                days_in_week=each.days_in_week,
                takes_in_week=each.takes_in_week,
                stuck=[
                    StuckBody(exercise=one.exercise, bpm=one.bpm, bar=one.bar, words=one.words)
                    for one in each.stuck
                ],
            )
            for each in followed_class(school)
        ],
        waiting=[
            WaitingBody(
                id=each.take.id,
                person_id=each.take.person_id,
                exercise=each.take.exercise.name,
                received_at=each.take.received_at,
                earlier=each.earlier,
                says=each.says,
            )
            for each in waiting_takes(school)
        ],
    )


@router.get("/exercises/{lesson}/{exercise}")
def read_picture(school: AtSchool, lesson: str, exercise: str) -> PictureAnswer:
    """How often each note of an exercise fails, and which bar stops people."""
    taught, name = school.classroom.now, f"{lesson}/{exercise}"
    if name not in taught.exercises:
        raise not_found()
    found = picture_of(school, name)
    return PictureAnswer(
        exercise=name,
        headline=found.headline,
        students=found.students,
        takes=found.takes,
        bars=[BarBody(bar=bar.number, stopped=_rate(bar.stopped)) for bar in found.bars],
        notes=[
            NoteBody(id=note.note_id, failing=note.failing, missed=note.missed, students=note.students)
            for note in found.notes
        ],
    )


@router.get("/ear")
def read_agreement(school: AtSchool) -> AgreementAnswer:
    """How often the teacher let the ear's verdict stand."""
    with school.database.reading() as transaction:
        found = agreement_of(hearings.agreement(transaction, school.classroom.now.record.id))
    return AgreementAnswer(
        overall=_rate(found.overall),
        by_verdict={verdict.value: _rate(rate) for verdict, rate in found.by_verdict.items()},
        unsure=_rate(found.unsure),
    )


@router.post("/takes/{take_id}/verdicts", status_code=204)
def judge(person: TeacherOnly, school: AtSchool, take_id: RowNumber, order: VerdictsOrder) -> None:
    """Store the teacher's own verdicts."""
    chosen = {each.place: each.meant.value for each in order.verdicts}
    store_verdicts(school, person, take_id, chosen, agrees=order.agree)


@router.post("/takes/{take_id}/remarks", status_code=204)
def remark(person: TeacherOnly, school: AtSchool, take_id: RowNumber, order: RemarkOrder) -> None:
    """Write a remark on a bar of a take, or on all of it."""
    store_remark(school, person, take_id, words=order.words, bar=order.bar)


def _rate(rate: Rate) -> RateBody:
    low, high = rate.interval
    return RateBody(hits=rate.hits, cases=rate.cases, low=round(low, 4), high=round(high, 4))
