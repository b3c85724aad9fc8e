"""The small course that a teacher starts from."""

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from fretwright.base.errors import UsageError


def write_starter(folder: Path) -> None:
    """Write a working course of two lessons into a folder, which is made where it is not there.

    Raises :class:`~fretwright.base.errors.UsageError` where something lies in the folder already, so that
    nothing is ever written over, and where the folder cannot be written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        message = f"{folder} is there already and not an empty folder."
        raise UsageError(message, "Give the name of a new folder.")
    try:
        _copy(files(__package__) / "starter_files", folder)
    except OSError as error:
        message = f"{folder} cannot be written: {error.strerror or error}."
        raise UsageError(message, "Give a folder that you may write to.") from error


def _copy(source: Traversable, target: Path) -> None:
    target.mkdir(parents=True, exist_ok=True)
    for entry in source.iterdir():
        if entry.is_dir():
            _copy(entry, target / entry.name)
        else:
            (target / entry.name).write_bytes(entry.read_bytes())
