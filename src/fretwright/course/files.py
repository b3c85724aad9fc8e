"""Opening what lies in a course folder, and nothing that lies outside it."""

import stat
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final

from fretwright.base.errors import CourseError
from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook
from fretwright.course.page import Page, page_of

LARGEST_FILE_BYTES: Final = 1_048_576
"""A lesson of a thousand pages would be smaller."""

NOTHING_UNSAVED: Final[Mapping[str, str]] = MappingProxyType({})
"""Everything is read from the folder."""


def open_folder(folder: Path) -> Path:
    """The course folder with every link in its path followed.

    Raises :class:`~fretwright.base.errors.CourseError` where there is no such folder.
    """
    try:
        if folder.is_dir():
            return folder.resolve()
    except (OSError, ValueError) as error:
        raise CourseError(f"The folder {folder} cannot be opened: {error}.") from error
    message = f"There is no folder {folder}."
    raise CourseError(message, "Give the folder that holds course.yaml.")


def names_in(root: Path, folder: str) -> tuple[str, ...]:
    """Names of what lies in a folder of the course, sorted; empty where there is no such folder."""
    try:
        return tuple(sorted(entry.name for entry in (root / folder).iterdir()))
    except OSError:
        return ()


def read_page(
    root: Path, file: str, notebook: Notebook, unsaved: Mapping[str, str] = NOTHING_UNSAVED
) -> Page | None:
    """A file of the course as a page, or None with a finding where it cannot be read.

    A text that stands under its name in ``unsaved`` is read in place of the file.
    Bytes that are not UTF-8 are reported and read as U+FFFD, so that the rest is read as well.
    """
    if file in unsaved:
        return page_of(file, unsaved[file])
    span = Span(file, 1, 1)
    path = root / file
    try:
        if not path.resolve().is_relative_to(root):
            notebook.error(
                "outside-the-folder",
                span,
                f"{file} is a link that leads out of the course folder.",
                "Put the file itself into the folder.",
            )
            return None
        data = _read_bytes(path)
    except (OSError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or "links in a circle"
        notebook.error(
            "unreadable-file",
            span,
            f"{file} cannot be read: {reason}.",
            "See that it is there, a plain file, and that you may read it.",
        )
        return None
    if len(data) > LARGEST_FILE_BYTES:
        limit = LARGEST_FILE_BYTES // 1024
        notebook.error(
            "file-too-big", span, f"{file} is larger than {limit} KiB.", "Split it into several lessons."
        )
        return None
    return page_of(file, _decode(data, file, notebook))


def _read_bytes(path: Path) -> bytes:
    if not stat.S_ISREG(path.stat().st_mode):
        raise OSError(0, "it is not a plain file")
    with path.open("rb") as handle:
        return handle.read(LARGEST_FILE_BYTES + 1)


def _decode(data: bytes, file: str, notebook: Notebook) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")
        line = before.count("\n") + 1
        column = len(before) - (before.rfind("\n") + 1) + 1
        notebook.error(
            "not-utf8",
            Span(file, line, column),
            f"From here on {file} is not UTF-8 text.",
            "Save the file with the encoding UTF-8.",
        )
        return data.decode("utf-8", errors="replace")
