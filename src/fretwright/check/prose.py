"""The teacher's prose against what is played: places that are named but never sound."""

import re
from collections.abc import Iterator
from typing import Final

from fretwright.base.findings import Finding, Severity
from fretwright.base.spans import Span
from fretwright.course.model import Exercise, Lesson, Prose
from fretwright.fretboard.neck import Place

_UNITS: Final = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven"),
    *("twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty"),
    *("twenty-one", "twenty-two", "twenty-three", "twenty-four"),
)
_ORDINALS: Final = (
    *("zeroth", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth"),
    *("tenth", "eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth"),
    *("eighteenth", "nineteenth", "twentieth", "twenty-first", "twenty-second", "twenty-third"),
    "twenty-fourth",
)
_NUMBERS: Final = {
    **{word: number for number, word in enumerate(_UNITS)},
    **{word: number for number, word in enumerate(_ORDINALS)},
}
_ORDINAL: Final = rf"(?:{'|'.join(sorted(_ORDINALS[1:], key=len, reverse=True))}|[0-9]{{1,2}}(?:st|nd|rd|th))"
_CARDINAL: Final = rf"(?:{'|'.join(sorted(_UNITS[1:], key=len, reverse=True))}|[0-9]{{1,2}})"
_JOIN: Final = r"(?:\s*,\s*|\s+)(?:(?:at|on|of|from)\s+)?(?:the\s+)?"


def _named(what: str) -> str:
    """``sixth string`` or ``string 6``, the number in a group of its own."""
    return rf"(?:(?P<{what}_a>{_ORDINAL})\s+{what}|{what}\s+(?P<{what}_b>{_CARDINAL}))"


_PLACE: Final = tuple(
    re.compile(rf"\b{_named(first)}{_JOIN}{_named(second)}\b", re.IGNORECASE)
    for first, second in (("string", "fret"), ("fret", "string"))
)


def places_never_played(lesson: Lesson) -> Iterator[Finding]:
    """Places the prose and the remarks of a lesson name that none of its exercises plays."""
    played = {note.place for exercise in lesson.exercises for note in exercise.score.notes}
    if not played:
        return
    for place, span, exercise in _named_places(lesson):
        if place not in played:
            yield Finding(
                "place-never-played",
                Severity.WARNING,
                span,
                f"The text speaks of {place}, which no exercise of this lesson plays.",
                "Check the numbers against the tab, or play the place in an exercise.",
                exercise,
            )


def _named_places(lesson: Lesson) -> Iterator[tuple[Place, Span, str | None]]:
    """Each place the lesson speaks of, where, and in which exercise's remark if in one."""
    for block in lesson.blocks:
        match block:
            case Prose():
                for place, match in _places_in(block.markdown):
                    yield place, _span_in(block, match), None
            case Exercise() if block.remark:
                # A remark may be folded in the file, so its own lines are not the file's.
                start = block.fields.get("remark", block.span)
                for place, match in _places_in(block.remark):
                    yield place, Span(start.file, start.line, start.column, match.group()), block.name


def _places_in(text: str) -> Iterator[tuple[Place, re.Match[str]]]:
    found = (match for pattern in _PLACE for match in pattern.finditer(text))
    for match in sorted(found, key=lambda match: match.start()):
        groups = match.groupdict()
        string = _number(groups["string_a"] or groups["string_b"])
        fret = _number(groups["fret_a"] or groups["fret_b"])
        yield Place(string, fret), match


def _span_in(prose: Prose, match: re.Match[str]) -> Span:
    before = prose.markdown[: match.start()]
    lines = before.count("\n")
    column = len(before) - before.rfind("\n") if lines else prose.span.column + len(before)
    return Span(prose.span.file, prose.span.line + lines, column, match.group())


def _number(word: str) -> int:
    lowered = word.lower()
    return _NUMBERS[lowered] if lowered in _NUMBERS else int(lowered.rstrip("stndrh"))
