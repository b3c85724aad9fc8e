"""A course in memory: one lesson's text in, findings out."""

from collections.abc import Callable
from pathlib import Path

import pytest

from fretwright.check.check import Checked, check
from fretwright.course.reader import read_course

Checker = Callable[..., Checked]

COURSE = """\
title: Example
teacher: Nobody
lessons: {lessons}
students know: {know}
"""
FRONT = "---\ntitle: Example\ngoal: See a finding.\n---\n\n"


@pytest.fixture
def checked(tmp_path: Path) -> Checker:
    """Check a course of the given lesson texts; front matter is added where a text has none."""

    def run(*lessons: str, know: str = "quarter notes, half notes") -> Checked:
        folder = tmp_path / "course"
        (folder / "lessons").mkdir(parents=True, exist_ok=True)
        slugs = [f"{number:02}-example" for number in range(1, len(lessons) + 1)]
        (folder / "course.yaml").write_text(
            COURSE.format(lessons=", ".join(slugs), know=know), encoding="utf-8"
        )
        for slug, text in zip(slugs, lessons, strict=True):
            whole = text if text.startswith("---") else FRONT + text
            (folder / "lessons" / f"{slug}.md").write_text(whole, encoding="utf-8")
        return check(read_course(folder))

    return run


@pytest.fixture
def codes(checked: Checker) -> Callable[..., list[str]]:
    """The codes of the findings alone."""

    def run(*lessons: str, know: str = "quarter notes, half notes") -> list[str]:
        return [finding.code for finding in checked(*lessons, know=know).findings]

    return run
