"""The teacher's own files on the desk: opened with their version, saved only over that version.

Whoever else edits the folder (the teacher's editor, a synchroniser) is never written over: a save names the
version that was opened, and where the disk holds another one nothing is written and both texts come back
with what is different between them. On Linux the new file and the old one change places in one step and
the old one is looked at afterwards, so that not even an edit between the look and the write is lost.
"""

import hashlib
import re
import stat
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fretwright.base.errors import RenderError, UsageError
from fretwright.base.whole import keep_names, whole_part
from fretwright.course.files import LARGEST_FILE_BYTES
from fretwright.course.outline import COURSE_FILE, LESSONS_FOLDER
from fretwright.flows.desk_compare import ComparedLine, compare
from fretwright.flows.desk_swap import swap_names

_LESSON_FILE: Final = re.compile(rf"{LESSONS_FOLDER}/([A-Za-z0-9][A-Za-z0-9_-]{{0,79}})\.md")
_LIST: Final = re.compile(r"^lessons:[ \t]*\n(?:(?P<indent>[ \t]*)-[ \t].*(?:\n|\Z))+", re.MULTILINE)
"""The list of lessons, one to a line; a list in brackets is left to the teacher."""
_BOM: Final = "\ufeff"


@dataclass(frozen=True, slots=True)
class DeskFile:
    """A file as the editor has it."""

    name: str
    """Path in the course folder (``lessons/03-first-lick.md``)."""
    text: str
    """Lines end with a line feed, whatever they end with on disk; without a byte order mark."""
    version: str
    """Digest of the bytes on disk."""


@dataclass(frozen=True, slots=True)
class Saved:
    """The text is on disk."""

    version: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """The disk held another version than the one that was opened; nothing was written."""

    mine: str
    theirs: str
    """Empty where the file is gone."""
    version: str
    """Of ``theirs``: whoever has seen it may save over it by naming it. Empty where the file is gone."""
    lines: tuple[ComparedLine, ...]

    @property
    def is_gone(self) -> bool:
        """Whether the file is no longer there."""
        return not self.version


_lock = threading.Lock()
"""Two saves of this process one after the other; those of other processes are told apart by version."""


def desk_files(folder: Path) -> tuple[str, ...]:
    """The files that can be edited, ``course.yaml`` first."""
    lessons = folder / LESSONS_FOLDER
    names = (
        sorted(f"{LESSONS_FOLDER}/{each.name}" for each in lessons.glob("*.md")) if lessons.is_dir() else []
    )
    found = [name for name in (COURSE_FILE, *names) if name == COURSE_FILE or _LESSON_FILE.fullmatch(name)]
    return tuple(name for name in found if _is_plain(folder / name))


def open_file(folder: Path, name: str) -> DeskFile:
    """Open a file of the course.

    Raises :class:`~fretwright.base.errors.UsageError` where it is none of the course's text files, is not
    there, or cannot be edited here.
    """
    data = _read(_path_of(folder, name))
    if data is None:
        raise UsageError(f"There is no file {name} in this course.")
    return DeskFile(name, _text_of(data, name), version_of(data))


def save_file(folder: Path, name: str, text: str, version: str) -> Saved | Conflict:
    """Save a text over the version that was opened; an empty ``version`` makes a new file.

    Line ends and a byte order mark stay as they are on disk. Raises
    :class:`~fretwright.base.errors.UsageError` where the file may not be edited or the text is too long, and
    :class:`~fretwright.base.errors.RenderError` where the disk does not take it; the old file is then whole.
    """
    target = _path_of(folder, name)
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    with _lock:
        before = _read(target)
        if version_of(before) != version:
            return _conflict(name, plain, before)
        data = _bytes_of(plain, before)
        if len(data) > LARGEST_FILE_BYTES:
            raise UsageError(
                f"The text is larger than {LARGEST_FILE_BYTES // 1024} KiB.", "Split it into two lessons."
            )
        try:
            theirs = _put(target, data, before)
        except OSError as error:
            raise RenderError(
                f"{name} cannot be saved: {error.strerror or error}.",
                "The file is as it was. Free some space, or see that the folder can be written, then save.",
            ) from error
    return Saved(version_of(data)) if theirs is None else _conflict(name, plain, theirs)


def new_lesson(folder: Path, name: str, title: str) -> str:
    """Make a lesson file with a title and a goal to fill in, and enter it last in the course's list.

    Returns its file name. Raises :class:`~fretwright.base.errors.UsageError` where the name cannot be one or
    is taken, and :class:`~fretwright.base.errors.RenderError` where the disk does not take it.
    """
    file = f"{LESSONS_FOLDER}/{name}.md"
    title = " ".join(title.split()) or "A new lesson"
    text = f"---\ntitle: {_in_quotes(title)}\ngoal: Say here what the student can do at the end.\n---\n\n"
    if isinstance(save_file(folder, file, text, ""), Conflict):
        raise UsageError(f"There is a lesson {name} already.", "Give another name.")
    course = open_file(folder, COURSE_FILE)
    listed = _LIST.search(course.text)
    if listed is not None:
        longer = f"{course.text[: listed.end()].rstrip()}\n{listed['indent']}- {name}\n"
        save_file(folder, COURSE_FILE, longer + course.text[listed.end() :], course.version)
    return file


def _in_quotes(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def version_of(data: bytes | None) -> str:
    """The version of a file's bytes; empty for a file that is not there."""
    return "" if data is None else hashlib.sha256(data).hexdigest()


def _path_of(folder: Path, name: str) -> Path:
    """Where an editable file lies; the name is matched, never resolved, so that no path leads out."""
    if name != COURSE_FILE and not _LESSON_FILE.fullmatch(name):
        raise UsageError(
            f"{name[:100]!r} is no text file of a course.",
            f"Name {COURSE_FILE}, or a lesson such as {LESSONS_FOLDER}/03-first-lick.md: "
            "letters, digits and hyphens.",
        )
    root = folder.resolve()
    path = root / name
    if path.parent.resolve() != path.parent or path.is_symlink():
        raise UsageError(f"{name} is a link to somewhere else.", "Put the file itself into the folder.")
    return path


def _is_plain(path: Path) -> bool:
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except OSError:
        return False


def _read(path: Path) -> bytes | None:
    """The bytes of a file, or None where it is not there."""
    try:
        if not stat.S_ISREG(path.lstat().st_mode):
            raise UsageError(f"{path.name} is not a plain file.")
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE_BYTES + 1)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise UsageError(f"{path.name} cannot be read: {error.strerror or error}.") from error
    if len(data) > LARGEST_FILE_BYTES:
        raise UsageError(
            f"{path.name} is larger than {LARGEST_FILE_BYTES // 1024} KiB.", "Split it into several lessons."
        )
    return data


def _text_of(data: bytes, name: str) -> str:
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise UsageError(f"{name} is not UTF-8 text.", "Save it with the encoding UTF-8.") from error
    return text.removeprefix(_BOM).replace("\r\n", "\n").replace("\r", "\n")


def _bytes_of(text: str, before: bytes | None) -> bytes:
    """The text as bytes in the manner of what is on disk."""
    old = before or b""
    if b"\r\n" in old and old.count(b"\r\n") == old.count(b"\n"):
        text = text.replace("\n", "\r\n")
    mark = _BOM if old.startswith(_BOM.encode()) else ""
    try:
        return (mark + text).encode()
    except UnicodeEncodeError as error:
        raise UsageError("The text holds half a character, which no file can hold.") from error


def _put(target: Path, data: bytes, before: bytes | None) -> bytes | None:
    """Put the new bytes in place of the old; what else is found there is put back and returned."""
    if before is None:
        target.parent.mkdir(exist_ok=True)
        with whole_part(target, data, 0o644) as part:
            try:
                target.hardlink_to(part)  # unlike a rename, this refuses a name that is taken
            except FileExistsError:
                return _read(target) or b""
        keep_names(target.parent)
        return None
    with whole_part(target, data, stat.S_IMODE(target.stat().st_mode)) as part:
        if not swap_names(part, target):
            part.replace(target)
        elif part.read_bytes() != before:
            return _put_back(target, part, data)
    keep_names(target.parent)
    return None


def _put_back(target: Path, part: Path, data: bytes) -> bytes:
    """Undo a swap that brought out an edit nobody had seen; returns what then lies on disk."""
    swap_names(part, target)
    if part.read_bytes() != data:  # one more edit in between, and it is the newest
        swap_names(part, target)
    return target.read_bytes()


def _conflict(name: str, mine: str, theirs: bytes | None) -> Conflict:
    text = "" if theirs is None else _text_of(theirs, name)
    return Conflict(mine, text, version_of(theirs), compare(mine, text))
