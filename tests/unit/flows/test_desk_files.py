"""The teacher's files: opened with a version, saved over that version alone."""

import errno
import os
import threading
from pathlib import Path

import pytest

from fretwright.base.errors import RenderError, UsageError
from fretwright.base.whole import write_whole
from fretwright.course.files import LARGEST_FILE_BYTES
from fretwright.course.reader import read_course
from fretwright.flows import desk_files as desk
from fretwright.flows.desk_compare import Side
from fretwright.flows.desk_files import Conflict, Saved, open_file, save_file
from fretwright.flows.desk_swap import swap_names
from small_course import small_course

LESSON = "lessons/01-stairs.md"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    small_course(tmp_path / "course")
    return tmp_path / "course"


def test_the_files_of_a_course_are_its_text_files(folder: Path) -> None:
    (folder / "lessons" / "notes.txt").write_text("mine", encoding="utf-8")
    (folder / "lessons" / "two words.md").write_text("no address", encoding="utf-8")
    (folder / "secrets.yaml").write_text("no", encoding="utf-8")
    (folder / "lessons" / "03-link.md").symlink_to(folder / "secrets.yaml")

    assert desk.desk_files(folder) == ("course.yaml", LESSON, "lessons/02-lamp.md")


def test_what_is_saved_is_what_is_opened_next(folder: Path) -> None:
    opened = open_file(folder, LESSON)

    saved = save_file(folder, LESSON, opened.text + "\nOne more line.\n", opened.version)

    again = open_file(folder, LESSON)
    assert isinstance(saved, Saved)
    assert again.text == opened.text + "\nOne more line.\n"
    assert again.version == saved.version
    assert sorted(each.name for each in (folder / "lessons").iterdir()) == ["01-stairs.md", "02-lamp.md"]


@pytest.mark.parametrize("start", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_line_ends_and_byte_order_mark_stay_as_they_are(folder: Path, start: bytes, end: bytes) -> None:
    path = folder / LESSON
    path.write_bytes(start + b"---" + end + b"title: A" + end + b"---" + end)
    opened = open_file(folder, LESSON)
    assert opened.text == "---\ntitle: A\n---\n"

    # A form sends every line end as CRLF (HTML Standard, section 4.10.21.4).
    save_file(folder, LESSON, "---\r\ntitle: B\r\n---\r\n", opened.version)

    assert path.read_bytes() == start + b"---" + end + b"title: B" + end + b"---" + end


def test_an_outside_edit_is_kept_and_both_texts_come_back(folder: Path) -> None:
    opened = open_file(folder, LESSON)
    outside = opened.text.replace("title: The stairs", "title: The long stairs")
    (folder / LESSON).write_text(outside, encoding="utf-8")
    mine = opened.text.replace("title: The stairs", "title: The short stairs")

    found = save_file(folder, LESSON, mine, opened.version)

    assert isinstance(found, Conflict)
    assert (folder / LESSON).read_text(encoding="utf-8") == outside
    assert (found.mine, found.theirs) == (mine, outside)
    sides = {Side.MINE: "title: The short stairs", Side.THEIRS: "title: The long stairs"}
    assert {line.side: line.text for line in found.lines if line.side in sides} == sides
    assert found.lines[-1].side is Side.GAP


def test_whoever_has_seen_the_other_text_may_save_over_it(folder: Path) -> None:
    opened = open_file(folder, LESSON)
    (folder / LESSON).write_text("outside", encoding="utf-8")
    found = save_file(folder, LESSON, "mine", opened.version)
    assert isinstance(found, Conflict)

    assert isinstance(save_file(folder, LESSON, "mine", found.version), Saved)
    assert open_file(folder, LESSON).text == "mine"


def test_a_file_that_was_taken_away_is_a_conflict_and_can_be_made_anew(folder: Path) -> None:
    opened = open_file(folder, LESSON)
    (folder / LESSON).unlink()

    found = save_file(folder, LESSON, "mine", opened.version)

    assert isinstance(found, Conflict)
    assert found.is_gone
    assert not (folder / LESSON).exists()
    assert isinstance(save_file(folder, LESSON, "mine", found.version), Saved)


def test_a_new_lesson_is_made_and_never_over_one_that_is_there(folder: Path) -> None:
    assert isinstance(save_file(folder, "lessons/03-new.md", "new", ""), Saved)
    found = save_file(folder, "lessons/03-new.md", "newer", "")

    assert isinstance(found, Conflict)
    assert open_file(folder, "lessons/03-new.md").text == "new"


def test_a_new_lesson_has_a_head_and_is_entered_last(folder: Path) -> None:
    assert desk.new_lesson(folder, "03-harbour", 'The "old" harbour') == "lessons/03-harbour.md"

    reading = read_course(folder)

    assert [finding.code for finding in reading.findings] == []
    assert [(each.slug, each.title) for each in reading.course.lessons][-1] == (
        "03-harbour",
        'The "old" harbour',
    )
    with pytest.raises(UsageError, match="already"):
        desk.new_lesson(folder, "03-harbour", "Again")


@pytest.mark.parametrize(
    ("listed", "written"),
    [
        ("lessons:\n- 01-stairs", "lessons:\n- 01-stairs\n- 03-new\n"),
        ("lessons:\n  - 01-stairs\n  - 02-lamp\ntuning: standard\n",
         "lessons:\n  - 01-stairs\n  - 02-lamp\n  - 03-new\ntuning: standard\n"),
        ("lessons: [01-stairs]\n", "lessons: [01-stairs]\n"),
        ("tuning: standard\n", "tuning: standard\n"),
    ],
)  # fmt: skip
def test_the_list_of_lessons_keeps_its_form(folder: Path, listed: str, written: str) -> None:
    (folder / "course.yaml").write_text(f"title: A\n{listed}", encoding="utf-8")

    desk.new_lesson(folder, "03-new", "")

    assert (folder / "course.yaml").read_text(encoding="utf-8") == f"title: A\n{written}"


@pytest.mark.parametrize(
    "name",
    [
        "../course.yaml",
        "lessons/../../etc/passwd",
        "/etc/passwd",
        "lessons/.hidden.md",
        "lessons/a/b.md",
        "lessons/a.yaml",
        "lessons/a\x00.md",
        "lessons/a.md\n",
        "lessons\\a.md",
        "secrets.yaml",
        "",
    ],
)
def test_no_other_file_is_opened_or_saved(folder: Path, name: str) -> None:
    with pytest.raises(UsageError):
        open_file(folder, name)
    with pytest.raises(UsageError):
        save_file(folder, name, "mine", "")


def test_links_lead_nowhere(folder: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside.md"
    outside.write_text("secret", encoding="utf-8")
    (folder / LESSON).unlink()
    (folder / LESSON).symlink_to(outside)
    with pytest.raises(UsageError, match="link"):
        open_file(folder, LESSON)

    elsewhere = tmp_path / "elsewhere"
    (folder / "lessons").rename(elsewhere)
    (folder / "lessons").symlink_to(elsewhere)
    with pytest.raises(UsageError, match="link"):
        save_file(folder, "lessons/02-lamp.md", "mine", "")
    assert outside.read_text(encoding="utf-8") == "secret"


def test_a_folder_in_the_place_of_a_file_is_refused(folder: Path) -> None:
    (folder / "lessons" / "03-folder.md").mkdir()

    with pytest.raises(UsageError, match="plain file"):
        open_file(folder, "lessons/03-folder.md")


def test_a_text_that_no_lesson_can_have_is_refused(folder: Path) -> None:
    opened = open_file(folder, LESSON)
    for text, why in (("é" * (LARGEST_FILE_BYTES // 2 + 1), "larger"), ("\ud800", "half a character")):
        with pytest.raises(UsageError, match=why):
            save_file(folder, LESSON, text, opened.version)
    assert open_file(folder, LESSON) == opened


def test_a_file_in_another_encoding_is_not_spoilt(folder: Path) -> None:
    (folder / LESSON).write_bytes("Übung".encode("latin-1"))

    with pytest.raises(UsageError, match="UTF-8"):
        open_file(folder, LESSON)


def test_a_full_disk_leaves_the_old_file_whole(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = open_file(folder, LESSON)

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(RenderError, match="No space left on device"):
        save_file(folder, LESSON, "mine", opened.version)

    assert open_file(folder, LESSON) == opened
    assert len(list((folder / "lessons").iterdir())) == 2


def test_where_names_cannot_be_swapped_a_save_still_replaces(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(desk, "swap_names", lambda *_: False)
    opened = open_file(folder, LESSON)

    assert isinstance(save_file(folder, LESSON, "mine", opened.version), Saved)
    assert open_file(folder, LESSON).text == "mine"


def test_an_edit_between_the_look_and_the_write_is_put_back(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = open_file(folder, LESSON)
    look = desk._read
    looks: list[Path] = []

    def look_then_edit(path: Path) -> bytes | None:
        data = look(path)
        if not looks:
            write_whole(path, b"outside")
        looks.append(path)
        return data

    monkeypatch.setattr(desk, "_read", look_then_edit)
    found = save_file(folder, LESSON, "mine", opened.version)

    assert isinstance(found, Conflict)
    assert found.theirs == "outside"
    assert (folder / LESSON).read_bytes() == b"outside"


def test_no_edit_of_an_outside_editor_is_lost_in_a_race(folder: Path) -> None:
    """Two writers at full speed: an outside text goes only if the desk has shown it, or to the next one."""
    path, part = folder / LESSON, folder / "outside.part"
    edits = [f"outside {number}" for number in range(150)]
    replaced: list[str] = []

    def outside() -> None:
        for text in edits:
            part.write_text(text, encoding="utf-8")
            swap_names(part, path)
            replaced.append(part.read_text(encoding="utf-8"))

    editor = threading.Thread(target=outside)
    editor.start()
    seen: set[str] = set()
    undone: set[str] = set()
    while editor.is_alive() or not seen:
        opened = open_file(folder, LESSON)
        text = f"desk {len(seen) + len(undone)}"
        if isinstance(save_file(folder, LESSON, text, opened.version), Saved):
            seen.add(opened.text)
        else:
            undone.add(text)
    editor.join()

    # Where the next edit came while a save was being undone, it stands in the place of the one before.
    followed = {edits[at - 1] for at, text in enumerate(replaced) if at and text in undone}
    assert set(edits) <= set(replaced) | seen | followed | {open_file(folder, LESSON).text}
