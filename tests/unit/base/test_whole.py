"""Files that are whole or not there."""

import errno
import os
import stat
from pathlib import Path

import pytest

from fretwright.base.whole import whole_part, write_whole


def test_the_content_takes_the_name_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    target = tmp_path / "take.flac"
    target.write_bytes(b"old")

    write_whole(target, b"new", 0o640)

    assert target.read_bytes() == b"new"
    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    assert list(tmp_path.iterdir()) == [target]


def test_a_full_disk_leaves_the_old_file_and_no_part(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "take.flac"
    target.write_bytes(b"old")

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(target, b"new")

    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_part_that_was_not_placed_goes_away(tmp_path: Path) -> None:
    with whole_part(tmp_path / "take.flac", b"new") as part:
        assert part.read_bytes() == b"new"
        assert part.parent == tmp_path

    assert not list(tmp_path.iterdir())
