"""The document of findings: every code of the check is in it, and every example brings its code up."""

import re
from pathlib import Path

import pytest

from finding_sections import Section, course_of, sections
from fretwright.check import check as check_module
from fretwright.check.check import check
from fretwright.course.reader import read_course
from fretwright.fingering.grips import FaultKind

MUSIC = sections("Music and teaching")

REFUSED_BY_THE_READER = {FaultKind.FINGER_ON_OPEN, FaultKind.OPEN_ON_FRET, FaultKind.OFF_NECK}
"""Faults of an imported score that no course text gets as far as."""


def codes_in_source() -> set[str]:
    folder = Path(check_module.__file__).parent
    texts = [file.read_text(encoding="utf-8") for file in folder.glob("*.py")]
    named = re.compile(r"(?:\(|return \()\s*\"([a-z]+(?:-[a-z]+)+)\",\n")
    faults = set(FaultKind) - REFUSED_BY_THE_READER
    return {code for text in texts for code in named.findall(text)} | {fault.value for fault in faults}


def test_every_code_is_documented_once() -> None:
    documented = [section.code for section in MUSIC]

    assert len(documented) == len(set(documented))
    assert set(documented) == codes_in_source()


def test_no_code_means_two_things() -> None:
    assert not {section.code for section in MUSIC} & {section.code for section in sections("Reading")}


@pytest.mark.parametrize("section", MUSIC, ids=lambda section: section.code)
def test_example_brings_its_code_up(section: Section, tmp_path: Path) -> None:
    checked = check(read_course(course_of(section, tmp_path)))
    found = {finding.code: finding.severity.value for finding in checked.findings}

    assert found.get(section.code) == section.severity
