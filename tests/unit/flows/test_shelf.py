"""The shelf: files appear whole, once, and only where something changed."""

import errno
import json
import os
from pathlib import Path

import pytest

from fretwright.base.errors import RenderError
from fretwright.flows.shelf import LIST_NAME, Shelf


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path / "out")


def test_a_file_made_for_a_key_is_held_for_that_key_only(shelf: Shelf) -> None:
    shelf.put({"pages/one.html": b"hello"}, "key-1")

    assert shelf.target("pages/one.html").read_bytes() == b"hello"
    assert shelf.holds("pages/one.html", "key-1")
    assert not shelf.holds("pages/one.html", "key-2")
    assert not shelf.holds("pages/two.html", "key-1")


def test_a_file_changed_by_hand_is_not_held(shelf: Shelf) -> None:
    shelf.put({"one.html": b"hello"}, "key")
    shelf.target("one.html").write_bytes(b"changed")

    assert not shelf.holds("one.html", "key")
    assert not shelf.is_complete()


def test_a_later_build_knows_what_lies_there(tmp_path: Path) -> None:
    first = Shelf(tmp_path)
    first.put({"one.html": b"hello"}, "key")
    first.finish({"inputs": "abc"})

    second = Shelf(tmp_path)

    assert second.holds("one.html", "key")
    assert second.note("inputs") == "abc"
    assert second.is_complete()


def test_what_a_build_no_longer_makes_is_cleared_away(tmp_path: Path) -> None:
    first = Shelf(tmp_path)
    first.put({"lessons/old/page.html": b"old"}, "key")
    first.put({"lessons/new/page.html": b"new"}, "key")
    first.finish({})

    second = Shelf(tmp_path)
    assert second.holds("lessons/new/page.html", "key")

    assert second.finish({}) == ("lessons/old/page.html",)
    assert not (tmp_path / "lessons" / "old").exists()
    assert (tmp_path / "lessons" / "new" / "page.html").exists()


def test_files_of_other_lessons_can_be_left(tmp_path: Path) -> None:
    first = Shelf(tmp_path)
    first.put({"one/page.html": b"1"}, "key")
    first.put({"two/page.html": b"2"}, "key")
    first.finish({})

    second = Shelf(tmp_path)
    second.put({"one/page.html": b"1b"}, "key-2")
    second.finish({}, keep_others=True)

    assert (tmp_path / "two" / "page.html").read_bytes() == b"2"


def test_a_failed_write_leaves_the_old_file_and_no_part(
    shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf.put({"one.html": b"whole"}, "key")

    def half_written(path: Path, content: bytes) -> int:
        with path.open("wb") as file:
            file.write(content[:2])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(Path, "write_bytes", half_written)
    with pytest.raises(RenderError, match="cannot be written") as full:
        shelf.put({"one.html": b"newer"}, "key-2")

    assert "finished files are kept" in full.value.mend
    assert shelf.target("one.html").read_bytes() == b"whole"
    assert [path.name for path in shelf.folder.rglob("*.part*")] == []
    assert shelf.holds("one.html", "key")


def test_every_finished_file_is_listed_at_once_so_that_a_killed_build_keeps_it(tmp_path: Path) -> None:
    killed = Shelf(tmp_path)
    killed.put({"one.html": b"hello"}, "key")
    (tmp_path / "two.html.part").write_bytes(b"half")

    following = Shelf(tmp_path)

    assert following.holds("one.html", "key")
    following.finish({})
    assert not (tmp_path / "two.html.part").exists()


def test_a_folder_with_somebodys_own_files_is_refused(tmp_path: Path) -> None:
    (tmp_path / "thesis.txt").write_text("mine", encoding="utf-8")

    with pytest.raises(RenderError, match="not empty") as refused:
        Shelf(tmp_path)

    assert "empty folder" in refused.value.mend
    assert (tmp_path / "thesis.txt").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("damage", ["", "{", "[]", '{"files": {"a": {"key": 1}}}', '{"files": []}', "\x00"])
def test_a_damaged_list_means_that_everything_is_made_anew(tmp_path: Path, damage: str) -> None:
    first = Shelf(tmp_path)
    first.put({"one.html": b"hello"}, "key")
    (tmp_path / LIST_NAME).write_text(damage, encoding="utf-8")

    assert not Shelf(tmp_path).holds("one.html", "key")


def test_the_list_is_readable_json(shelf: Shelf) -> None:
    shelf.put({"one.html": b"hello"}, "key")

    saved = json.loads((shelf.folder / LIST_NAME).read_text(encoding="utf-8"))

    assert saved["files"]["one.html"]["size"] == 5
