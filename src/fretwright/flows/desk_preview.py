"""What the teacher sees while writing: findings at their place, and the exercise under the cursor.

A text that is not saved yet is read with the rest of the course from disk. :func:`preview` looks at the
lesson being written alone, which is quick however long the course is; :func:`findings_of` looks at the whole
course and says the rest: what only shows among all lessons. What was fingered or drawn before is
remembered by what it was made from, so that of a change only the exercise that changed is made anew.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path, PurePosixPath
from typing import Final

from fretwright.base.errors import UsageError
from fretwright.base.findings import Finding, in_reading_order
from fretwright.check.check import check, check_lesson
from fretwright.course.lessonfile import Block, read_lesson
from fretwright.course.model import Lesson
from fretwright.course.notebook import Notebook
from fretwright.course.outline import LESSONS_FOLDER
from fretwright.course.page import page_of
from fretwright.course.reader import read_course
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.engrave.walkthrough import walk_through
from fretwright.fingering.finger import Fingered, finger
from fretwright.fingering.hand import MEDIUM, Hand
from fretwright.flows.drawing import picture_of_hand
from fretwright.fretboard.shapes import Shape
from fretwright.score.score import Score
from fretwright.score.timeline import timeline
from fretwright.sound.files import encode_audio
from fretwright.sound.render import SoundedNote, render

WIDE_MM: Final = 170.0
NARROW_MM: Final = 84.0
SOUND_SUFFIX: Final = ".m4a"
_REMEMBERED_SCORES: Final = 1024
_REMEMBERED_DRAWINGS: Final = 64
_REMEMBERED_SOUNDS: Final = 4
_LONGEST_SOUND_S: Final = 120.0


@dataclass(frozen=True, slots=True)
class Drawn:
    """One exercise in pictures and words."""

    plate: str
    """SVG."""
    neck: str
    """SVG; empty where no note is fretted or open on the neck."""
    legend: str
    sentences: tuple[str, ...]
    """The walk-through."""


@dataclass(frozen=True, slots=True)
class Shown:
    """The exercise under the cursor."""

    name: str
    """``lesson/exercise``."""
    title: str
    tempos_bpm: tuple[int, ...]
    """The rungs of its ladder."""
    drawn: Drawn


@dataclass(frozen=True, slots=True)
class Preview:
    """What one text says, as far as its own lesson tells."""

    findings: tuple[Finding, ...]
    """Of this file."""
    block: str | None
    """Id of the exercise block that the cursor is in or under; ``None`` where the file has none."""
    shown: Shown | None
    """That exercise; ``None`` where a mistake keeps it from being built."""


@dataclass(frozen=True, slots=True)
class PreviewSound:
    """One exercise at one tempo, to be heard at the desk."""

    audio: bytes
    """AAC in MP4."""
    notes: tuple[SoundedNote, ...]


def preview(folder: Path, file: str, text: str, line: int, width_mm: float = WIDE_MM) -> Preview:
    """Look at an unsaved text of the file, with the cursor in ``line`` (from 1).

    Raises :class:`~fretwright.base.errors.CourseError` if there is no course to read.
    """
    slug = _slug_of(file)
    if slug is None:
        return Preview(findings_of(folder, file, text), None, None)
    reading = read_course(folder, {file: text}, only=slug)
    lesson = next((each for each in reading.course.lessons if each.slug == slug), None)
    found = [finding for finding in reading.findings if finding.span.file == file]
    fingered: Mapping[str, Fingered] = {}
    if lesson is not None:
        fingered = {each.name: remembered_fingering(each.score, MEDIUM) for each in lesson.exercises}
        found += check_lesson(lesson, fingered, remembered_fingering)
    block = _block_at(file, slug, text, line)
    shown = None if lesson is None or block is None else _shown(lesson, block, found, fingered, width_mm)
    return Preview(in_reading_order(found), None if block is None else block.id, shown)


def findings_of(folder: Path, file: str, text: str) -> tuple[Finding, ...]:
    """All findings of an unsaved text, those among them that only the whole course tells.

    Raises :class:`~fretwright.base.errors.CourseError` if there is no course to read.
    """
    checked = check(read_course(folder, {file: text}), fingering=remembered_fingering)
    return tuple(finding for finding in checked.findings if finding.span.file == file)


def preview_sound(folder: Path, file: str, text: str, name: str, bpm: int) -> PreviewSound:
    """Sound the exercise ``lesson/exercise`` of an unsaved text at one tempo.

    Raises :class:`~fretwright.base.errors.UsageError` if the text has no such exercise without mistakes, or
    if it would sound for more than two minutes.
    """
    reading = read_course(folder, {file: text}, only=_slug_of(file))
    return _sounded(_bare(remembered_fingering(reading.course.exercise(name).score, MEDIUM).score), bpm)


def remembered_fingering(score: Score, hand: Hand) -> Fingered:
    """The same as :func:`fretwright.fingering.finger.finger`, found once for equal notes.

    Every line typed above a note moves it in the text and leaves its finger alone.
    """
    found = _fingered(_bare(score), hand)
    placed = zip(found.score.notes, score.notes, strict=True)
    notes = tuple(replace(note, source=written.source) for note, written in placed)
    return replace(found, score=replace(score, notes=notes))


def _slug_of(file: str) -> str | None:
    path = PurePosixPath(file)
    return path.stem if path.parent.name == LESSONS_FOLDER and path.suffix == ".md" else None


def _block_at(file: str, slug: str, text: str, line: int) -> Block | None:
    """The last exercise block that opens at or above a line, or else the first one."""
    parts = read_lesson(page_of(file, text), slug, Notebook()).parts
    blocks = [part for part in parts if isinstance(part, Block)]
    above = [block for block in blocks if block.span.line <= line]
    nearest = above[-1:] or blocks[:1]
    return nearest[0] if nearest else None


def _shown(
    lesson: Lesson, block: Block, found: Iterable[Finding], fingered: Mapping[str, Fingered], width_mm: float
) -> Shown | None:
    """The first exercise that a block stands for, if nothing is wrong with it."""
    exercise = next((each for each in lesson.exercises if each.span == block.span), None)
    if exercise is None or any(each.is_error and each.exercise == exercise.name for each in found):
        return None
    score = _bare(fingered[exercise.name].score)
    return Shown(
        exercise.name,
        exercise.title,
        tuple(exercise.ladder.rungs),
        _drawn(score, exercise.shape, NARROW_MM if width_mm < WIDE_MM else WIDE_MM),
    )


def _bare(score: Score) -> Score:
    """The score wherever in the text it stands."""
    return replace(
        score,
        notes=tuple(replace(note, source=None) for note in score.notes),
        rests=tuple(replace(rest, source=None) for rest in score.rests),
    )


@lru_cache(_REMEMBERED_SCORES)
def _fingered(score: Score, hand: Hand) -> Fingered:
    return finger(score, hand)


@lru_cache(_REMEMBERED_DRAWINGS)
def _drawn(score: Score, shape: Shape | None, width_mm: float) -> Drawn:
    words = walk_through(score)
    style = PlateStyle(width_mm=width_mm)
    plate = engrave(score, style, title=words.title, description=words.summary, id_prefix="preview-plate")
    neck = picture_of_hand(score, shape, id_prefix="preview-neck")
    sentences = tuple(sentence.text for sentence in words.sentences)
    return Drawn(plate.svg, neck.svg, neck.legend, sentences)


@lru_cache(_REMEMBERED_SOUNDS)
def _sounded(score: Score, bpm: int) -> PreviewSound:
    if timeline(score, bpm).length_s > _LONGEST_SOUND_S:
        raise UsageError("The exercise sounds for more than two minutes.", "Ask for a higher tempo.")
    sound = render(score, bpm)
    return PreviewSound(encode_audio(sound, SOUND_SUFFIX), sound.time_map)
