"""Digests: what a file is made from, in one short word.

Two outputs with the same digest are the same bytes, so that the second need not be made. Everything that
goes into a digest is written by ``repr`` of immutable values, whose order and spelling are fixed; the
program's own code is part of every digest.
"""

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from fretwright import __version__
from fretwright.score.score import Score

_MOST_READ_BYTES = 1_000_000


def digest(*parts: object) -> str:
    """One word for all parts and the program itself."""
    found = hashlib.sha256(program().encode())
    for part in parts:
        data = part if isinstance(part, bytes) else repr(part).encode()
        found.update(len(data).to_bytes(8, "big"))
        found.update(data)
    return found.hexdigest()


def digest_of_score(score: Score) -> str:
    """One word for what a score says, wherever in the teacher's text it stands."""
    bare = replace(
        score,
        notes=tuple(replace(note, source=None) for note in score.notes),
        rests=tuple(replace(rest, source=None) for rest in score.rests),
    )
    return digest(bare)


@cache
def program() -> str:
    """One word for this version of the program: every file that the package ships."""
    found = hashlib.sha256(__version__.encode())
    for name, file in _files(files("fretwright")):
        found.update(name.encode())
        found.update(hashlib.sha256(file.read_bytes()).digest())
    return found.hexdigest()


def _files(folder: Traversable, prefix: str = "") -> Iterator[tuple[str, Traversable]]:
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if entry.name.startswith((".", "__pycache__")):
            continue
        if entry.is_dir():
            yield from _files(entry, f"{prefix}{entry.name}/")
        elif not entry.name.endswith((".pyc", ".nbi", ".nbc")):
            yield f"{prefix}{entry.name}", entry


def digest_of_folder(folder: Path, *, apart_from: Path) -> str:
    """One word for a course folder as it lies on disk: text by content, large files by size and date."""
    parts: list[object] = []
    for path in sorted(folder.rglob("*")):
        inside = path.relative_to(folder)
        if any(part.startswith(".") for part in inside.parts) or not path.is_file():
            continue
        if path.resolve().is_relative_to(apart_from.resolve()):
            continue
        status = path.stat()
        large = status.st_size > _MOST_READ_BYTES
        parts += [inside.as_posix(), status.st_mtime_ns if large else path.read_bytes(), status.st_size]
    return digest(*parts)
