"""Handouts as PDF: one for each lesson, one for the whole course."""

from collections.abc import Mapping
from dataclasses import dataclass

from fretwright.course.model import Course, Exercise, Lesson, Prose, TuningBlock
from fretwright.flows.digests import digest
from fretwright.publish.handout import Paper, course_handout, handout
from fretwright.publish.lead_sheet import lead_sheet
from fretwright.publish.material import ExerciseMaterial


@dataclass(frozen=True, slots=True)
class HandoutJob:
    """One document to be set; travels to another process."""

    course: Course
    lesson: Lesson | None
    """``None`` for the whole course."""
    material: Mapping[str, ExerciseMaterial]
    pictures: Mapping[str, bytes]
    """Path in the course folder -> content, for the pictures that prose shows."""
    paper: Paper

    @property
    def key(self) -> str:
        """Digest of all that is printed."""
        shown = self.course.lessons if self.lesson is None else (self.lesson,)
        course = self.course
        head = (course.title, course.teacher, course.about, course.language, course.days_between_lessons)
        slugs = [lesson.slug for lesson in course.lessons]
        parts = [_printed(lesson, self.material) for lesson in shown]
        return digest(head, slugs, parts, sorted(self.pictures.items()), self.paper.value)

    @staticmethod
    def path_for(lesson: Lesson | None) -> str:
        """Where the document of a lesson, or of the whole course, lies."""
        return "handouts/course.pdf" if lesson is None else f"handouts/lesson-{lesson.slug}.pdf"

    @property
    def paths(self) -> tuple[str, ...]:
        """The one file that is made."""
        return (self.path_for(self.lesson),)

    def make(self) -> dict[str, bytes]:
        """Set the document: path -> content."""
        if self.lesson is None:
            pdf = course_handout(self.course, self.material, paper=self.paper, pictures=self.pictures)
        else:
            pdf = handout(self.course, self.lesson, self.material, paper=self.paper, pictures=self.pictures)
        return {self.path_for(self.lesson): pdf}


@dataclass(frozen=True, slots=True)
class LeadSheetJob:
    """One chart on one page; travels to another process."""

    course: Course
    exercise: Exercise
    made: ExerciseMaterial
    paper: Paper

    @property
    def key(self) -> str:
        """Digest of all that is printed."""
        head = (self.course.title, self.course.teacher, self.course.language, self.exercise.title)
        tempo = (self.exercise.ladder, self.exercise.band, self.made.score.key.name)
        return digest(head, tempo, self.made.wide.svg, self.made.walk_through.text, self.paper.value)

    @staticmethod
    def path_for(exercise: Exercise) -> str:
        """Where the lead sheet of a chart lies."""
        return f"handouts/chart-{exercise.lesson}-{exercise.id}.pdf"

    @property
    def paths(self) -> tuple[str, ...]:
        """The one file that is made."""
        return (self.path_for(self.exercise),)

    def make(self) -> dict[str, bytes]:
        """Set the sheet: path -> content."""
        return {self.paths[0]: lead_sheet(self.course, self.exercise, self.made, paper=self.paper)}


def _printed(lesson: Lesson, material: Mapping[str, ExerciseMaterial]) -> tuple[object, ...]:
    """What a document shows of a lesson, wherever in the teacher's files it stands."""
    blocks: list[object] = []
    for block in lesson.blocks:
        if isinstance(block, Prose):
            blocks.append(block.markdown)
        elif isinstance(block, TuningBlock):
            blocks.append(
                (block.id, block.title, block.tuning, block.ways, block.pegs_in_a_row, block.remark)
            )
        elif block.name in material:
            blocks.append((block.id, block.title, block.remark, block.ladder, *_shown(material[block.name])))
    return (lesson.slug, lesson.title, lesson.goal, *blocks)


def _shown(made: ExerciseMaterial) -> tuple[object, ...]:
    return (made.wide.svg, made.diagram and made.diagram.svg, made.walk_through.text)
