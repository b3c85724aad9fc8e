"""The teacher's own pictures and files that the prose shows or links to."""

from collections.abc import Mapping
from pathlib import Path, PurePosixPath
from typing import Final

from fretwright.course.model import Course
from fretwright.publish.prose import PICTURE_SUFFIXES, course_paths

FOLDER: Final = "files"
_LARGEST_BYTES: Final = 64 * 1024 * 1024


def attachments(root: Path, course: Course) -> dict[str, bytes]:
    """Path in the course folder -> content, of every file that prose names and that lies in the folder.

    A path that leads out of the folder, and a file over 64 MiB, is left out.
    """
    inside = root.resolve()
    found: dict[str, bytes] = {}
    for path in course_paths(course):
        file = root.joinpath(*PurePosixPath(path).parts).resolve()
        if file.is_relative_to(inside) and file.is_file() and file.stat().st_size <= _LARGEST_BYTES:
            found[path] = file.read_bytes()
    return found


def published(paths: Mapping[str, bytes]) -> dict[str, str]:
    """Path in the course folder -> path in the output folder."""
    return {path: f"{FOLDER}/{path}" for path in paths}


def pictures(found: Mapping[str, bytes]) -> dict[str, bytes]:
    """Those of the attachments that a page can show."""
    return {
        path: data for path, data in found.items() if PurePosixPath(path).suffix.lower() in PICTURE_SUFFIXES
    }
