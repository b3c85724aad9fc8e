"""Readable cases: what a teacher writes, and what the reader makes of it.

Each file of ``tests/data/course`` holds cases that anyone can add to: a name, the text of a lesson
(of ``course.yaml`` in files whose name starts with "course") and what is expected, kept apart by lines with
a single dot. A finding is expected as ``line:column code "text"`` and the start of how to mend it, lines
counted from the first line of the case; an exercise as its id and its bars, in the notation of ``told``.
"""

from collections.abc import Iterator
from dataclasses import fields
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import pytest

from fretwright.base.findings import Finding
from fretwright.course.model import Exercise, Reading
from fretwright.course.reader import read_course
from fretwright.score.note import Attack, Note
from fretwright.score.techniques import Bend, Harmonic, Techniques, Trill, Vibrato
from fretwright.score.values import Value

DATA = Path(__file__).parents[2] / "data" / "course"
COURSE = "title: Case\nteacher: Nobody\n"
HEAD = "---\ntitle: Case\ngoal: Case\n---\n"
SIGNS = {Attack.PLUCK: "", Attack.HAMMER_ON: "h", Attack.PULL_OFF: "p", Attack.SLIDE: "s", Attack.TAP: "t"}


class Case(NamedTuple):
    name: str
    text: str
    expected: str
    is_course: bool


def cases() -> Iterator[Case]:
    for file in sorted(DATA.glob("*.txt")):
        parts = file.read_text(encoding="utf-8").split("\n.\n")
        for name, text, expected in zip(parts[0::3], parts[1::3], parts[2::3], strict=False):
            yield Case(
                f"{file.stem}: {name.strip()}", text + "\n", expected.strip(), file.stem.startswith("course")
            )


def read(case: Case, folder: Path) -> tuple[Reading, int]:
    """The reading, and how many lines stand in the file before the case."""
    (folder / "lessons").mkdir()
    has_head = case.is_course or case.text.startswith(("---", "(no head)"))
    lesson = "" if case.is_course else case.text.removeprefix("(no head)\n")
    (folder / "course.yaml").write_text(case.text if case.is_course else COURSE, encoding="utf-8")
    (folder / "lessons" / "01-case.md").write_text(
        HEAD + lesson if not has_head else lesson or HEAD, encoding="utf-8"
    )
    return read_course(folder), 0 if has_head else HEAD.count("\n")


def told(exercise: Exercise) -> str:
    """An exercise in one line per bar: ``string/fret`` after its slur, its length in beats, its finger.

    ``6/7`` a quarter on string 6, ``h5/9=1/2`` an eighth hammered on, ``+`` between what sounds together,
    ``r`` a rest, ``(1)`` a finger, ``d`` and ``u`` strokes, ``{...}`` what is asked of it beyond that; what
    belongs to the lower voice stands after ``_``.
    """
    score = exercise.score
    events: dict[Fraction, list[str]] = {}
    for note in score.notes:
        events.setdefault(note.onset, []).append(_note(note))
    for rest in score.rests:
        lower = "_" * (rest.voice - 1)
        events.setdefault(rest.onset, []).append(f"{lower}r{_length(rest.duration)}")
    lines = []
    for bar in score.bars:
        inside = ["+".join(events[at]) for at in sorted(events) if bar.start <= at < bar.end]
        signs = [*(["|:"] if bar.opens_repeat else []), *([f"ending {bar.endings}"] if bar.endings else [])]
        close = [f":|x{bar.closes_repeat}"] if bar.closes_repeat else []
        lines.append(" ".join([f"  {bar.number}", *signs, *inside, *close]))
    verses = [f"v{label.verse}" if label.verse > 1 else "" for label in score.labels]
    labels = "".join(
        f" {label.text}@{label.at}{verse}" for label, verse in zip(score.labels, verses, strict=True)
    )
    return "\n".join([f"{exercise.id}{labels}", *lines])


def _length(duration: Fraction) -> str:
    beats = duration * 4
    return "" if beats == 1 else f"={beats}"


def _note(note: Note) -> str:
    finger = "" if note.finger is None else f"({note.finger.mark})"
    stroke = "" if note.stroke is None else note.stroke.value[0]
    picked = "" if note.picking_finger is None else note.picking_finger.value
    lower = "_" * (note.voice - 1)
    place = f"{SIGNS[note.attack]}{note.string}/{note.fret}"
    return f"{lower}{place}{_length(note.duration)}{finger}{stroke}{picked}{_asked(note)}"


def _asked(note: Note) -> str:
    """Everything that is asked of a note, in the order of the fields."""
    words = []
    for each in fields(Techniques):
        value = getattr(note.techniques, each.name)
        if isinstance(value, Bend):
            words.append("bend " + ",".join(f"{point.semitones}@{point.at}" for point in value.points))
        elif isinstance(value, Vibrato):
            words.append(f"vibrato {value.rate_hz:g}Hz {value.width_cents:g}c")
        elif isinstance(value, Harmonic):
            words.append(f"{value.kind.value} {value.touched}-{value.stopped} {note.pitch}")
        elif isinstance(value, Trill):
            words.append(f"trill {value.fret} {value.pitch} {value.value.name}")
        elif isinstance(value, Value):
            words.append(f"{each.name} {value.name}")
        elif isinstance(value, tuple):
            fingers = ["" if g.finger is None else f"({g.finger.mark})" for g in value]
            signs = (
                f"{g.place.string}/{g.place.fret}{finger}{'h' if g.is_slurred_on else ','}"
                for g, finger in zip(value, fingers, strict=True)
            )
            words.extend([f"graces {''.join(signs)}"] if value else [])
        elif value:
            words.append(each.name if value is True else f"{each.name} {value.value}")
    return f"{{{'; '.join(words)}}}" if words else ""


def found(finding: Finding, lines_before: int) -> str:
    line = finding.span.line - lines_before
    text = f' "{finding.span.text}"' if finding.span.text else ""
    return f"{line}:{finding.span.column} {finding.code}{text}"


@pytest.mark.parametrize("case", list(cases()), ids=lambda case: case.name)
def test_case(case: Case, tmp_path: Path) -> None:
    reading, lines_before = read(case, tmp_path)
    findings = [found(finding, lines_before) for finding in reading.findings]
    exercises = [line for exercise in reading.course.exercises for line in told(exercise).splitlines()]
    expected = [line.partition(" -> ") for line in case.expected.splitlines()]
    assert [*findings, *exercises] == [line for line, _, _ in expected]
    for finding, (_, _, mend) in zip(reading.findings, expected, strict=False):
        assert finding.mend.startswith(mend)


def test_there_are_cases_of_every_kind() -> None:
    kinds = {case.name.partition(":")[0] for case in cases()}
    assert {
        "course",
        "keys",
        "lesson",
        "rule",
        "tab",
        "rhythm",
        "source",
        "rows",
        "drills",
        "move",
        "variants",
        "techniques",
        "voices",
    } <= kinds
    assert len({case.name for case in cases()}) == len(list(cases()))
