"""From a course folder to a course: the front door of this layer."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path, PurePosixPath

from fretwright.base.findings import in_reading_order
from fretwright.course.build import build_exercise
from fretwright.course.files import open_folder, read_page
from fretwright.course.inherit import Family, Wanted, refuse_broken_source, taken_over
from fretwright.course.keys import KEYS
from fretwright.course.lessonfile import Block, Draft, read_lesson
from fretwright.course.model import Course, Exercise, Lesson, Prose, Reading
from fretwright.course.notebook import Notebook
from fretwright.course.outline import Outline, read_outline
from fretwright.course.settings import read_settings
from fretwright.course.values import refuse_unknown_keys
from fretwright.fretboard.neck import Neck


def read_course(folder: Path) -> Reading:
    """Read a course folder: everything that can be built, and every mistake in one pass.

    Raises :class:`~fretwright.base.errors.CourseError` where the folder cannot be opened at all.
    """
    root = open_folder(folder)
    notebook = Notebook()
    outline = read_outline(root, notebook)
    drafts = _read_lessons(root, outline, notebook)
    exercises = _build_all(drafts, outline.neck)
    course = _course(outline, drafts, exercises)
    return Reading(course, in_reading_order(notebook.findings))


def _read_lessons(root: Path, outline: Outline, notebook: Notebook) -> tuple[Draft, ...]:
    pages = ((file, read_page(root, file, notebook)) for file in outline.lesson_files)
    return tuple(
        read_lesson(page, PurePosixPath(file).stem, notebook) for file, page in pages if page is not None
    )


def _build_all(drafts: Sequence[Draft], neck: Neck) -> Mapping[str, Exercise]:
    """Every exercise that can be built, by its name; each after the one it takes over from."""
    blocks = [part for draft in drafts for part in draft.parts if isinstance(part, Block)]
    family = Family(blocks)
    for block in blocks:
        refuse_unknown_keys(block.entries, KEYS, block.notebook)
        family.check_source(block)
    wanted: dict[str, Wanted] = {}
    built: dict[str, Exercise] = {}
    for block in family.in_order(blocks):
        mine = _wanted(block, family, wanted, built)
        if mine is None:
            read_settings(block.entries, neck, block.notebook)
            continue
        exercise = build_exercise(mine, neck)
        if exercise is not None:
            wanted[block.name] = mine
            built[block.name] = exercise
    return built


def _wanted(
    block: Block, family: Family, wanted: Mapping[str, Wanted], built: Iterable[str]
) -> Wanted | None:
    """The block with what it takes over, or None with a finding where its source is not to be had."""
    if "from" not in block.entries:
        return Wanted(block, block.entries, None)
    source = family.source_of(block)
    if source is None or source.name not in built:
        if source is not None:
            refuse_broken_source(block)
        return None
    name = source.id if source.lesson == block.lesson else source.name
    return Wanted(block, taken_over(block.entries, wanted[source.name].entries), name)


def _course(outline: Outline, drafts: Sequence[Draft], exercises: Mapping[str, Exercise]) -> Course:
    return Course(
        title=outline.title,
        teacher=outline.teacher,
        about=outline.about,
        language=outline.language,
        neck=outline.neck,
        days_between_lessons=outline.days_between_lessons,
        lessons=tuple(_lesson(draft, exercises) for draft in drafts),
        span=outline.span,
        assumes=outline.assumes,
    )


def _lesson(draft: Draft, exercises: Mapping[str, Exercise]) -> Lesson:
    blocks: list[Prose | Exercise] = []
    for part in draft.parts:
        if isinstance(part, Prose):
            blocks.append(part)
            continue
        exercise = exercises.get(part.name)
        if exercise is not None and exercise.span == part.span:  # not one whose id was taken already
            blocks.append(exercise)
    return Lesson(
        slug=draft.slug,
        title=draft.title,
        goal=draft.goal,
        teaches=draft.teaches,
        needs=draft.needs,
        blocks=tuple(blocks),
        span=draft.span,
    )
