"""The document of findings: every code of the reader is in it, and every example brings its code up."""

import re
import shutil
import subprocess
from pathlib import Path
from typing import NamedTuple

import pytest

from fretwright.base.findings import Finding
from fretwright.course import notebook as notebook_module
from fretwright.course.reader import read_course
from fretwright.course.starter import write_starter

ROOT = Path(__file__).parents[3]
HEAD = "---\ntitle: Case\ngoal: Case\n---\n"
WITHOUT_EXAMPLE = {"score-contradicts-itself"}
"""What no text is known to bring about; it is there so that none could ever bring the reader down."""


class Section(NamedTuple):
    code: str
    severity: str
    language: str
    example: str


def sections() -> list[Section]:
    text = (ROOT / "docs" / "findings.md").read_text(encoding="utf-8")
    reading = text.split("\n## Reading\n")[1].split("\n## ")[0]
    found = []
    for part in re.split(r"^### ", reading, flags=re.MULTILINE)[1:]:
        severity = re.search(r"^\*(Error|Warning|Advice)\.\*", part, re.MULTILINE)
        fence = re.search(r"^(`{3,})(\w+)\n(.*?)^\1$", part, re.MULTILINE | re.DOTALL)
        assert severity
        assert "\n*Mend:* " in part
        language, example = (fence[2], fence[3]) if fence else ("", "")
        found.append(Section(part.split("\n")[0], severity[1].lower(), language, example))
    return found


def codes_in_source() -> set[str]:
    """Every code that the reader's own text gives to a finding."""
    calls = re.compile(
        r"(?:error|warning|refused|_refuse)\(\s*(?:event,\s*)?\"([a-z0-9-]+)\"|\"(too-many-mistakes)\""
    )
    folder = Path(notebook_module.__file__).parent
    texts = (file.read_text(encoding="utf-8") for file in folder.glob("*.py"))
    return {code for text in texts for match in calls.findall(text) for code in match if code}


def test_every_code_is_documented_once() -> None:
    documented = [section.code for section in sections()]
    assert len(documented) == len(set(documented))
    assert set(documented) == codes_in_source()


def findings_of(section: Section, folder: Path) -> tuple[Finding, ...]:
    if section.language == "sh":
        write_starter(folder / "course")
        subprocess.run(["sh", "-ec", section.example], cwd=folder / "course", check=True, timeout=20)  # noqa: S607
        return read_course(folder / "course").findings
    (folder / "lessons").mkdir()
    is_lesson = section.language == "markdown"
    has_head = section.example.startswith(("---", "(no front matter)"))
    lesson = section.example if has_head else HEAD + (section.example if is_lesson else "")
    (folder / "lessons" / "01-case.md").write_text(lesson, encoding="utf-8")
    course = "title: Case\nteacher: Nobody\n" if is_lesson else section.example
    (folder / "course.yaml").write_text(course, encoding="utf-8")
    return read_course(folder).findings


@pytest.mark.parametrize("section", sections(), ids=lambda section: section.code)
def test_example_brings_its_code_up(section: Section, tmp_path: Path) -> None:
    if section.code in WITHOUT_EXAMPLE:
        assert not section.example
        return
    if section.language == "sh" and shutil.which("sh") is None:
        pytest.skip("the example is a shell command, and there is no shell")
    found = {finding.code: finding.severity.value for finding in findings_of(section, tmp_path)}
    assert found.get(section.code) == section.severity
