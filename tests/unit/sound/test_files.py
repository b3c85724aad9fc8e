from io import BytesIO
from pathlib import Path
from typing import Literal

import av
import numpy as np
import pytest
import soundfile
from av.audio.codeccontext import AudioCodecContext
from scipy.signal import correlate

from fretwright.base.errors import RenderError, UsageError
from fretwright.score.note import Attack
from fretwright.score.values import EIGHTH
from fretwright.sound.files import codec_delay, decoded_offset, encode_audio, write_audio
from fretwright.sound.render import Sound, render
from unit.sound.listening import score_of

_DECODER: dict[str, Literal["aac", "opus"]] = {".m4a": "aac", ".opus": "opus"}
SUFFIXES = [".flac", ".wav", ".opus", ".webm", ".m4a"]


@pytest.fixture(scope="module")
def sound() -> Sound:
    return render(score_of([(5 - i // 2, 5 + 2 * (i % 2), EIGHTH, Attack.PLUCK) for i in range(8)], 120))


def decoded(data: bytes) -> np.ndarray:
    """All samples of a file, shape (n, 2), by a decoder that follows the container."""
    pieces = []
    with av.open(BytesIO(data), "r") as file:
        for frame in file.decode(audio=0):
            values = frame.to_ndarray()
            planar = values if frame.format.is_planar else values.reshape(-1, 2).T
            scale = 2.0 ** (8 * planar.dtype.itemsize - 1) if planar.dtype.kind == "i" else 1.0
            pieces.append(planar.astype(np.float64) / scale)
    return np.concatenate(pieces, axis=1).T


def lag(late: np.ndarray, early: np.ndarray) -> int:
    """Samples by which one signal follows another, by correlation."""
    return int(np.argmax(correlate(late, early, mode="full", method="fft"))) - (len(early) - 1)


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_file_decodes_to_the_sound_at_the_stated_offset(sound: Sound, suffix: str) -> None:
    back = decoded(encode_audio(sound, suffix))
    offset = decoded_offset(suffix)
    assert lag(back[:, 0], sound.samples[:, 0]) == offset
    count = len(sound.samples)
    assert count <= len(back) - offset <= count + 1024
    error = back[offset : offset + count] - sound.samples
    ratio = np.mean(np.square(error)) / np.mean(np.square(sound.samples))
    assert ratio < (1e-7 if suffix in {".flac", ".wav"} else 0.02)


@pytest.mark.parametrize("suffix", [".opus", ".m4a"])
def test_the_bare_stream_starts_with_the_codec_s_delay(sound: Sound, suffix: str) -> None:
    """Demuxed packets fed to a fresh decoder, so that nothing of the container is followed."""
    with av.open(BytesIO(encode_audio(sound, suffix)), "r") as file:
        stream = file.streams.audio[0]
        decoder = AudioCodecContext.create(_DECODER[suffix], "r")
        assert isinstance(decoder, AudioCodecContext)
        decoder.sample_rate = 48_000
        decoder.layout = "stereo"
        if suffix == ".m4a":
            decoder.extradata = stream.codec_context.extradata
        pieces = []
        for packet in file.demux(stream):
            bare = av.Packet(bytes(packet))
            pieces += [frame.to_ndarray() for frame in decoder.decode(bare)] if packet.size else []
    values = np.concatenate([p if len(p) == 2 else p.reshape(-1, 2).T for p in pieces], axis=1)
    assert lag(values[0].astype(np.float64), sound.samples[:, 0].astype(np.float64)) == codec_delay(suffix)


def test_soundfile_reads_flac_and_opus_at_once(sound: Sound) -> None:
    for suffix in (".flac", ".opus"):
        values, rate = soundfile.read(BytesIO(encode_audio(sound, suffix)))
        assert rate == sound.rate_hz
        assert len(values) == len(sound.samples)


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_the_same_sound_gives_the_same_file(sound: Sound, suffix: str, tmp_path: Path) -> None:
    first, second = tmp_path / f"one{suffix}", tmp_path / f"two{suffix}"
    write_audio(sound, first)
    write_audio(sound, second)
    assert first.read_bytes() == second.read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([first.name, second.name])


def test_no_file_tells_when_or_by_what_it_was_made(sound: Sound) -> None:
    for suffix in SUFFIXES:
        data = encode_audio(sound, suffix)
        assert b"Lavf6" not in data
        assert b"Lavc6" not in data


def test_a_write_replaces_the_old_file_and_leaves_no_part_behind(sound: Sound, tmp_path: Path) -> None:
    path = tmp_path / "line.flac"
    path.write_bytes(b"old")
    write_audio(sound, path)
    assert path.read_bytes() == encode_audio(sound, ".flac")
    assert list(tmp_path.iterdir()) == [path]


def test_an_unknown_suffix_and_a_missing_folder_are_refused(sound: Sound, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="flac"):
        write_audio(sound, tmp_path / "line.xyz")
    with pytest.raises(RenderError):
        write_audio(sound, tmp_path / "missing" / "line.flac")
    assert list(tmp_path.iterdir()) == []
