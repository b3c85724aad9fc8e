"""A recording becomes samples the ear can work on, or is refused with the reason.

Decoding untrusted media happens in a process of its own (:mod:`fretwright.ear.decoder`) with limits of
time, memory and length, so that a broken or hostile file costs a sentence and not the program. The
process is kept for the next take.
"""

import atexit
import contextlib
import json
import os
import subprocess
import sys
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, Final, cast

import numpy as np

from fretwright.ear.arrays import Samples

RATE_HZ: Final = 24_000
"""The rate at which everything is analysed: 1 ms is 24 samples."""
LONGEST_S: Final = 300.0
"""Longest recording that is listened to."""
MOST_BYTES: Final = 1_500_000_000
"""Memory the decoding process may take, address space included."""

_SHORTEST_S: Final = 0.8
_SILENT: Final = 10 ** (-62 / 20)
_LARGEST: Final = 1e6
"""Full scale is 1; whole numbers saved as fractions may go to 32,768. No sound goes beyond, nor is it NaN."""
_CUT_SHARE: Final = 0.22
"""Share of loud samples that lie at the very top: a square wave has nearly all, music almost none."""
_TIMEOUT_S: Final = 60.0


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a take is not judged, and what the student can do about it."""

    reason: str
    mend: str


@dataclass(frozen=True, slots=True)
class Take:
    """One recording, ready to be listened to."""

    samples: Samples
    """Mono, shape (n,), at :data:`RATE_HZ`."""
    starts_s: float = 0.0
    """Where the first sample lies in the file's own time; not 0 for a film whose sound begins late."""

    @property
    def length_s(self) -> float:
        """How long the recording is."""
        return len(self.samples) / RATE_HZ


def read_take(path: Path) -> Take | Refusal:
    """Decode any audio or video file to one channel, average of all, at :data:`RATE_HZ`.

    What a codec puts before the sound is left out: containers say how much (Ogg's pre-skip, RFC 7845; MP4's
    edit list); bare AAC does not, and carries 1,024 samples.
    """
    answer = _DECODER.decode(path)
    return answer if isinstance(answer, Refusal) else examined(answer)


def examined(take: Take) -> Take | Refusal:
    """The take, unless there is nothing in it to judge."""
    if take.length_s < _SHORTEST_S:
        return Refusal(
            f"The recording is only {take.length_s:.1f} seconds long.",
            "Record the whole exercise, from its first note to its last.",
        )
    samples = take.samples
    if not (np.abs(samples) < _LARGEST).all():
        return Refusal("The recording holds values that are no sound.", "Save it again as WAV or MP3.")
    peak = float(np.abs(samples - samples.mean()).max())
    if peak < _SILENT:
        return Refusal(
            "The recording is silent.",
            "Check that the right microphone is chosen and not muted, and record again.",
        )
    loud = np.abs(samples) > 0.1 * peak
    cut = np.abs(samples[loud]) > 0.97 * peak
    if cut.mean() > _CUT_SHARE:
        return Refusal(
            "The recording is clipped so hard that the notes can no longer be told apart.",
            "Turn the input level down, or move away from the microphone, and record again.",
        )
    return take


_BROKEN: Final = Refusal(
    "The file cannot be read as a recording: it is broken, cut short or of another kind.",
    "Save it again as WAV, FLAC, MP3, M4A, Ogg or WebM.",
)
_TOO_MUCH: Final = Refusal(
    "The file takes too long or too much memory to read.",
    "Cut the recording to the exercise alone and save it as WAV or MP3.",
)
DECODER_DIED: Final = Refusal(_BROKEN.reason, _BROKEN.mend)
"""Said where the decoding process ended twice: most likely, but not certainly, over what it read."""
_REFUSALS: Final = {
    "broken": _BROKEN,
    "memory": _TOO_MUCH,
    "no-audio": Refusal("There is no sound in the file.", "Record with the microphone switched on."),
    "too-long": Refusal(
        f"The recording is longer than {LONGEST_S / 60:.0f} minutes.", "Cut it to the exercise alone."
    ),
}


class _Decoder:
    """The decoding process: started when first needed, restarted when it dies, ended with the program."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._lock = threading.Lock()

    def decode(self, path: Path) -> Take | Refusal:
        """Decode; once more where the process ended, which may have been for no fault of the file's."""
        return self._once(path) or self._once(path) or DECODER_DIED

    def _once(self, path: Path) -> Take | Refusal | None:
        with self._lock:
            process = self._running()
            timer = threading.Timer(_TIMEOUT_S, process.kill)
            timer.start()
            try:
                return _asked(process, path)
            except (OSError, EOFError, ValueError, KeyError):
                # it was killed by a limit, or by what it read
                late = not timer.is_alive()
                self.close()
                return _TOO_MUCH if late else None
            finally:
                timer.cancel()

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is None or self._process.poll() is not None:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "fretwright.ear.decoder"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env={**os.environ, "PYTHONPATH": os.pathsep.join(entry for entry in sys.path if entry)},
            )
        return self._process

    def close(self) -> None:
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.wait()
            for stream in (process.stdin, process.stdout):
                if stream is not None:
                    # what was not yet sent to a process that is gone goes nowhere
                    with contextlib.suppress(OSError):
                        stream.close()


def _asked(process: subprocess.Popen[bytes], path: Path) -> Take | Refusal:
    into, back = cast("IO[bytes]", process.stdin), cast("IO[bytes]", process.stdout)
    into.write(json.dumps(str(path.absolute())).encode() + b"\n")
    into.flush()
    line = back.readline()
    if not line.endswith(b"\n"):
        raise EOFError
    answer: dict[str, Any] = json.loads(line)
    if "refused" in answer:
        return _REFUSALS[answer["refused"]]
    count = int(answer["count"])
    data = back.read(count * 4)
    if len(data) != count * 4:
        raise EOFError
    return Take(np.frombuffer(data, dtype=np.float32), float(answer["starts_s"]))


_DECODER: Final = _Decoder()
atexit.register(_DECODER.close)
