"""Audio files, in open formats, the same bytes for the same sound.

======  =====================  ==================================================
suffix  format                 for
======  =====================  ==================================================
.flac   FLAC, 16 bit           keeping and editing; exact to the sample
.wav    PCM, 16 bit            anything else; exact to the sample
.opus   Opus in Ogg, 96 kb/s   the smallest good sound
.webm   Opus in WebM           the same, where a player wants WebM
.m4a    AAC in MP4, 160 kb/s   players without Opus
======  =====================  ==================================================

In one channel, Opus takes 64 kb/s and AAC 96 kb/s: a third less, and for AAC half the time.

Every lossy codec starts with some samples that belong to no sound. Each of these containers says how
many (Ogg's pre-skip, RFC 7845; WebM's codec delay; MP4's edit list), and a decoder that follows the
container leaves them out: :func:`decoded_offset` is what remains then. :func:`codec_delay` is what a
decoder finds that reads the bare stream.
"""

import os
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from types import MappingProxyType
from typing import Final, Literal

import av
import numpy as np
import soundfile

from fretwright.base.errors import RenderError, UsageError
from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.sound.arrays import Samples
from fretwright.sound.render import Sound

_FRAME: Final = 16_384
Channels = Literal[1, 2]
_LAYOUT: Final[Mapping[Channels, str]] = MappingProxyType({1: "mono", 2: "stereo"})
_Codec = Literal["libopus", "aac"]
_EFFORT: Final[Mapping[_Codec, dict[str, str]]] = MappingProxyType(
    {"libopus": {"compression_level": "3"}, "aac": {"aac_coder": "fast", "aac_is": "0", "aac_pns": "0"}}
)
"""How hard each codec searches: at these bit rates more effort doubles the time and changes little.

AAC's two ways of guessing high sounds (a common spectrum for both sides, noise in place of partials) are for
lower rates: without them the sound above 4 kHz is 3 dB nearer to what was rendered.
"""


@dataclass(frozen=True, slots=True)
class _Format:
    """How one suffix is written."""

    encode: Callable[[Sound, Channels], bytes]
    delay: int
    """Samples that the codec puts before the sound."""
    remains: int
    """Those of them that a decoder which follows the container still gives."""


def write_audio(sound: Sound, path: Path) -> None:
    """Write a sound in the format of the path's suffix, in one step: no reader sees half a file.

    Raises :class:`~fretwright.base.errors.UsageError` for a suffix that is not in the table above, and
    :class:`~fretwright.base.errors.RenderError` if the file cannot be written.
    """
    data = encode_audio(sound, path.suffix)
    try:
        descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        message = f"{path} cannot be written: {error.strerror}."
        raise RenderError(message, "Choose a folder that exists and can be written to.") from error
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(data)
        # mkstemp makes the file private; what is published must be as readable as any other file.
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except OSError as error:
        Path(name).unlink(missing_ok=True)
        message = f"{path} cannot be written: {error.strerror}."
        raise RenderError(message, "See whether the disk is full or the file is open elsewhere.") from error


def encode_audio(sound: Sound, suffix: str, channels: Channels = 2) -> bytes:
    """A sound as the bytes of a file with that suffix. Raises as :func:`write_audio` for the suffix.

    In one channel both sides are mixed, each at half its level.
    """
    return _format(suffix).encode(sound, channels)


def decoded_offset(suffix: str) -> int:
    """Samples by which a decoder that follows the container gives the sound late.

    Raises :class:`~fretwright.base.errors.UsageError` for an unknown suffix.
    """
    return _format(suffix).remains


def codec_delay(suffix: str) -> int:
    """Samples that stand before the sound in the bare stream, to be dropped where the container is ignored.

    Raises :class:`~fretwright.base.errors.UsageError` for an unknown suffix.
    """
    return _format(suffix).delay


def _format(suffix: str) -> _Format:
    found = _FORMATS.get(suffix.lower())
    if found is None:
        message = f'"{suffix}" is not a kind of audio file that can be written.'
        raise UsageError(message, f"Use one of: {', '.join(_FORMATS)}.")
    return found


def _in_channels(sound: Sound, channels: Channels) -> Samples:
    """Shape (n, channels)."""
    samples = sound.samples
    return samples if channels == 2 else 0.5 * (samples[:, :1] + samples[:, 1:])


def _lossless(kind: str) -> Callable[[Sound, Channels], bytes]:
    def encode(sound: Sound, channels: Channels) -> bytes:
        samples = _in_channels(sound, channels)
        whole = np.clip(np.rint(samples.astype(np.float64) * 32767.0), -32768, 32767)
        buffer = BytesIO()
        soundfile.write(buffer, whole.astype(np.int16), sound.rate_hz, format=kind, subtype="PCM_16")
        return buffer.getvalue()

    return encode


def _lossy(
    container: str, codec: _Codec, sample_format: str, bit_rates: Mapping[Channels, int]
) -> Callable[[Sound, Channels], bytes]:
    def encode(sound: Sound, channels: Channels) -> bytes:
        samples, layout = _in_channels(sound, channels), _LAYOUT[channels]
        buffer = BytesIO()
        # "bitexact" keeps dates, random serial numbers and the library's version out of the file.
        with av.open(buffer, "w", format=container, options={"fflags": "+bitexact"}) as file:
            stream = file.add_stream(codec, rate=sound.rate_hz, options=_EFFORT[codec])
            stream.layout = layout
            stream.bit_rate = bit_rates[channels]
            stream.codec_context.flags |= av.codec.context.Flags.bitexact
            stream.codec_context.format = sample_format
            stream.codec_context.thread_count = 1
            for start in range(0, len(samples), _FRAME):
                piece = samples[start : start + _FRAME]
                file.mux(stream.encode(_frame(piece, start, sample_format, layout)))
            file.mux(stream.encode(None))
        return buffer.getvalue()

    return encode


def _frame(piece: Samples, start: int, sample_format: str, layout: str) -> av.AudioFrame:
    planar = sample_format.endswith("p")
    values = piece.T if planar else piece.reshape(1, -1)
    frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(values), format=sample_format, layout=layout)
    frame.sample_rate = SAMPLE_RATE_HZ
    frame.pts = start
    return frame


_OPUS_RATES: Final[Mapping[Channels, int]] = MappingProxyType({1: 64_000, 2: 96_000})
_AAC_RATES: Final[Mapping[Channels, int]] = MappingProxyType({1: 96_000, 2: 160_000})
_FORMATS: Final[Mapping[str, _Format]] = MappingProxyType(
    {
        ".flac": _Format(_lossless("FLAC"), delay=0, remains=0),
        ".wav": _Format(_lossless("WAV"), delay=0, remains=0),
        ".opus": _Format(_lossy("ogg", "libopus", "flt", _OPUS_RATES), delay=312, remains=0),
        ".webm": _Format(_lossy("webm", "libopus", "flt", _OPUS_RATES), delay=312, remains=0),
        ".m4a": _Format(_lossy("mp4", "aac", "fltp", _AAC_RATES), delay=1024, remains=0),
    }
)
