"""What the README shows is what the program takes."""

import re
from pathlib import Path

from fretwright.check.check import check
from fretwright.cli.main import group
from fretwright.course.reader import read_course

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def test_the_first_lesson_has_nothing_to_mend(tmp_path: Path) -> None:
    lesson = re.search(r"^````markdown\n(.*?)^````$", README, re.MULTILINE | re.DOTALL)
    assert lesson
    assert lesson[1].count("\n") <= 11
    (tmp_path / "lessons").mkdir()
    (tmp_path / "lessons" / "01-first.md").write_text(lesson[1], encoding="utf-8")
    (tmp_path / "course.yaml").write_text("title: First\nteacher: Nobody\n", encoding="utf-8")

    checked = check(read_course(tmp_path))

    assert checked.findings == ()
    assert [exercise.id for exercise in checked.course.exercises] == ["up-and-back", "hammered"]


def test_every_command_it_shows_is_there() -> None:
    shown = set(re.findall(r"^    fretwright ([a-z]+)", README, re.MULTILINE))

    assert shown <= set(group.list_commands(None))  # type: ignore[arg-type]
    assert {"check", "build", "inspect", "shape"} <= shown
