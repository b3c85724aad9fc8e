"""Places that the prose names."""

from collections.abc import Callable

import pytest

from fretwright.check.check import Checked

PLAYED = """
```exercise low
tempo: 60
rhythm: q q h
tab: |
  e|-------------|
  B|-------------|
  G|-------------|
  D|-------------|
  A|-------------|
  E|-7-8-10------|
{more}```
"""


def lesson(prose: str, more: str = "") -> str:
    return prose + "\n" + PLAYED.format(more=more)


@pytest.mark.parametrize(
    "prose",
    [
        "Start on the sixth string, seventh fret.",
        "Start on string 6, fret 8.",
        "The eighth fret of the sixth string is home.",
        "The tenth fret on string six, then back.",
        "Pluck the sixth string at the tenth fret.",
        "Slide along the sixth string from the seventh fret to somewhere.",
        "Sixth string, fret ten.",
        "6th string, 7th fret",
        "The sixth string is the thickest.",
        "Frets seven to ten.",
    ],
)
def test_what_is_played_may_be_named_in_any_words(checked: Callable[..., Checked], prose: str) -> None:
    assert not checked(lesson(prose)).findings


@pytest.mark.parametrize(
    ("prose", "place"),
    [
        ("Start on the sixth string, ninth fret.", "string 6, fret 9"),
        ("Start on the fifth string, seventh fret.", "string 5, fret 7"),
        ("The twenty-first fret of the sixth string.", "string 6, fret 21"),
        ("Fret 12 of string 1.", "string 1, fret 12"),
        ("the 2nd string\nat the 8th fret", "string 2, fret 8"),
    ],
)
def test_what_is_never_played_is_found(checked: Callable[..., Checked], prose: str, place: str) -> None:
    (found,) = checked(lesson(prose)).findings

    assert found.code == "place-never-played"
    assert place in found.message


def test_the_finding_points_into_the_prose(checked: Callable[..., Checked]) -> None:
    prose = "A first line.\n\nThen start on the sixth string, fret nine, and wait."
    (found,) = checked(lesson(prose)).findings

    assert (found.span.line, found.span.column, found.span.text) == (8, 19, "sixth string, fret nine")


def test_a_remark_is_prose_too(checked: Callable[..., Checked]) -> None:
    (found,) = checked(lesson("Words.", more="remark: Mind the first string, fret 3.\n")).findings

    assert found.code == "place-never-played"
    assert found.exercise == "01-example/low"


def test_a_lesson_of_words_alone_is_not_held_to_them(checked: Callable[..., Checked]) -> None:
    codes = [found.code for found in checked("Remember the sixth string, fret nine.").findings]

    assert codes == ["lesson-without-exercise"]
