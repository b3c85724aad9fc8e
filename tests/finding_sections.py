"""The document of findings, section by section: what it says of each code, and its example."""

import re
import shutil
import subprocess
from pathlib import Path
from typing import NamedTuple

import pytest

from fretwright.course.starter import write_starter

DOCUMENT = Path(__file__).parents[1] / "docs" / "findings.md"
_HEAD = "---\ntitle: Case\ngoal: Case\n---\n"


class Section(NamedTuple):
    """One code as documented."""

    code: str
    severity: str
    language: str
    example: str


def sections(chapter: str) -> list[Section]:
    """The sections of a chapter, in order; each has to say its severity and a mend."""
    text = DOCUMENT.read_text(encoding="utf-8").split(f"\n## {chapter}\n")[1].split("\n## ")[0]
    found = []
    for part in re.split(r"^### ", text, flags=re.MULTILINE)[1:]:
        severity = re.search(r"^\*(Error|Warning|Advice)\.\*", part, re.MULTILINE)
        fence = re.search(r"^(`{3,})(\w+)\n(.*?)^\1$", part, re.MULTILINE | re.DOTALL)
        assert severity, part
        assert "\n*Mend:* " in part, part
        language, example = (fence[2], fence[3]) if fence else ("", "")
        found.append(Section(part.split("\n")[0], severity[1].lower(), language, example))
    return found


def course_of(section: Section, folder: Path) -> Path:
    """The course folder that shows a section's example."""
    course = folder / "course"
    if section.language == "sh":
        if shutil.which("sh") is None:
            pytest.skip("the example is a shell command, and there is no shell")
        write_starter(course)
        subprocess.run(["sh", "-ec", section.example], cwd=course, check=True, timeout=20)  # noqa: S607
        return course
    (course / "lessons").mkdir(parents=True)
    is_lesson = section.language == "markdown"
    has_head = section.example.startswith(("---", "(no front matter)"))
    lesson = section.example if has_head else _HEAD + (section.example if is_lesson else "")
    (course / "lessons" / "01-case.md").write_text(lesson, encoding="utf-8")
    outline = "title: Case\nteacher: Nobody\n" if is_lesson else section.example
    (course / "course.yaml").write_text(outline, encoding="utf-8")
    return course
