"""A voice for those who cannot see the film, where a speech synthesiser is installed.

espeak-ng is asked for and nothing else: it is free, speaks offline, and says the same words the same way
every time. It is not shipped; a film without it has the same words as text.
"""

import subprocess
from functools import lru_cache
from shutil import which
from typing import Final

import numpy as np
import soxr

from fretwright.base.errors import RenderError
from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.sound.arrays import Samples

_PROGRAM: Final = "espeak-ng"
_VOICE: Final = "en"
_TIMEOUT_S: Final = 30.0
_QUIET: Final = 0.005
PEAK: Final = 0.5


def voice() -> str | None:
    """The synthesiser's program, or nothing where none is installed."""
    return which(_PROGRAM)


@lru_cache(maxsize=512)
def say(words: str, words_a_minute: int) -> Samples:
    """The words as sound at 48 kHz, shape (n,), without silence around them, peak :data:`PEAK`.

    Raises :class:`~fretwright.base.errors.RenderError` if the synthesiser is missing or fails.
    """
    program = voice()
    if program is None:
        raise RenderError("No speech synthesiser is installed.", "Install espeak-ng.")
    # the words go in by a pipe: nothing in them can be taken for an option
    command = [program, "-v", _VOICE, "-s", str(words_a_minute), "--stdin", "--stdout"]
    try:
        done = subprocess.run(  # noqa: S603 - a fixed program, found on the path
            command, input=words.encode(), capture_output=True, check=True, timeout=_TIMEOUT_S
        )
        samples, rate = _read(done.stdout)
    except (OSError, subprocess.SubprocessError, RuntimeError) as error:
        raise RenderError(
            f"The speech synthesiser failed: {error}.", "Try espeak-ng by hand, or film without --described."
        ) from error
    loud = np.flatnonzero(np.abs(samples) > _QUIET)
    if not len(loud):
        return np.zeros(0, np.float32)
    spoken: Samples = soxr.resample(samples[loud[0] : loud[-1] + 1], rate, SAMPLE_RATE_HZ).astype(np.float32)
    spoken *= PEAK / float(np.abs(spoken).max())
    return spoken


def _read(wave: bytes) -> tuple[Samples, int]:
    """Samples of a RIFF file that was written to a pipe: its lengths are not filled in, its data ends it."""
    start = wave.index(b"data") + 8 if b"data" in wave else len(wave)
    if start >= len(wave):
        raise RuntimeError("it said nothing")
    rate = int.from_bytes(wave[24:28], "little")
    data = wave[start : start + (len(wave) - start) // 2 * 2]
    samples: Samples = np.frombuffer(data, "<i2").astype(np.float32) / np.float32(32_768)
    return samples, rate
