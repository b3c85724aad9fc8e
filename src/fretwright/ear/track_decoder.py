"""The process that decodes a long sound track: ``python -m fretwright.ear.track_decoder FILE``.

Writes single precision samples to standard output, block by block, so that nobody ever holds the whole; time
0 is the start of the file, and where the sound begins late or has a hole, there is silence of that length.
The exit code says how it ended: one of :data:`~fretwright.ear.track_sound.ENDINGS`.
"""

import contextlib
import sys
from collections.abc import Iterator
from typing import Final

import av
import numpy as np
import soxr
from av.container import InputContainer

from fretwright.ear.arrays import Samples
from fretwright.ear.decoder import frames_of, limit_memory, mono
from fretwright.ear.take import RATE_HZ
from fretwright.ear.track_sound import LONGEST_TRACK_S, Ending

_HOLE_S: Final = 0.04
"""A shorter difference between a frame's time and its samples' is the file's own rounding."""
_LONGEST_HOLE_S: Final = 600.0
"""A longer one is a broken clock, and is passed over."""


def main() -> int:
    """Decode the file named on the command line."""
    limit_memory()
    av.logging.set_level(None)
    out = sys.stdout.buffer
    try:
        for piece in pieces(sys.argv[1]):
            out.write(piece.tobytes())
        out.flush()
    except _EndedError as ended:
        return int(ended.ending)
    except MemoryError:
        return int(Ending.MEMORY)
    except BrokenPipeError:
        # whoever listened has heard enough
        with contextlib.suppress(OSError):
            sys.stdout = None
        return int(Ending.WHOLE)
    except Exception:  # noqa: BLE001 - a codec may raise anything at all
        return int(Ending.BROKEN)
    return int(Ending.WHOLE)


class _EndedError(Exception):
    def __init__(self, ending: Ending) -> None:
        super().__init__(ending.name)
        self.ending = ending


def pieces(path: str) -> Iterator[Samples]:
    """The sound track from time 0 of its file, mono at the rate of analysis."""
    with av.open(path, metadata_errors="ignore", timeout=20.0) as file:
        if not file.streams.audio:
            raise _EndedError(Ending.NO_SOUND)
        stream = file.streams.audio[0]
        # one thread: several gain nothing on sound and each costs memory
        stream.codec_context.thread_count = 1
        resampler: soxr.ResampleStream | None = None
        rate, length_s = 0, 0.0
        for frame in frames_of(file, stream):
            if frame.sample_rate != rate:
                if resampler is not None:
                    yield resampler.resample_chunk(np.zeros(0, np.float32), last=True)
                rate = frame.sample_rate
                resampler = soxr.ResampleStream(rate, RATE_HZ, 1, dtype="float32", quality="MQ")
            assert resampler is not None  # noqa: S101 - made with the first frame
            missing_s = _time(frame, file, length_s) - length_s
            if _HOLE_S < missing_s < _LONGEST_HOLE_S:
                for count in _seconds(round(missing_s * rate), rate):
                    yield resampler.resample_chunk(np.zeros(count, np.float32))
                length_s += missing_s
            length_s += frame.samples / rate
            if length_s > LONGEST_TRACK_S:
                raise _EndedError(Ending.TOO_LONG)
            yield resampler.resample_chunk(mono(frame))
        if resampler is None:
            raise _EndedError(Ending.BROKEN)
        yield resampler.resample_chunk(np.zeros(0, np.float32), last=True)


def _time(frame: av.AudioFrame, file: InputContainer, otherwise_s: float) -> float:
    """When a frame sounds, from the start of the file; formats without a clock go on as they went."""
    return otherwise_s if frame.time is None else frame.time - (file.start_time or 0) / 1_000_000


def _seconds(count: int, rate: int) -> Iterator[int]:
    """So many samples in pieces of a second."""
    while count > 0:
        yield min(count, rate)
        count -= rate


if __name__ == "__main__":
    sys.exit(main())
