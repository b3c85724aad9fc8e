"""Handouts: a lesson, or the whole course, as a PDF for the music stand.

A course and the material of its exercises enter; a tagged PDF (PDF/UA-1) leaves, with the prose, every
plate and fretboard as vectors, the walk-throughs, a ladder to tick off for each exercise, and the cautions.
The same input gives the same bytes.
"""

import re
from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum
from typing import Final

from fretwright.base.errors import UsageError
from fretwright.course.model import Course, Exercise, Lesson, Prose, TuningBlock
from fretwright.engrave.chord_sheet import changes_told
from fretwright.engrave.walkthrough import WalkThrough
from fretwright.publish.cautions import CAUTIONS, SHORT_CAUTION
from fretwright.publish.chords import lesson_chords
from fretwright.publish.handout_pictures import plate_pieces, whole
from fretwright.publish.handout_press import Json, is_readable_picture, press, printable
from fretwright.publish.handout_prose import Sheet, to_nodes
from fretwright.publish.material import ExerciseMaterial
from fretwright.publish.soloing import over_chart
from fretwright.publish.tuning import tuning_taught
from fretwright.score.held import voicings_of

Material = Mapping[str, ExerciseMaterial]
"""``lesson/exercise`` -> what was made of it. An exercise without material is left out."""

_MOST_DAYS: Final = 14
_LADDER_WORDS: Final = (
    "One column for each day. Begin one tempo slower than your last tick; tick a tempo once it is clean, "
    "in time and at ease, then go on to the next."
)
_LANGUAGE: Final = re.compile(
    r"(?P<language>[A-Za-z]{2,3})(?:-[A-Za-z]{4})?(?:-(?P<region>[A-Za-z]{2}))?(?:-.*)?"
)
"""A language tag as far as typst knows it: language and country (BCP 47)."""


class Paper(StrEnum):
    """Sizes of paper."""

    A4 = "a4"
    """210 mm by 297 mm (ISO 216)."""
    LETTER = "us-letter"
    """8.5 in by 11 in."""


def handout(
    course: Course,
    lesson: Lesson,
    material: Material,
    *,
    paper: Paper = Paper.A4,
    pictures: Mapping[str, bytes] | None = None,
) -> bytes:
    """The handout of one lesson as PDF.

    ``pictures`` holds, by path in the course folder, the pictures that prose may show.
    Raises :class:`~fretwright.base.errors.UsageError` where the lesson is not one of the course, and
    :class:`~fretwright.base.errors.RenderError` where the document cannot be set.
    """
    if lesson not in course.lessons:
        raise UsageError(f"{lesson.slug!r} is not a lesson of this course.")
    title = f"{lesson.title} – {course.title}"
    return press(_document(course, (lesson,), material, title, paper, pictures or {}, cover=None))


def course_handout(
    course: Course,
    material: Material,
    *,
    paper: Paper = Paper.A4,
    pictures: Mapping[str, bytes] | None = None,
) -> bytes:
    """The handout of a whole course as PDF: cover, contents, cautions, then lesson by lesson.

    Arguments and errors as of :func:`handout`.
    """
    shown = _readable(pictures or {})
    sheet = Sheet(course.language, heading_level=0, folder="", lessons=_slugs(course), pictures=shown)
    cover: Json = {"teacher": printable(course.teacher), "about": to_nodes(course.about, sheet)}
    return press(
        _document(course, course.lessons, material, course.title, paper, pictures or {}, cover=cover)
    )


def language_of(course: Course) -> tuple[str, str | None]:
    """Language and region of a course's prose, as typst takes them."""
    tag = _LANGUAGE.fullmatch(course.language)
    if tag is None:
        return "en", None
    return tag["language"].lower(), tag["region"].upper() if tag["region"] else None


def _document(
    course: Course,
    lessons: tuple[Lesson, ...],
    material: Material,
    title: str,
    paper: Paper,
    pictures: Mapping[str, bytes],
    *,
    cover: Json | None,
) -> Json:
    """Everything that the templates set."""
    shown = _readable(pictures)
    sheet = Sheet(course.language, lessons=_slugs(course), pictures=shown)
    lang, region = language_of(course)
    return {
        "paper": paper.value,
        "lang": lang,
        "region": region,
        "title": printable(title).strip() or "Handout",
        "author": printable(course.teacher),
        "course": printable(course.title),
        "cautions": [{"heading": caution.heading, "text": caution.text} for caution in CAUTIONS],
        "short-caution": SHORT_CAUTION,
        "cover": cover,
        "pictures": {path: list(picture) for path, picture in shown.items()},
        "lessons": [_lesson(course, lesson, material, sheet) for lesson in lessons],
    }


def _lesson(course: Course, lesson: Lesson, material: Material, sheet: Sheet) -> Json:
    number = course.lessons.index(lesson) + 1
    days = min(max(course.days_between_lessons, 1), _MOST_DAYS)
    parts: list[Json] = []
    exercises = 0
    for block in lesson.blocks:
        if isinstance(block, Prose):
            parts.append({"kind": "prose", "nodes": to_nodes(block.markdown, sheet)})
        elif isinstance(block, TuningBlock):
            parts.append(_tuning(block, sheet))
        elif block.name in material:
            exercises += 1
            ladder = _ladder(block, days, explained=exercises == 1)
            parts.append(_exercise(block, material[block.name], f"{number}.{exercises}", ladder, sheet))
    return {
        "slug": lesson.slug,
        "number": number,
        "kicker": f"Lesson {number}",
        "running": printable(f"{number}  {lesson.title}"),
        "title": printable(lesson.title).strip() or f"Lesson {number}",
        "goal": printable(lesson.goal),
        "chords": _chords(lesson, material),
        "parts": parts,
    }


def _tuning(block: TuningBlock, sheet: Sheet) -> Json:
    """The pegs and the ways of tuning in words; what sounds stands on the page."""
    taught = tuning_taught(block)
    pegs = taught.pegs
    return {
        "kind": "tuning",
        "title": printable(taught.title),
        "order": printable(taught.order),
        "pegs": {
            **whole(pegs.svg, pegs.width_mm, pegs.height_mm, f"{pegs.title}. {pegs.description}"),
            "legend": printable(pegs.legend),
        },
        "remark": to_nodes(block.remark, replace(sheet, heading_level=2)),
        "ways": [
            {
                "heading": way.heading,
                "before": printable(way.before),
                "steps": [printable(step.words) for step in way.steps],
                "after": printable(way.after),
            }
            for way in taught.ways
        ],
    }


def _exercise(exercise: Exercise, made: ExerciseMaterial, number: str, ladder: Json, sheet: Sheet) -> Json:
    start, goal = exercise.ladder.start_bpm, exercise.ladder.goal_bpm
    tempo = f"{start:g} beats a minute" if start == goal else f"From {start:g} to {goal:g} beats a minute"
    return {
        "kind": "exercise",
        "number": number,
        "title": printable(exercise.title),
        "plates": _plates(exercise, made),
        "caption": tempo,
        "neck": _neck(made),
        "words": _paragraphs(made.walk_through),
        "changes": [
            {"title": printable(told.title), "words": printable(told.words)}
            for told in changes_told(made.score)
        ],
        "over": _over(exercise, made),
        "own-page": exercise.is_chart,
        "remark": to_nodes(exercise.remark, replace(sheet, heading_level=2)),
        "ladder": ladder,
    }


def _plates(exercise: Exercise, made: ExerciseMaterial) -> list[Json]:
    """The plate: a chart as one sheet, however long it is; others go on over the foot of a page."""
    alt = f"{exercise.title}. {made.walk_through.summary}"
    plate = made.wide
    if exercise.is_chart:
        return [whole(plate.svg, plate.width_mm, plate.height_mm, alt)]
    return plate_pieces(plate, alt)


def _over(exercise: Exercise, made: ExerciseMaterial) -> Json | None:
    """What to play over a chart."""
    over = over_chart(made.score) if exercise.is_chart else None
    if over is None:
        return None
    rows = [
        {
            "title": printable(row.chord),
            "words": printable(
                f"{'; '.join(row.scales)}." + (f" Shared notes: {row.shared}." if row.shared else "")
            ),
        }
        for row in over.rows
    ]
    return {"whole": printable("; ".join(over.whole)), "rows": rows}


def _chords(lesson: Lesson, material: Material) -> Json | None:
    """The chords on top of a lesson."""
    chords = lesson_chords(lesson, material)
    if chords is None:
        return None
    picture = chords.picture
    alt = f"{picture.title}. {picture.description}"
    return {
        "title": picture.title,
        **whole(picture.svg, picture.width_mm, picture.height_mm, alt),
        "legend": printable(picture.legend),
    }


def _ladder(exercise: Exercise, days: int, *, explained: bool) -> Json:
    rungs = list(exercise.ladder.rungs)
    return {"rungs": rungs, "days": days, "how": _LADDER_WORDS if explained else None}


def _neck(made: ExerciseMaterial) -> Json | None:
    diagram = made.diagram
    if diagram is None:
        return None
    what = "" if voicings_of(made.score) else "Fretboard of "
    alt = f"{what}{diagram.title}. {diagram.description}"
    return {
        **whole(diagram.svg, diagram.width_mm, diagram.height_mm, alt),
        "legend": printable(diagram.legend),
    }


def _paragraphs(walk: WalkThrough) -> list[str]:
    """The sentences in paragraphs, a new one for each bar that is named."""
    paragraphs: list[str] = []
    for sentence in walk.sentences:
        text = printable(sentence.text)
        if not paragraphs or text.startswith(("Bar", "Pickup bar")):
            paragraphs.append(text)
        else:
            paragraphs[-1] += f" {text}"
    return paragraphs


def _readable(pictures: Mapping[str, bytes]) -> dict[str, bytes]:
    """The pictures that can be set; of the others the words stay."""
    return {path: picture for path, picture in sorted(pictures.items()) if is_readable_picture(picture)}


def _slugs(course: Course) -> frozenset[str]:
    return frozenset(lesson.slug for lesson in course.lessons)
