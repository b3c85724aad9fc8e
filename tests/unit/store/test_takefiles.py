"""Recordings lie in files of their own; nothing from outside becomes a path."""

import os
from pathlib import Path

import pytest

from fretwright.base.errors import StoreError
from fretwright.store.takefiles import TakeFiles


def test_pieces_make_one_file(tmp_path: Path) -> None:
    files = TakeFiles(tmp_path / "takes")
    name = files.new_name()

    stored = files.append(name, 0, b"abc")
    stored = files.append(name, stored, b"def")

    assert (stored, files.path(name).read_bytes()) == (6, b"abcdef")
    assert files.names() == {name}
    files.delete(name)
    files.delete(name)
    assert files.names() == frozenset()


def test_what_an_interrupted_call_left_is_cut_off(tmp_path: Path) -> None:
    files = TakeFiles(tmp_path)
    name = files.write(b"abcXYZ")

    files.append(name, 3, b"d")

    assert files.path(name).read_bytes() == b"abcd"


def test_a_file_shorter_than_what_is_counted_is_said_to_be_broken(tmp_path: Path) -> None:
    files = TakeFiles(tmp_path)
    name = files.write(b"ab")

    with pytest.raises(StoreError, match="gone"):
        files.append(name, 3, b"d")


def test_every_write_is_synced_before_it_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    synced: list[int] = []
    real = os.fsync

    def noting(handle: int) -> None:
        synced.append(os.fstat(handle).st_mode)
        real(handle)

    monkeypatch.setattr(os, "fsync", noting)
    files = TakeFiles(tmp_path)
    name = files.write(b"abc")
    files.append(name, 3, b"d")

    kinds = ["folder" if mode & 0o040000 else "file" for mode in synced]
    # the new folder's name, the file, the file's name in it, and the second piece
    assert kinds == ["folder", "file", "folder", "file"]


@pytest.mark.parametrize(
    "name",
    [
        "",
        "..",
        "../../etc/passwd",
        "ab/../../x",
        "/etc/passwd",
        "ab/" + "c" * 32,
        "ab/ab" + "." * 30,
        "ab\\ab",
    ],
)
def test_a_name_that_was_not_made_here_is_no_path(tmp_path: Path, name: str) -> None:
    with pytest.raises(StoreError):
        TakeFiles(tmp_path).path(name)


def test_a_full_disk_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "takes").write_text("in the way", encoding="utf-8")

    with pytest.raises(StoreError, match="cannot be written"):
        TakeFiles(tmp_path / "takes")
