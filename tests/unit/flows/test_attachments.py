"""Files of the course folder that the prose names."""

from pathlib import Path

import pytest

from fretwright.course.reader import read_course
from fretwright.flows.attachments import attachments, pictures, published

LESSON = """\
---
title: One
goal: See a picture.
---

![The hand](../pictures/hand.png) and [a sheet](sheet.pdf), but not
![out](../../secret.png), [away](../../../etc/passwd) or ![gone](gone.png).
"""


@pytest.fixture
def course(tmp_path: Path) -> Path:
    folder = tmp_path / "course"
    (folder / "lessons").mkdir(parents=True)
    (folder / "pictures").mkdir()
    (folder / "course.yaml").write_text("title: A\nteacher: B\n", encoding="utf-8")
    (folder / "lessons" / "01-one.md").write_text(LESSON, encoding="utf-8")
    (folder / "pictures" / "hand.png").write_bytes(b"png")
    (folder / "lessons" / "sheet.pdf").write_bytes(b"pdf")
    (tmp_path / "secret.png").write_bytes(b"secret")
    return folder


def test_only_files_inside_the_folder_are_taken(course: Path) -> None:
    found = attachments(course, read_course(course).course)

    assert found == {"pictures/hand.png": b"png", "lessons/sheet.pdf": b"pdf"}
    assert pictures(found) == {"pictures/hand.png": b"png"}
    assert published(found)["pictures/hand.png"] == "files/pictures/hand.png"


def test_a_link_that_leads_out_of_the_folder_is_not_followed(course: Path) -> None:
    hand = course / "pictures" / "hand.png"
    hand.unlink()
    hand.symlink_to(course.parent / "secret.png")

    assert "pictures/hand.png" not in attachments(course, read_course(course).course)
