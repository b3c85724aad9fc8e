"""The class picture of each exercise, and how far the ear agrees with the teacher."""

from typing import Any, Final

from fastapi import APIRouter, Depends, Request
from markupsafe import Markup
from starlette.responses import Response

from fretwright.ear.verdicts import Verdict
from fretwright.engrave.style import PlateStyle
from fretwright.flows.agreement import agreement_of
from fretwright.flows.class_picture import ClassPicture, class_plate
from fretwright.flows.planning import bar_of
from fretwright.flows.take_view import place_of
from fretwright.score.score import Score
from fretwright.store import hearings
from fretwright.web.access import AtSchool, teacher_only
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.roll import NEWEST, class_pictures, picture_of

router = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False, dependencies=[Depends(teacher_only)])

_STYLES: Final = {"wide": PlateStyle(width_mm=170.0), "narrow": PlateStyle(width_mm=84.0)}
_VERDICTS: Final = {
    Verdict.PLAYED: "played",
    Verdict.MISSED: "missed",
    Verdict.WRONG: "wrong",
    Verdict.UNSURE: "unsure",
}


@router.get("/desk/exercises")
def exercises_page(request: Request, school: AtSchool) -> Response:
    """Every exercise with the bar that stops people."""
    taught, pictures = school.classroom.now, class_pictures(school)
    lessons = [
        {
            "lesson": lesson,
            "exercises": [
                {"exercise": each, "picture": pictures[each.name]}
                for each in lesson.exercises
                if each.name in pictures
            ],
        }
        for lesson in taught.checked.course.lessons
    ]
    return page(request, "desk/exercises.html", lessons=lessons)


@router.get("/desk/exercises/{lesson}/{exercise}")
def exercise_page(request: Request, school: AtSchool, lesson: str, exercise: str) -> Response:
    """One exercise: each note's failure rate on the plate."""
    taught = school.classroom.now
    name = f"{lesson}/{exercise}"
    if name not in taught.exercises:
        raise not_found()
    found = taught.checked.course.exercise(name)
    score = taught.checked.score_of(found)
    picture = picture_of(school, name)
    return page(
        request,
        "desk/exercise.html",
        exercise=found,
        picture=picture,
        plates={
            width: Markup(class_plate(score, found.title, picture, style, id_prefix=f"class-{width}").svg)  # noqa: S704 - drawn by the engraver, which escapes the teacher's words
            for width, style in _STYLES.items()
        },
        rows=_rows(score, picture),
        newest=NEWEST,
    )


@router.get("/desk/ear")
def ear_page(request: Request, school: AtSchool) -> Response:
    """How often the teacher let the ear's verdict stand."""
    with school.database.reading() as transaction:
        counts = hearings.agreement(transaction, school.classroom.now.record.id)
    found = agreement_of(counts)
    return page(
        request,
        "desk/ear.html",
        found=found,
        rates=[(_VERDICTS[verdict], rate) for verdict, rate in found.by_verdict.items()],
        table=[
            (_VERDICTS[heard], [found.counts.get((heard, meant), 0) for meant in _VERDICTS])
            for heard in _VERDICTS
        ],
        verdicts=list(_VERDICTS.values()),
    )


def _rows(score: Score, picture: ClassPicture) -> list[dict[str, Any]]:
    """Each note in words, for whoever cannot see the plate."""
    notes = {note.id: note for note in score.notes}
    numbers: dict[int, int] = {}
    rows = []
    for each in picture.notes:
        note, bar = notes[each.note_id], bar_of(each.note_id)
        numbers[bar] = numbers.get(bar, 0) + 1
        rows.append(
            {
                "where": f"bar {bar}, note {numbers[bar]}",
                "place": place_of(note),
                "failing": f"{each.failing:.0%}".replace("%", " %"),
                "mostly": ""
                if not each.failing
                else "left out"
                if 2 * each.missed >= each.failing
                else "wrong",
                "students": each.students,
            }
        )
    return rows
