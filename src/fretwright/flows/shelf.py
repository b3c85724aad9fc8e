"""The shelf: an output folder in which each file is made once for given inputs.

Every file has a key, a digest of all that it is made from. A file whose key and bytes on disk are still
those of the last build is left alone. Files appear under their own name only when they are whole (a
temporary name, then one rename), and the list of what lies on the shelf is saved after each one, so that
a build that is killed loses only the file it was making.
"""

import contextlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path, PurePosixPath
from typing import Final

from fretwright.base.errors import RenderError

LIST_NAME: Final = ".fretwright.json"
_PART_SUFFIX: Final = ".part"


@dataclass(frozen=True, slots=True)
class Entry:
    """What the shelf remembers of one file."""

    key: str
    size: int
    modified_ns: int


class Shelf:
    """An output folder and the list of what lies in it."""

    def __init__(self, folder: Path) -> None:
        """Open the folder, making it where it does not stand yet.

        Raises :class:`~fretwright.base.errors.RenderError` if it cannot be made, or holds files that no
        build put there.
        """
        self.folder = folder
        with _explained(folder):
            _refuse_foreign(folder)
            folder.mkdir(parents=True, exist_ok=True)
        self._entries, self._notes = _read_list(folder / LIST_NAME)
        self._kept: set[str] = set()

    def note(self, name: str) -> str | None:
        """A word kept from the last finished build."""
        return self._notes.get(name)

    @property
    def file_count(self) -> int:
        """How many files lie on the shelf."""
        return len(self._entries)

    @property
    def kept_count(self) -> int:
        """How many files this build has made or found unchanged so far."""
        return len(self._kept)

    def holds(self, path: str, key: str) -> bool:
        """Whether the file lies there unchanged since it was made for this very key; it is then kept."""
        entry = self._entries.get(path)
        if entry is None or entry.key != key or not self._is_untouched(path, entry):
            return False
        self._kept.add(path)
        return True

    def is_complete(self) -> bool:
        """Whether every file of the last build is still there and untouched."""
        return bool(self._entries) and all(
            self._is_untouched(path, entry) for path, entry in self._entries.items()
        )

    def put(self, files: Mapping[str, bytes], key: str) -> None:
        """Place files that were made for one key, each under its name in one step."""
        for path, content in files.items():
            target = self.target(path)
            with _explained(target):
                target.parent.mkdir(parents=True, exist_ok=True)
                _write_whole(target, content)
                status = target.stat()
            self._entries[path] = Entry(key, status.st_size, status.st_mtime_ns)
            self._kept.add(path)
        self._save()

    def target(self, path: str) -> Path:
        """Where a file of the shelf lies on disk."""
        return self.folder.joinpath(*PurePosixPath(path).parts)

    def finish(self, notes: dict[str, str], *, keep_others: bool = False) -> tuple[str, ...]:
        """Clear away what this build neither made nor kept, unless told to leave it; remember ``notes``.

        Returns the paths removed.
        """
        stale = () if keep_others else tuple(path for path in self._entries if path not in self._kept)
        for path in stale:
            target = self.target(path)
            target.unlink(missing_ok=True)
            _remove_empty_parents(target, self.folder)
            del self._entries[path]
        for part in self.folder.rglob(f"*{_PART_SUFFIX}"):
            part.unlink(missing_ok=True)
        self._notes = notes
        self._save()
        return stale

    def _is_untouched(self, path: str, entry: Entry) -> bool:
        try:
            status = self.target(path).stat()
        except OSError:
            return False
        return (status.st_size, status.st_mtime_ns) == (entry.size, entry.modified_ns)

    def _save(self) -> None:
        files = {path: asdict(entry) for path, entry in sorted(self._entries.items())}
        target = self.folder / LIST_NAME
        with _explained(target):
            _write_whole(target, json.dumps({"files": files, "notes": self._notes}, indent=0).encode())


def _write_whole(target: Path, content: bytes) -> None:
    """Write under a temporary name beside the target, then rename; a failure leaves no part behind."""
    part = target.with_name(f"{target.name}{_PART_SUFFIX}")
    try:
        part.write_bytes(content)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)


def _read_list(path: Path) -> tuple[dict[str, Entry], dict[str, str]]:
    """The saved entries and notes; an unreadable list counts as none, so that everything is made anew."""
    try:
        saved = json.loads(path.read_text(encoding="utf-8"))
        entries = {str(name): Entry(**entry) for name, entry in saved["files"].items()}
        return entries, {str(name): str(note) for name, note in saved["notes"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}, {}


def _refuse_foreign(folder: Path) -> None:
    """Never build into a folder that holds somebody's own files."""
    if folder.is_dir() and not (folder / LIST_NAME).exists() and any(folder.iterdir()):
        raise RenderError(
            f"{folder} is not empty and was not made by an earlier build.", "Name a new or an empty folder."
        )


def _remove_empty_parents(path: Path, root: Path) -> None:
    for parent in path.parents:
        if parent == root or any(parent.iterdir()):
            return
        parent.rmdir()


@contextlib.contextmanager
def _explained(target: Path) -> Iterator[None]:
    """Turn what the file system says into a sentence with a mend."""
    try:
        yield
    except OSError as error:
        raise RenderError(
            f"{target} cannot be written: {error.strerror or error}.",
            "Free some space or choose another folder with --out, then build again; finished files are kept.",
        ) from error
