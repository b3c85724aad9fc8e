"""From a course folder to a course: the front door of this layer."""

from collections import Counter
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path, PurePosixPath

from fretwright.base.findings import in_reading_order
from fretwright.course.build import build_exercise
from fretwright.course.chords import is_of_chords
from fretwright.course.files import NOTHING_UNSAVED, open_folder, read_page
from fretwright.course.inherit import Family, Wanted, refuse_broken_source, taken_over
from fretwright.course.keys import KEYS
from fretwright.course.lessonfile import MOST_EXERCISES, Block, Draft, read_lesson
from fretwright.course.model import Course, Exercise, Lesson, LessonBlock, Prose, Reading
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.outline import Outline, read_outline
from fretwright.course.settings import read_settings
from fretwright.course.tuningblock import build_tuning
from fretwright.course.values import refuse_unknown_keys
from fretwright.course.variants import Variant, variants_of
from fretwright.fretboard.neck import Neck


def read_course(
    folder: Path,
    unsaved: Mapping[str, str] = NOTHING_UNSAVED,
    only: str | None = None,
    *,
    left_handed: bool | None = None,
) -> Reading:
    """Read a course folder: everything that can be built, and every mistake in one pass.

    ``unsaved`` holds texts by file name (``lessons/03-first-lick.md``) that are read in place of what is on
    disk, as an editor has them before they are saved; files that are not there yet are not added by it.
    With ``only`` the exercises of the lesson of that slug are built, and of other lessons none but those they
    take over from. ``left_handed`` is whether the neck is strung for the left hand; by default the course
    says it.
    Raises :class:`~fretwright.base.errors.CourseError` where the folder cannot be opened at all.
    """
    root = open_folder(folder)
    notebook = Notebook()
    outline = read_outline(root, notebook, unsaved, left_handed)
    drafts = _read_lessons(root, outline, notebook, unsaved)
    exercises = _build_all(drafts, outline, only)
    course = _course(outline, drafts, exercises)
    return Reading(course, in_reading_order(notebook.findings))


def _read_lessons(
    root: Path, outline: Outline, notebook: Notebook, unsaved: Mapping[str, str]
) -> tuple[Draft, ...]:
    pages = ((file, read_page(root, file, notebook, unsaved)) for file in outline.lesson_files)
    return tuple(
        read_lesson(page, PurePosixPath(file).stem, notebook) for file, page in pages if page is not None
    )


def _build_all(
    drafts: Sequence[Draft], outline: Outline, only: str | None
) -> Mapping[str, tuple[Exercise, ...]]:
    """The exercises of every block that can be built, by its name; each after the one it takes over from."""
    blocks = [
        part for draft in drafts for part in draft.parts if isinstance(part, Block) and not part.is_tuning
    ]
    family = Family(blocks)
    asked_for = [block for block in blocks if only in (None, block.lesson)]
    for block in asked_for:
        refuse_unknown_keys(block.entries, KEYS, block.notebook)
        family.check_source(block)
    wanted: dict[str, Wanted] = {}
    built: dict[str, tuple[Exercise, ...]] = {}
    taken = {block.name for block in blocks}
    in_lesson = Counter[str]()
    for block in family.in_order(asked_for):
        mine = _wanted(block, family, wanted, built)
        if mine is None:
            read_settings(block.entries, outline.neck, block.notebook)
            continue
        variants = variants_of(
            mine.entries, outline.neck, block.notebook, by_chords=block.is_chart or is_of_chords(mine.entries)
        )
        in_lesson[block.lesson] += len(variants)
        if len(variants) > 1 and in_lesson[block.lesson] > MOST_EXERCISES:
            message = f"With these the lesson has more than {MOST_EXERCISES} exercises."
            mend = "Spread them over several lessons, or write fewer keys or positions."
            block.notebook.error("too-many-exercises", block.span, message, mend)
            continue
        exercises = _build_block(mine, variants, outline, taken)
        if exercises:
            wanted[block.name] = mine
            built[block.name] = exercises
    return built


def _build_block(
    wanted: Wanted, variants: Sequence[Variant], outline: Outline, taken: Container[str]
) -> tuple[Exercise, ...]:
    """All exercises that a block stands for, or none at all with findings; a mistake is written down once."""
    exercises: list[Exercise] = []
    for variant in variants:
        one = replace(wanted, entries=variant.entries, suffix=variant.suffix, words=variant.words)
        if variant.suffix and one.name in taken:
            message = f"The id {quoted(one.id)} is taken, and one of these exercises would have it."
            mend = "Give one of the two another id."
            wanted.block.notebook.error("duplicate-id", wanted.block.span, message, mend)
        if exercises:  # what is wrong in the first one is no matter of its key or position
            wanted.block.notebook.variant = variant.words
        exercise = build_exercise(one, outline.neck, outline.instrument)
        if exercise is None:
            return ()
        exercises.append(exercise)
    return tuple(exercises)


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


def _course(
    outline: Outline, drafts: Sequence[Draft], exercises: Mapping[str, tuple[Exercise, ...]]
) -> Course:
    return Course(
        title=outline.title,
        teacher=outline.teacher,
        about=outline.about,
        language=outline.language,
        neck=outline.neck,
        days_between_lessons=outline.days_between_lessons,
        lessons=tuple(_lesson(draft, exercises, outline.neck) for draft in drafts),
        span=outline.span,
        assumes=outline.assumes,
    )


def _lesson(draft: Draft, exercises: Mapping[str, tuple[Exercise, ...]], neck: Neck) -> Lesson:
    blocks: list[LessonBlock] = []
    for part in draft.parts:
        if isinstance(part, Prose):
            blocks.append(part)
            continue
        if part.is_tuning:
            tuning = build_tuning(part, neck)
            blocks.extend([tuning] if tuning is not None else [])
            continue
        # Not those of a block whose id was taken already.
        blocks.extend(one for one in exercises.get(part.name, ()) if one.span == part.span)
    return Lesson(
        slug=draft.slug,
        title=draft.title,
        goal=draft.goal,
        teaches=draft.teaches,
        needs=draft.needs,
        blocks=tuple(blocks),
        span=draft.span,
    )
