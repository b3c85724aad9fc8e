"""Slurs that cannot sound."""

from collections.abc import Callable

import pytest

from fretwright.check.check import Checked

Codes = Callable[..., list[str]]

TAB = """\
```exercise slur
tempo: 60
rhythm: {rhythm}
tab: |
  e|-----------|
  B|-----------|
  G|-{notes}-|
  D|-----------|
  A|-----------|
  E|-----------|
```
"""
KNOW = "quarter notes, half notes, hammer-on, pull-off, slide, open strings, rests"


def lesson(notes: str, rhythm: str = "q q h") -> str:
    return TAB.format(notes=notes.ljust(9, "-"), rhythm=rhythm)


@pytest.mark.parametrize("notes", ["5h7---5", "7p5---5", "2p0---2", "5/7---5", "7\\5---5"])
def test_slurs_that_sound_are_left_alone(codes: Codes, notes: str) -> None:
    assert codes(lesson(notes), know=KNOW) == []


@pytest.mark.parametrize(
    ("notes", "code"),
    [
        ("7h5---5", "hammer-on-downwards"),
        ("5p7---5", "pull-off-upwards"),
        ("2h0---2", "hammer-on-to-open-string"),
        ("5h5---7", "slur-to-same-fret"),
        ("5p5---7", "slur-to-same-fret"),
        ("0/5---5", "slide-on-open-string"),
        ("5\\0---5", "slide-on-open-string"),
    ],
)
def test_slurs_that_cannot_sound_are_errors(codes: Codes, notes: str, code: str) -> None:
    assert code in codes(lesson(notes), know=KNOW)


def test_the_finding_points_at_the_note_itself(checked: Callable[..., Checked]) -> None:
    found = checked(lesson("7h5---5"), know=KNOW).findings
    finding = next(each for each in found if each.code == "hammer-on-downwards")

    assert (finding.span.file, finding.span.line) == ("lessons/01-example.md", 12)
    assert finding.span.column == 8
    assert "from fret 7 to fret 5 on string 3" in finding.message
    assert finding.exercise == "01-example/slur"


def test_only_the_broken_exercise_is_left_out(checked: Callable[..., Checked]) -> None:
    good = lesson("5h7---5").replace("exercise slur", "exercise good")
    course = checked(lesson("7h5---5") + "\n" + good, know=KNOW).course

    assert [exercise.id for exercise in course.exercises] == ["good"]
