"""The order of teaching: what is asked before it was taught, what is taught and never practised."""

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from typing import Final

from fretwright.base.findings import Finding, Severity
from fretwright.base.spans import Span
from fretwright.check.case import enumeration
from fretwright.check.difficulty import notes_per_second
from fretwright.check.skills import VOCABULARY, skill_named
from fretwright.course.model import Course, Exercise, Lesson

_MOST_NEW_SKILLS: Final = 3
"""New skills a beginner takes from one short lesson (common practice, no source)."""

_MOST_FASTER: Final = 1.6
"""Ratio of starting speeds from one exercise to the next above which most students are lost (common
practice, no source)."""

Skills = Mapping[str, frozenset[str]]
"""Skills by the name of the exercise."""


def skills_before_taught(course: Course, skills: Skills) -> Iterator[Finding]:
    """Skills that an exercise asks for before any lesson has taught them; each is named once.

    A course that speaks of skills nowhere is not held to an order of teaching.
    """
    known = {skill_named(name) for name, _ in course.assumes}
    if not known and not any(lesson.teaches for lesson in course.lessons):
        return
    for lesson in course.lessons:
        known.update(skill_named(name) for name, _ in lesson.teaches)
        for exercise in lesson.exercises:
            new = sorted(skills[exercise.name] - known)
            known.update(new)
            if new:
                yield _untaught(exercise, new)


def _untaught(exercise: Exercise, new: list[str]) -> Finding:
    return Finding(
        "skill-before-taught",
        Severity.WARNING,
        exercise.span,
        f"{exercise.title!r} asks for {enumeration(new, len(new))}, which no lesson has taught so far.",
        f"Add {'them' if len(new) > 1 else 'it'} to `teaches` of this or an earlier lesson,"
        " or to `students know` in course.yaml.",
        exercise.name,
    )


def taught_never_exercised(course: Course, skills: Skills) -> Iterator[Finding]:
    """Skills that a lesson says it teaches and none of its exercises asks for."""
    for lesson in course.lessons:
        asked = frozenset[str]().union(*(skills[exercise.name] for exercise in lesson.exercises))
        for name, span in lesson.teaches:
            if skill_named(name) in VOCABULARY - asked:
                yield Finding(
                    "taught-never-exercised",
                    Severity.WARNING,
                    span,
                    f"The lesson says it teaches {name}, but none of its exercises asks for it.",
                    "Add an exercise that uses it, or take it out of `teaches`.",
                )


def misspelled_skills(course: Course) -> Iterator[Finding]:
    """Skill names that are almost, but not quite, one that can be derived."""
    named = [*course.assumes, *(entry for lesson in course.lessons for entry in lesson.teaches)]
    for name, span in named:
        if skill_named(name) in VOCABULARY:
            continue
        close = get_close_matches(skill_named(name), sorted(VOCABULARY), n=1, cutoff=0.8)
        if close:
            yield Finding(
                "skill-name-unclear",
                Severity.ADVICE,
                span,
                f"No score can be seen to need {name!r}; it reads almost like {close[0]!r}.",
                f"Write `{close[0]}` if that is meant.",
            )


def unknown_needs(course: Course) -> Iterator[Finding]:
    """Needs that neither an earlier lesson is nor an earlier lesson teaches."""
    known = {skill_named(name) for name, _ in course.assumes}
    slugs = {lesson.slug for lesson in course.lessons}
    passed: set[str] = set()
    for lesson in course.lessons:
        for name, span in lesson.needs:
            if name in passed or skill_named(name) in known:
                continue
            yield _unmet(name, span, comes_later=name in slugs)
        passed.add(lesson.slug)
        known.update(skill_named(taught) for taught, _ in lesson.teaches)


def _unmet(name: str, span: Span, *, comes_later: bool) -> Finding:
    return Finding(
        "need-not-met",
        Severity.WARNING,
        span,
        f"The lesson needs {name!r}, which {'comes later' if comes_later else 'no earlier lesson has'}.",
        "Name an earlier lesson or a skill that one teaches, or change the order in course.yaml.",
    )


def too_much_at_once(course: Course) -> Iterator[Finding]:
    """Lessons that introduce more than a student takes home."""
    for lesson in course.lessons:
        new = [name for name, _ in lesson.teaches]
        if len(new) > _MOST_NEW_SKILLS:
            yield Finding(
                "too-much-at-once",
                Severity.ADVICE,
                lesson.teaches[0][1],
                f"The lesson teaches {len(new)} things: {enumeration(new, 5)}.",
                f"Spread them over several lessons; up to {_MOST_NEW_SKILLS} at a time stay in the fingers.",
            )


def speed_jumps(course: Course) -> Iterator[Finding]:
    """Exercises whose slowest tempo is far faster than anything the student has been asked before."""
    fastest = 0.0
    fastest_name = ""
    for lesson in course.lessons:
        for exercise in lesson.exercises:
            start = notes_per_second(exercise.score, exercise.ladder.start_bpm)
            if fastest and start > fastest * _MOST_FASTER:
                yield _jump(exercise, start, fastest, fastest_name)
            goal = notes_per_second(exercise.score, exercise.ladder.goal_bpm)
            if goal > fastest:
                fastest, fastest_name = goal, exercise.name


def _jump(exercise: Exercise, start: float, fastest: float, fastest_name: str) -> Finding:
    return Finding(
        "speed-jump",
        Severity.ADVICE,
        exercise.fields.get("tempo", exercise.span),
        f"{exercise.title!r} starts at {start:.1f} notes a second; the fastest so far was {fastest:.1f}"
        f" ({fastest_name}).",
        "Start the ladder lower, or put an exercise in between.",
        exercise.name,
    )


def lessons_without_exercises(course: Course) -> Iterator[Finding]:
    """Lessons that give a student nothing to play."""
    for lesson in course.lessons:
        if not lesson.exercises:
            yield _nothing_to_play(lesson)


def _nothing_to_play(lesson: Lesson) -> Finding:
    return Finding(
        "lesson-without-exercise",
        Severity.ADVICE,
        lesson.span,
        f"The lesson {lesson.title!r} has no exercise that can be built.",
        "Add an exercise block, or mend the one that has an error.",
    )
