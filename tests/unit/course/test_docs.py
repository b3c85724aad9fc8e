"""The document of findings: every code of the reader is in it, and every example brings its code up."""

import re
from pathlib import Path

import pytest

from finding_sections import Section, course_of, sections
from fretwright.course import notebook as notebook_module
from fretwright.course.reader import read_course

READING = sections("Reading")
WITHOUT_EXAMPLE = {"score-contradicts-itself"}
"""What no text is known to bring about; it is there so that none could ever bring the reader down."""


def codes_in_source() -> set[str]:
    """Every code that the reader's own text gives to a finding."""
    calls = re.compile(
        r"(?:error|warning|refused|_refuse)\(\s*(?:event,\s*)?\"([a-z0-9-]+)\"|\"(too-many-mistakes)\""
    )
    folder = Path(notebook_module.__file__).parent
    texts = (file.read_text(encoding="utf-8") for file in folder.glob("*.py"))
    return {code for text in texts for match in calls.findall(text) for code in match if code}


def test_every_code_is_documented_once() -> None:
    documented = [section.code for section in READING]
    assert len(documented) == len(set(documented))
    assert set(documented) == codes_in_source()


@pytest.mark.parametrize("section", READING, ids=lambda section: section.code)
def test_example_brings_its_code_up(section: Section, tmp_path: Path) -> None:
    if section.code in WITHOUT_EXAMPLE:
        assert not section.example
        return
    reading = read_course(course_of(section, tmp_path))
    found = {finding.code: finding.severity.value for finding in reading.findings}
    assert found.get(section.code) == section.severity
