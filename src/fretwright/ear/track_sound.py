"""A long sound track, block by block: what is in memory does not depend on how long it is."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from enum import IntEnum
from pathlib import Path
from typing import IO, Final, cast

import numpy as np

from fretwright.ear.arrays import Samples
from fretwright.ear.take import RATE_HZ, Refusal

LONGEST_TRACK_S: Final = 6 * 3600.0
"""Longest recording of a lesson that is listened to."""
BLOCK_S: Final = 30.0
_BYTES: Final = 4


class Ending(IntEnum):
    """How decoding ended, as an exit code."""

    WHOLE = 0
    BROKEN = 10
    NO_SOUND = 11
    TOO_LONG = 12
    MEMORY = 13


ENDINGS: Final = {
    Ending.BROKEN: Refusal(
        "The recording cannot be read: it is broken, cut short or of another kind.",
        "Copy it from the camera again, or save it as MP4.",
    ),
    Ending.NO_SOUND: Refusal(
        "There is no sound in the recording.", "The playing is found by ear: film with the microphone on."
    ),
    Ending.TOO_LONG: Refusal(
        f"The recording is longer than {LONGEST_TRACK_S / 3600:.0f} hours.", "Cut it into lessons."
    ),
    Ending.MEMORY: Refusal(
        "The recording takes too much memory to read.", "Save it as MP4 with AAC sound, and try again."
    ),
}
"""What is said of every ending but the whole one."""


class UnheardError(Exception):
    """The recording ended before its time; carries the refusal."""

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(refusal.reason)
        self.refusal = refusal


@contextmanager
def sound_of(path: Path, block_s: float = BLOCK_S) -> Iterator[Iterator[Samples]]:
    """Open a recording's sound: blocks of ``block_s`` seconds at the rate of analysis.

    Time 0 is the start of the file, so that sound and picture share a clock. The blocks raise
    :class:`UnheardError` where the file has no sound, or ends in an error.
    """
    process = subprocess.Popen(  # noqa: S603 - the program's own module, and a path that is only read
        [sys.executable, "-m", "fretwright.ear.track_decoder", str(path.absolute())],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(entry for entry in sys.path if entry)},
    )
    try:
        yield _blocks(process, round(block_s * RATE_HZ))
    finally:
        process.kill()
        process.wait()
        cast("IO[bytes]", process.stdout).close()


def _blocks(process: subprocess.Popen[bytes], size: int) -> Iterator[Samples]:
    source = cast("IO[bytes]", process.stdout)
    while data := source.read(size * _BYTES):
        # not a number is no sound
        yield np.nan_to_num(np.frombuffer(data[: len(data) // _BYTES * _BYTES], dtype=np.float32))
        if len(data) < size * _BYTES:
            break
    code = process.wait()
    if code != Ending.WHOLE:
        known = code in {int(ending) for ending in ENDINGS}
        raise UnheardError(ENDINGS[Ending(code) if known else Ending.BROKEN])
