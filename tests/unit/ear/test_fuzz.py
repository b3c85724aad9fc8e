"""Files of every kind that a student may send, broken in every way that a file can be: an answer each time.

The mutations are drawn from a seed, so that a failure can be looked at again. Each must get a hearing or a
refusal with its mend, in a bounded time, from a decoder that did not outgrow its memory.
"""

import io
import struct
import time
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import av
import numpy as np
import pytest

from fretwright.ear import take as take_module
from fretwright.ear.listen import listen
from fretwright.ear.take import LONGEST_S, MOST_BYTES, RATE_HZ, Refusal, Take, examined, read_take
from fretwright.ear.verdicts import Hearing
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import timeline
from scores import line

ASKED = timeline(line("6/5 6/8 5/5 5/7"))
LADDER = Ladder(60, 120)
LENGTH_S = 2.4
ENCODED_AS = {
    "wav 16 bit": ("wav", "pcm_s16le", 44_100),
    "wav 24 bit": ("wav", "pcm_s24le", 48_000),
    "wav float": ("wav", "pcm_f32le", 44_100),
    "aiff": ("aiff", "pcm_s16be", 44_100),
    "flac": ("flac", "flac", 44_100),
    "mp3": ("mp3", "libmp3lame", 44_100),
    "m4a": ("mp4", "aac", 44_100),
    "mov": ("mov", "aac", 48_000),
    "alac": ("mp4", "alac", 44_100),
    "aac": ("adts", "aac", 44_100),
    "ogg opus": ("ogg", "libopus", 48_000),
    "webm opus": ("webm", "libopus", 48_000),
    "mkv flac": ("matroska", "flac", 48_000),
}
MUTATIONS_OF_EACH = 9
LIMIT_S = 40.0
"""Of one answer on a machine that is busy; a second is usual, the decoder's own limit 60."""


def played(rate_hz: int) -> "np.ndarray[tuple[int], np.dtype[np.float32]]":
    """The exercise, so that what survives the mutation can still be heard."""
    out = np.zeros(round(LENGTH_S * rate_hz))
    for timed in ASKED.notes:
        start = round((0.3 + timed.onset_s) * rate_hz)
        time_s = np.arange(min(round(timed.duration_s * rate_hz), len(out) - start)) / rate_hz
        hertz = 440.0 * 2 ** ((timed.note.midi - 69) / 12)
        for partial in range(1, 9):
            out[start : start + len(time_s)] += (
                0.2 * np.sin(2 * np.pi * partial * hertz * time_s) * np.exp(-2 * partial * time_s) / partial
            )
    return out.astype(np.float32)


@cache
def encoded(kind: str) -> bytes:
    container, codec, rate_hz = ENCODED_AS[kind]
    buffer = io.BytesIO()
    with av.open(buffer, "w", format=container) as file:
        stream = file.add_stream(codec, rate=rate_hz)
        assert isinstance(stream, av.AudioStream)
        stream.layout = "mono"
        codec_format = stream.codec_context.format
        resampler = av.AudioResampler(codec_format, "mono", rate_hz, frame_size=960)
        frame = av.AudioFrame.from_ndarray(played(rate_hz)[None], format="flt", layout="mono")
        frame.sample_rate = rate_hz
        frame.pts = 0
        for piece in (*resampler.resample(frame), *resampler.resample(None)):
            file.mux(stream.encode(piece))
        file.mux(stream.encode(None))
    return buffer.getvalue()


def flipped(data: bytes, rng: np.random.Generator) -> bytes:
    """Some bits anywhere."""
    out = bytearray(data)
    for at in rng.integers(0, len(out), int(rng.integers(1, 60))):
        out[at] ^= 1 << int(rng.integers(8))
    return bytes(out)


def broken_head(data: bytes, rng: np.random.Generator) -> bytes:
    """Some bytes of the first kilobyte, where the promises stand."""
    out = bytearray(data)
    for at in rng.integers(0, min(1024, len(out)), int(rng.integers(1, 20))):
        out[at] = int(rng.integers(256))
    return bytes(out)


def absurd_number(data: bytes, rng: np.random.Generator) -> bytes:
    """A size, a rate or a count that cannot be."""
    at = int(rng.integers(0, min(600, len(data) - 8)))
    value = int(rng.choice([0, 1, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF]))
    return data[:at] + struct.pack(str(rng.choice(["<I", ">I"])), value) + data[at + 4 :]


def cut_short(data: bytes, rng: np.random.Generator) -> bytes:
    return data[: int(rng.integers(0, len(data)))]


def headless(data: bytes, rng: np.random.Generator) -> bytes:
    return data[int(rng.integers(1, len(data))) :]


def hole(data: bytes, rng: np.random.Generator) -> bytes:
    """A stretch that was lost, or overwritten with nothing."""
    start = int(rng.integers(0, len(data)))
    stop = min(len(data), start + int(rng.integers(1, len(data) // 2)))
    return data[:start] + b"\0" * (stop - start if rng.random() < 0.5 else 0) + data[stop:]


def doubled(data: bytes, rng: np.random.Generator) -> bytes:
    """A stretch that stands there several times."""
    start = int(rng.integers(0, len(data)))
    stop = min(len(data), start + int(rng.integers(1, len(data) // 3)))
    return data[:stop] + data[start:stop] * int(rng.integers(1, 6)) + data[stop:]


def shuffled(data: bytes, rng: np.random.Generator) -> bytes:
    """Blocks in another order."""
    size = int(rng.choice([188, 512, 4096]))
    blocks = [data[at : at + size] for at in range(0, len(data), size)]
    return b"".join(blocks[at] for at in rng.permutation(len(blocks)))


def spliced(data: bytes, rng: np.random.Generator) -> bytes:
    """The beginning of one kind of file and the end of another."""
    other = encoded(str(rng.choice(sorted(ENCODED_AS))))
    return data[: int(rng.integers(1, len(data)))] + other[int(rng.integers(0, len(other))) :]


MUTATIONS: tuple[Callable[[bytes, np.random.Generator], bytes], ...] = (
    flipped,
    broken_head,
    absurd_number,
    cut_short,
    headless,
    hole,
    doubled,
    shuffled,
    spliced,
)


def mutated(kind: str) -> Iterator[tuple[str, bytes]]:
    rng = np.random.default_rng([2_026, sorted(ENCODED_AS).index(kind)])
    for index in range(MUTATIONS_OF_EACH):
        change = MUTATIONS[index % len(MUTATIONS)]
        yield change.__name__, change(encoded(kind), rng)


def answered(path: Path) -> Hearing | Refusal:
    take = read_take(path)
    return listen(take, ASKED, LADDER) if isinstance(take, Take) else take


def decoder_peak_bytes() -> int:
    """Most address space that the decoding process has had; 0 where the system does not tell."""
    process = take_module._DECODER._process
    status = Path(f"/proc/{process.pid}/status") if process is not None else Path("nowhere")
    if not status.exists():
        return 0
    peak = [row for row in status.read_text().splitlines() if row.startswith("VmPeak")]
    return 1024 * int(peak[0].split()[1]) if peak else 0


@pytest.mark.parametrize("kind", sorted(ENCODED_AS))
def test_a_file_broken_in_any_way_gets_an_answer_within_its_limits(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "take"
    path.write_bytes(encoded(kind))
    assert isinstance(read_take(path), Take), "the file itself can be read"

    for change, data in mutated(kind):
        path.write_bytes(data)
        begun = time.monotonic()
        answer = answered(path)
        spent_s = time.monotonic() - begun

        assert isinstance(answer, Hearing | Refusal), change
        assert not isinstance(answer, Refusal) or (answer.reason and answer.mend), change
        assert spent_s < LIMIT_S, change
        assert decoder_peak_bytes() <= MOST_BYTES, change

    path.write_bytes(encoded(kind))
    assert isinstance(read_take(path), Take), "the decoder still works"


@pytest.mark.parametrize("rate_hz", [1, 50, 1_000, 8_000, 768_000])
def test_a_rate_that_nothing_is_recorded_at_gets_an_answer(rate_hz: int, tmp_path: Path) -> None:
    body = (20_000 * played(8_000)).astype("<i2").tobytes()
    head = b"RIFF" + struct.pack("<I", 36 + len(body)) + b"WAVEfmt "
    head += (
        struct.pack("<IHHIIHH", 16, 1, 1, rate_hz, 2 * rate_hz, 2, 16)
        + b"data"
        + struct.pack("<I", len(body))
    )
    path = tmp_path / "take.wav"
    path.write_bytes(head + body)

    assert isinstance(answered(path), Hearing | Refusal)
    assert decoder_peak_bytes() <= MOST_BYTES


@pytest.mark.parametrize("channels", [0, 1, 2, 6, 255])
def test_any_number_of_channels_gets_an_answer(channels: int, tmp_path: Path) -> None:
    body = np.repeat((20_000 * played(8_000)).astype("<i2"), max(channels, 1)).tobytes()
    head = b"RIFF" + struct.pack("<I", 36 + len(body)) + b"WAVEfmt "
    frame = 2 * channels
    head += struct.pack("<IHHIIHH", 16, 1, channels, 8_000, 8_000 * frame, frame, 16)
    path = tmp_path / "take.wav"
    path.write_bytes(head + b"data" + struct.pack("<I", len(body)) + body)

    assert isinstance(answered(path), Hearing | Refusal)


DENSE = {
    "impulses": lambda rng, count: (np.arange(count) % 1_600 == 0) * rng.uniform(0.2, 1.0, count),
    "gated noise": lambda rng, count: rng.normal(0, 0.2, count) * (np.arange(count) // 1_500 % 2),
}


@pytest.mark.parametrize("name", sorted(DENSE))
def test_the_longest_recording_with_something_every_moment_is_answered_in_time(
    name: str, rng: np.random.Generator
) -> None:
    samples = DENSE[name](rng, round(0.2 * LONGEST_S * RATE_HZ)).astype(np.float32)
    take = examined(Take(samples))
    assert isinstance(take, Take)

    begun = time.monotonic()
    answer = listen(take, ASKED, LADDER)

    assert isinstance(answer, Hearing | Refusal)
    assert time.monotonic() - begun < LIMIT_S
