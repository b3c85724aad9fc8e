"""The course that a teacher starts from."""

from pathlib import Path

import pytest

from fretwright.base.errors import UsageError
from fretwright.course.reader import read_course
from fretwright.course.starter import write_starter


def test_starter_reads_without_a_finding(tmp_path: Path) -> None:
    write_starter(tmp_path / "new" / "course")
    reading = read_course(tmp_path / "new" / "course")
    assert reading.findings == ()
    assert [lesson.slug for lesson in reading.course.lessons] == ["01-first-shape", "02-first-hammer-on"]
    assert sum(1 for _ in reading.course.exercises) == 4


def test_starter_goes_into_an_empty_folder(tmp_path: Path) -> None:
    write_starter(tmp_path)
    assert (tmp_path / "course.yaml").is_file()


def test_nothing_is_ever_written_over(tmp_path: Path) -> None:
    (tmp_path / "mine.md").write_text("mine", encoding="utf-8")
    for target in (tmp_path, tmp_path / "mine.md"):
        with pytest.raises(UsageError, match="is there already"):
            write_starter(target)
    assert [entry.name for entry in tmp_path.iterdir()] == ["mine.md"]


def test_folder_that_cannot_be_made_is_a_wrong_use(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(UsageError, match="cannot be written"):
        write_starter(tmp_path / "file" / "course")
