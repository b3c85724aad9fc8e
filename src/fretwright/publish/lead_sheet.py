"""A lead sheet: one chart on one page, to be laid on the stand.

The title, who plays it how, and the plate with its chord names, their small diagrams and its words; however
long the chart is, it is made to fit. The same input gives the same bytes.
"""

from typing import Final

from fretwright.course.model import Course, Exercise
from fretwright.publish.handout import Paper, language_of
from fretwright.publish.handout_pictures import whole
from fretwright.publish.handout_press import press, printable
from fretwright.publish.material import ExerciseMaterial
from fretwright.score.swing import STRAIGHT

_TALLEST_MM: Final = {Paper.A4: 222.0, Paper.LETTER: 204.0}
"""What a page holds besides the title."""


def lead_sheet(
    course: Course, exercise: Exercise, made: ExerciseMaterial, *, paper: Paper = Paper.A4
) -> bytes:
    """The lead sheet of a chart as PDF.

    Raises :class:`~fretwright.base.errors.RenderError` where it cannot be set.
    """
    plate = made.wide
    alt = f"{exercise.title}. {made.walk_through.summary}"
    lang, region = language_of(course)
    document = {
        "paper": paper.value,
        "lang": lang,
        "region": region,
        "cover": None,
        "title": printable(exercise.title).strip() or "Lead sheet",
        "author": printable(course.teacher),
        "course": printable(course.title),
        "facts": printable(facts(exercise, made)),
        "plate": whole(plate.svg, plate.width_mm, plate.height_mm, alt, _TALLEST_MM[paper]),
    }
    return press(document, "leadsheet.typ")


def facts(exercise: Exercise, made: ExerciseMaterial) -> str:
    """Key, tempo and feel in one line: ``G major, 84 beats a minute, ballad``."""
    start, goal = exercise.ladder.start_bpm, exercise.ladder.goal_bpm
    tempo = f"{start:g}" if start == goal else f"{start:g} to {goal:g}"
    feel = exercise.band or ("swung" if made.score.swing != STRAIGHT else "")
    capo = f"capo {made.score.neck.capo}" if made.score.neck.capo else ""
    return ", ".join(filter(None, (made.score.key.name, f"{tempo} beats a minute", feel, capo)))
