"""Files that are there whole or not at all, also after the power went.

Content goes under a temporary name beside its target, is forced onto the disk, and then takes the target's
name in one step. Where the disk is full, or the machine stops, the target is what it was before.
"""

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

_PART_PREFIX: Final = "."
_PART_SUFFIX: Final = ".part"
_USUAL_MODE: Final = 0o600


@contextlib.contextmanager
def whole_part(target: Path, content: bytes, mode: int = _USUAL_MODE) -> Iterator[Path]:
    """A file beside the target that holds ``content`` on disk; taken away at the end if it is still there.

    Raises :class:`OSError` where it cannot be written, and then leaves nothing behind.
    """
    handle, name = tempfile.mkstemp(_PART_SUFFIX, _PART_PREFIX, target.parent)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.chmod(mode)
        yield part
    finally:
        part.unlink(missing_ok=True)


def write_whole(target: Path, content: bytes, mode: int = _USUAL_MODE) -> None:
    """Put ``content`` under a name in one step, over whatever was there.

    Raises :class:`OSError` where it cannot be written; the target is then untouched.
    """
    with whole_part(target, content, mode) as part:
        part.replace(target)
    keep_names(target.parent)


def keep_names(folder: Path) -> None:
    """Force the names in a folder onto the disk, where the system lets a folder be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
