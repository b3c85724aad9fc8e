"""The decoding process: ``python -m fretwright.ear.decoder``.

Reads one path a line (as JSON) from standard input; answers each with one line of JSON and, where it could
be decoded, that many samples in single precision. Whatever goes wrong inside a codec stays in here.
"""

import json
import sys
from collections.abc import Iterator
from typing import Final

import av
import numpy as np
import soxr
from av.container import InputContainer

from fretwright.ear.arrays import Samples
from fretwright.ear.take import LONGEST_S, MOST_BYTES, RATE_HZ

_PRIMING: Final = {"aac": 1024}
"""Samples before the sound in bare streams whose format has no place to say so."""
_LATEST_START_S: Final = 30.0
_FAULTS_BORNE: Final = 50


class DecodingRefusedError(Exception):
    """The word under which :mod:`fretwright.ear.take` keeps the sentence."""


def main() -> None:
    """Answer until the input ends."""
    limit_memory()
    av.logging.set_level(None)
    out = sys.stdout.buffer
    for line in sys.stdin.buffer:
        try:
            samples, starts_s = decoded(json.loads(line))
        except DecodingRefusedError as refused:
            out.write(json.dumps({"refused": str(refused)}).encode() + b"\n")
        except MemoryError:
            out.write(b'{"refused": "memory"}\n')
        except Exception:  # noqa: BLE001 - a codec may raise anything at all
            out.write(b'{"refused": "broken"}\n')
        else:
            out.write(json.dumps({"count": len(samples), "starts_s": starts_s}).encode() + b"\n")
            out.write(samples.tobytes())
        out.flush()


def decoded(path: str) -> tuple[Samples, float]:
    """Mono samples at the rate of analysis, and where the first lies in the file's time."""
    with av.open(path, metadata_errors="ignore", timeout=20.0) as file:
        if not file.streams.audio:
            raise DecodingRefusedError("no-audio")
        stream = file.streams.audio[0]
        # one thread: several gain nothing on sound and each costs memory
        stream.codec_context.thread_count = 1
        starts_s, pieces, rate = 0.0, [], 0
        resampler: soxr.ResampleStream | None = None
        length_s = 0.0
        for frame in frames_of(file, stream):
            if frame.sample_rate != rate:
                if resampler is None:
                    starts_s = _start(frame, file)
                else:
                    pieces.append(resampler.resample_chunk(np.zeros(0, np.float32), last=True))
                rate = frame.sample_rate
                resampler = soxr.ResampleStream(rate, RATE_HZ, 1, dtype="float32", quality="MQ")
            length_s += frame.samples / rate
            if length_s > LONGEST_S:
                raise DecodingRefusedError("too-long")
            pieces.append(resampler.resample_chunk(mono(frame)))  # type: ignore[union-attr]  # made with the first frame
        if resampler is None:
            raise DecodingRefusedError("broken")
        pieces.append(resampler.resample_chunk(np.zeros(0, np.float32), last=True))
        priming = _PRIMING.get(file.format.name, 0) * RATE_HZ // rate
    return np.concatenate(pieces)[priming:], starts_s


def frames_of(file: InputContainer, stream: av.AudioStream) -> Iterator[av.AudioFrame]:
    """Every frame that can be decoded; a damaged packet is passed over, a damaged file is not."""
    faults = 0
    for packet in file.demux(stream):
        try:
            yield from packet.decode()
        except av.error.InvalidDataError:
            faults += 1
            if faults > _FAULTS_BORNE:
                raise


def _start(frame: av.AudioFrame, file: InputContainer) -> float:
    """How late the sound begins after the file does."""
    late = (frame.time or 0.0) - (file.start_time or 0) / 1_000_000
    return min(max(late, 0.0), _LATEST_START_S)


def mono(frame: av.AudioFrame) -> Samples:
    """The mean of all channels, 1 at full scale."""
    values = frame.to_ndarray()
    name = frame.format.name.removesuffix("p")
    channels = len(frame.layout.channels)
    if not frame.format.is_planar:
        values = values.reshape(-1, channels).T
    scaled = values.astype(np.float32)
    if name in _SCALES:
        middle, full = _SCALES[name]
        scaled = (scaled - np.float32(middle)) / np.float32(full)
    mixed: Samples = scaled.mean(axis=0, dtype=np.float32)
    return mixed


_SCALES: Final = {"u8": (128, 128), "s16": (0, 32_768), "s32": (0, 2_147_483_648), "s64": (0, 2.0**63)}


def limit_memory() -> None:
    """Bound the address space where the system can; elsewhere the limits of length and time remain."""
    try:
        import resource  # noqa: PLC0415, TID251 - Unix only, and asked for only there
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))


if __name__ == "__main__":
    main()
