"""The chords of a lesson, gathered on top of it: as a picture, mirrored, and in words."""

from collections.abc import Mapping
from dataclasses import dataclass

from fretwright.course.model import Lesson
from fretwright.engrave.chord_diagram import describe
from fretwright.engrave.chord_sheet import chords_of, chords_picture
from fretwright.engrave.diagram import Diagram
from fretwright.publish.material import ExerciseMaterial

LESSON_CHORDS_TITLE = "Chords of this lesson"


def other_hand(*, is_left: bool) -> str:
    """Whose pictures are mirrored where these are not."""
    return "right" if is_left else "left"


@dataclass(frozen=True, slots=True)
class LessonChords:
    """Every chord that a lesson holds, once for each row of frets."""

    picture: Diagram
    mirrored: Diagram
    """As a player of the other hand holds the neck."""
    other_hand: str
    """Which hand that is: ``left`` or ``right``."""
    words: tuple[tuple[str, str], ...]
    """Each chord's name as it is spoken and how it is held, in words."""


def lesson_chords(lesson: Lesson, materials: Mapping[str, ExerciseMaterial]) -> LessonChords | None:
    """The chords of a lesson's exercises, in the order in which they come; None where it has none."""
    scores = [materials[each.name].score for each in lesson.exercises if each.name in materials]
    voicings = chords_of(scores)
    if not voicings:
        return None
    title = LESSON_CHORDS_TITLE
    is_left = voicings[0].neck.left_handed
    other = other_hand(is_left=is_left)
    return LessonChords(
        chords_picture(voicings, title=title, id_prefix="lesson-chords"),
        chords_picture(
            voicings,
            title=f"{title}, {other}-handed",
            id_prefix="lesson-chords-mirrored",
            left_handed=not is_left,
        ),
        other,
        tuple((voicing.chord.spoken, describe(voicing)) for voicing in voicings),
    )
