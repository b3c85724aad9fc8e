"""Decoding: every usual container, codec delay, and files that are broken, absurd or hostile."""

import io
import struct
import subprocess
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile

from fretwright.ear import take as take_module
from fretwright.ear.take import RATE_HZ, Refusal, Take, examined, read_take

ONSET_S = 0.5


def tone(rate_hz: int) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    time = np.arange(round(2.0 * rate_hz)) / rate_hz
    after = time - ONSET_S
    return np.where(after >= 0, 0.5 * np.sin(2 * np.pi * 440 * after) * np.exp(-after), 0.0)


def encoded(container: str, codec: str, rate_hz: int) -> bytes:
    buffer = io.BytesIO()
    with av.open(buffer, "w", format=container) as file:
        stream = file.add_stream(codec, rate=rate_hz)
        assert isinstance(stream, av.AudioStream)
        stream.layout = "mono"
        resampler = av.AudioResampler(stream.codec_context.format, "mono", rate_hz, frame_size=960)
        frame = av.AudioFrame.from_ndarray(
            tone(rate_hz).astype(np.float32)[None], format="flt", layout="mono"
        )
        frame.sample_rate = rate_hz
        frame.pts = 0
        for piece in (*resampler.resample(frame), *resampler.resample(None)):
            file.mux(stream.encode(piece))
        file.mux(stream.encode(None))
    return buffer.getvalue()


def read(tmp_path: Path, data: bytes, name: str = "take") -> Take | Refusal:
    path = tmp_path / name
    path.write_bytes(data)
    return read_take(path)


def onset_of(take: Take | Refusal) -> float:
    assert isinstance(take, Take)
    return float(np.argmax(np.abs(take.samples) > 0.03)) / RATE_HZ


@pytest.mark.parametrize(
    ("container", "codec", "rate_hz"),
    [
        ("ogg", "libopus", 48_000),
        ("webm", "libopus", 48_000),
        ("mp4", "aac", 44_100),
        ("adts", "aac", 44_100),
        ("mp3", "libmp3lame", 44_100),
        ("matroska", "flac", 48_000),
    ],
)
def test_a_codecs_delay_is_taken_out(tmp_path: Path, container: str, codec: str, rate_hz: int) -> None:
    """Bare AAC carries 1,024 samples of priming (from memory); the other containers say how much they
    carry."""
    assert onset_of(read(tmp_path, encoded(container, codec, rate_hz))) == pytest.approx(ONSET_S, abs=0.002)


@pytest.mark.parametrize("rate_hz", [8_000, 22_050, 44_100, 96_000, 192_000])
@pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24", "FLOAT"])
def test_every_rate_and_depth_gives_the_same_sound(tmp_path: Path, rate_hz: int, subtype: str) -> None:
    buffer = io.BytesIO()
    soundfile.write(
        buffer, np.stack([tone(rate_hz), 0 * tone(rate_hz)], axis=1), rate_hz, subtype, format="WAV"
    )

    take = read(tmp_path, buffer.getvalue())

    assert isinstance(take, Take)
    assert take.length_s == pytest.approx(2.0, abs=0.01)
    assert onset_of(take) == pytest.approx(ONSET_S, abs=0.002)
    # the mean of a full and an empty channel
    assert np.abs(take.samples).max() == pytest.approx(0.25, abs=0.015)


@pytest.mark.parametrize("share", [0.0, 0.01, 0.2, 0.5, 0.9])
@pytest.mark.parametrize("container", ["mp4", "ogg", "mp3"])
def test_a_file_cut_short_is_heard_as_far_as_it_goes_or_refused(
    tmp_path: Path, container: str, share: float
) -> None:
    codec = {"mp4": "aac", "ogg": "libopus", "mp3": "libmp3lame"}[container]
    whole = encoded(container, codec, 48_000)

    take = read(tmp_path, whole[: int(share * len(whole))])

    assert isinstance(take, Refusal) or take.length_s < 2.1


def test_bytes_of_any_kind_are_refused_or_decoded_and_never_stop_the_ear(
    tmp_path: Path, rng: np.random.Generator
) -> None:
    whole = bytearray(encoded("ogg", "libopus", 48_000))
    for _ in range(20):
        broken = bytearray(whole)
        for at in rng.integers(0, len(broken), 40):
            broken[at] = int(rng.integers(256))
        assert isinstance(read(tmp_path, bytes(broken)), Take | Refusal)
    assert isinstance(read(tmp_path, rng.bytes(10_000)), Refusal)
    # and the process still works
    assert isinstance(read(tmp_path, bytes(whole)), Take)


def test_a_header_that_promises_hours_is_not_believed(tmp_path: Path) -> None:
    data = (
        b"RIFF"
        + struct.pack("<I", 0xFFFFFFF0)
        + b"WAVEfmt "
        + struct.pack("<IHHIIHH", 16, 1, 2, 8000, 32000, 4, 16)
    )
    assert isinstance(read(tmp_path, data + b"data" + struct.pack("<I", 0xFFFFFF00) + b"\0" * 400), Refusal)


def test_a_recording_that_goes_on_too_long_is_refused(tmp_path: Path) -> None:
    buffer = io.BytesIO()
    soundfile.write(buffer, np.zeros(8000 * 1000, dtype=np.int16), 8000, format="FLAC")

    take = read(tmp_path, buffer.getvalue())

    assert isinstance(take, Refusal)
    assert " 5 minutes" in take.reason


def test_a_film_without_sound_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "film.mkv"
    with av.open(path, "w") as file:
        stream = file.add_stream("ffv1", rate=10)
        assert isinstance(stream, av.VideoStream)
        stream.width = stream.height = 32
        stream.pix_fmt = "yuv420p"
        file.mux(stream.encode(av.VideoFrame(32, 32, "yuv420p")))
        file.mux(stream.encode(None))

    take = read_take(path)

    assert isinstance(take, Refusal)
    assert "no sound" in take.reason


@pytest.mark.parametrize(
    ("samples", "word"),
    [
        (np.zeros(2 * RATE_HZ), "silent"),
        (0.3 * np.sin(np.arange(RATE_HZ // 4)), "seconds long"),
        (np.clip(40 * np.sin(0.1 * np.arange(2 * RATE_HZ)), -1, 1), "clipped"),
        (np.full(2 * RATE_HZ, np.nan), "no sound"),
        (1e30 * np.sin(np.arange(2 * RATE_HZ)), "no sound"),
    ],
)
def test_what_cannot_be_judged_is_said_with_its_mend(
    samples: "np.ndarray[tuple[int], np.dtype[np.float64]]", word: str
) -> None:
    refusal = examined(Take(samples.astype(np.float32)))

    assert isinstance(refusal, Refusal)
    assert word in refusal.reason
    assert refusal.mend


def test_a_decoder_that_was_killed_is_no_fault_of_the_recordings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked, killed = take_module._asked, 0

    def killing(process: "subprocess.Popen[bytes]", path: Path) -> Take | Refusal:
        nonlocal killed
        if killed < kills:
            killed += 1
            process.kill()
        return asked(process, path)

    monkeypatch.setattr(take_module, "_asked", killing)
    whole = encoded("wav", "pcm_s16le", 48_000)
    kills = 1
    assert isinstance(read(tmp_path, whole), Take)
    kills = 3
    # twice over one file, and it is the file's own doing
    assert isinstance(read(tmp_path, whole), Refusal)
    assert killed == 3
