"""The folder of recordings. What is said to be here is on disk, and stays there when the power fails."""

import contextlib
import os
import secrets
from datetime import datetime
from pathlib import Path

from fretwright.base.errors import StoreError


class TakeFiles:
    """A folder of recordings under names of its own making; no name from outside becomes a path."""

    def __init__(self, folder: Path) -> None:
        """Open the folder, making it where it does not stand yet.

        Raises :class:`~fretwright.base.errors.StoreError` if it cannot be made.
        """
        self.folder = folder
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise _unwritable(folder, error) from error

    def new_name(self) -> str:
        """A name that nobody can guess, in one of 256 folders so that none grows too large."""
        word = secrets.token_hex(16)
        return f"{word[:2]}/{word}"

    def path(self, name: str) -> Path:
        """Where a file lies.

        Raises :class:`~fretwright.base.errors.StoreError` for anything but a name made here.
        """
        folder, _, word = name.partition("/")
        if len(word) != 32 or folder != word[:2] or not set(word) <= set("0123456789abcdef"):
            raise StoreError(f"{name!r} is not the name of a recording.")
        return self.folder / folder / word

    def append(self, name: str, offset: int, data: bytes) -> int:
        """Write at the end of what is known to be stored, and wait until it is on disk.

        Whatever lies beyond ``offset`` was written by a call that did not finish, and is cut off. Returns
        how many bytes are now safe.

        Raises :class:`~fretwright.base.errors.StoreError` if the disk refuses, or holds less than
        ``offset``.
        """
        path = self.path(name)
        try:
            is_new = not path.exists()
            if is_new:
                self._make_folder(path.parent)
            with path.open("r+b" if not is_new else "xb") as file:
                if file.seek(0, os.SEEK_END) < offset:
                    raise StoreError("Part of the recording is gone from the disk.", "Send it again.")
                file.truncate(offset)
                file.seek(offset)
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            if is_new:
                _keep_names(path.parent)
        except OSError as error:
            raise _unwritable(path, error) from error
        return offset + len(data)

    def write(self, data: bytes) -> str:
        """Store a whole file; returns its name once it is on disk."""
        name = self.new_name()
        self.append(name, 0, data)
        return name

    def restore(self, name: str, data: bytes) -> None:
        """Store a whole file under the name that it had."""
        self.append(name, 0, data)

    def delete(self, name: str) -> None:
        """Remove a file; nothing happens if it is gone already."""
        path = self.path(name)
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise _unwritable(path, error) from error

    def names(self) -> frozenset[str]:
        """Everything that lies here."""
        return frozenset(
            path.relative_to(self.folder).as_posix() for path in self.folder.glob("??/*") if path.is_file()
        )

    def names_before(self, moment: datetime) -> frozenset[str]:
        """What has lain here untouched since before a moment."""
        latest = moment.timestamp()
        found = []
        for name in self.names():
            with contextlib.suppress(FileNotFoundError):
                if self.path(name).stat().st_mtime < latest:
                    found.append(name)
        return frozenset(found)

    def _make_folder(self, folder: Path) -> None:
        if not folder.exists():
            folder.mkdir(exist_ok=True)
            _keep_names(self.folder)


def _keep_names(folder: Path) -> None:
    """Have the folder's own list of names on disk too, where the system can (not on Windows)."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _unwritable(path: Path, error: OSError) -> StoreError:
    return StoreError(
        f"{path} cannot be written: {error.strerror or error}.",
        "Free some space, or mend the folder's permissions.",
    )
