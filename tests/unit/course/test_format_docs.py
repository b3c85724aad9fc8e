"""The document of the course format: its examples are read without a finding, and no key is missing in it."""

import re
from pathlib import Path

import pytest

from finding_sections import Section, course_of
from fretwright.course.keys import KEYS
from fretwright.course.lessonfile import LESSON_KEYS
from fretwright.course.outline import COURSE_KEYS
from fretwright.course.reader import read_course
from fretwright.course.rhythm import LETTERS
from fretwright.course.tuningblock import TUNING_KEYS

TEXT = (Path(__file__).parents[3] / "docs" / "course-format.md").read_text(encoding="utf-8")


def examples() -> list[tuple[str, str]]:
    fences = re.findall(r"^(`{3,})(markdown|yaml)\n(.*?)^\1$", TEXT, re.MULTILINE | re.DOTALL)
    return [(language, example) for _, language, example in fences]


@pytest.mark.parametrize(("language", "example"), examples())
def test_example_has_no_finding(language: str, example: str, tmp_path: Path) -> None:
    reading = read_course(course_of(Section("", "", language, example), tmp_path))
    assert reading.findings == ()
    blocks = {exercise.span for exercise in reading.course.exercises}  # one block may make several
    assert len(blocks) == example.count("```exercise ") + example.count("```chart ")


def test_every_key_and_letter_is_explained() -> None:
    in_code = " ".join(re.findall(r"`([^`\n]+)`", TEXT)).split()
    for name in {*COURSE_KEYS, *LESSON_KEYS, *KEYS, *TUNING_KEYS, *LETTERS}:
        assert f"`{name}`" in TEXT or name in in_code, name
