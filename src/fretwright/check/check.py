"""The check as a whole: fingering for every exercise, then every rule."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from fretwright.base.findings import Finding, in_reading_order
from fretwright.check.case import Case
from fretwright.check.chords import changes_too_fast, names_against_voicings, strokes_against_the_beat
from fretwright.check.hands import beyond_any_tempo, beyond_the_hand, gaps_in_a_shape
from fretwright.check.names import missing_telling_note, notes_outside_scale, wrong_key
from fretwright.check.prose import places_never_played
from fretwright.check.skills import skills_of
from fretwright.check.slurs import impossible_slurs
from fretwright.check.teaching import (
    lessons_without_exercises,
    misspelled_skills,
    skills_before_taught,
    speed_jumps,
    taught_never_exercised,
    too_much_at_once,
    unknown_needs,
)
from fretwright.check.techniques import cut_off_voices, unplayable_techniques
from fretwright.course.model import Course, Exercise, Lesson, Reading
from fretwright.fingering.finger import Fingered, finger
from fretwright.fingering.hand import LARGE, MEDIUM, Hand
from fretwright.score.score import Score

_EXERCISE_RULES: Final[tuple[Callable[[Case], Iterator[Finding]], ...]] = (
    impossible_slurs,
    unplayable_techniques,
    cut_off_voices,
    beyond_the_hand,
    beyond_any_tempo,
    missing_telling_note,
    notes_outside_scale,
    wrong_key,
    names_against_voicings,
    strokes_against_the_beat,
    changes_too_fast,
)


@dataclass(frozen=True, slots=True)
class Checked:
    """A course that has been checked."""

    course: Course
    """Only what can be built: exercises with an error are left out."""
    findings: tuple[Finding, ...]
    """Of the reader and the check together, in reading order."""
    fingered: Mapping[str, Fingered]
    """Score with fingers and strokes, by ``lesson/exercise``."""
    skills: Mapping[str, frozenset[str]]
    """What each exercise asks for, by ``lesson/exercise``."""

    def score_of(self, exercise: Exercise) -> Score:
        """The score of an exercise with its fingers and strokes."""
        return self.fingered[exercise.name].score


Fingering = Callable[[Score, Hand], Fingered]
"""Finds the fingers of a score for a hand."""


def check(reading: Reading, hand: Hand = MEDIUM, fingering: Fingering = finger) -> Checked:
    """Finger and judge every exercise of a course that was read.

    ``fingering`` may remember what it found for a score before: a fingering depends on nothing else.
    """
    course = reading.course
    fingered = {exercise.name: fingering(exercise.score, hand) for exercise in course.exercises}
    skills = {name: skills_of(result) for name, result in fingered.items()}
    findings = in_reading_order(
        [
            *reading.findings,
            *(found for lesson in course.lessons for found in check_lesson(lesson, fingered, fingering)),
            *_of_course(course, skills),
        ]
    )
    broken = {finding.exercise for finding in findings if finding.is_error}
    return Checked(_without(course, broken), findings, fingered, skills)


def check_lesson(
    lesson: Lesson, fingered: Mapping[str, Fingered], fingering: Fingering = finger
) -> Iterator[Finding]:
    """What can be said of a lesson without the others; ``fingered`` holds its exercises by name."""
    cases = tuple(
        _case(lesson, exercise, fingered[exercise.name], fingering) for exercise in lesson.exercises
    )
    for case in cases:
        for rule in _EXERCISE_RULES:
            yield from rule(case)
        yield from gaps_in_a_shape(case, cases)
    yield from places_never_played(lesson)


def _case(lesson: Lesson, exercise: Exercise, fingered: Fingered, fingering: Fingering) -> Case:
    largest = fingering(exercise.score, LARGE) if fingered.problems else fingered
    return Case(lesson, exercise, fingered, largest)


def _of_course(course: Course, skills: Mapping[str, frozenset[str]]) -> Iterator[Finding]:
    yield from skills_before_taught(course, skills)
    yield from taught_never_exercised(course, skills)
    yield from misspelled_skills(course)
    yield from unknown_needs(course)
    yield from too_much_at_once(course)
    yield from speed_jumps(course)
    yield from lessons_without_exercises(course)


def _without(course: Course, broken: set[str | None]) -> Course:
    """The course less its broken exercises."""
    return replace(
        course,
        lessons=tuple(
            replace(
                lesson,
                blocks=tuple(
                    block
                    for block in lesson.blocks
                    if not (isinstance(block, Exercise) and block.name in broken)
                ),
            )
            for lesson in course.lessons
        ),
    )
