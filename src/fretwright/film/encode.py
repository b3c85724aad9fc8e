"""The kinds of film, and one open file of such a kind.

======  =======================================  ===============================================
suffix  picture                                  for
======  =======================================  ===============================================
.mp4    H.264, 4:2:0, with AAC and subtitles     watching
.webm   VP9 with alpha                           laying over footage; small
.mov    QuickTime Animation with alpha           laying over footage; exact to the pixel
.mov    ProRes 4444 (on request)                 editors that want it; largest
======  =======================================  ===============================================

An encoder is run with a fixed number of threads, so that the same film is the same bytes on any machine.
"""

import contextlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import Final, cast

import av
import numpy as np
from av.audio.stream import AudioStream
from av.stream import Disposition
from av.subtitles.stream import SubtitleStream
from av.subtitles.subtitle import SubtitleSet
from av.video.reformatter import ColorPrimaries, ColorRange, Colorspace, ColorTrc
from av.video.stream import VideoStream

from fretwright.base.errors import UsageError
from fretwright.film.canvas import Layout
from fretwright.film.captions import Cue
from fretwright.film.chapters import Chapter
from fretwright.film.size import FilmSize
from fretwright.sound.arrays import Samples

_THREADS: Final = 4
_AUDIO_BITS: Final = 160_000
_MS: Final = Fraction(1, 1000)
_SUBTITLE_HEADER: Final = (
    b"[Script Info]\nScriptType: v4.00+\n\n"
    b"[V4+ Styles]\n"
    b"Format: Name, Fontname, Fontsize, PrimaryColour, SecondaryColour, OutlineColour, BackColour, Bold, "
    b"Italic, Underline, StrikeOut, ScaleX, ScaleY, Spacing, Angle, BorderStyle, Outline, Shadow, "
    b"Alignment, MarginL, MarginR, MarginV, Encoding\n"
    b"Style: Default,Arial,16,&Hffffff,&Hffffff,&H0,&H0,0,0,0,0,100,100,0,0,1,1,0,2,10,10,10,0\n\n"
    b"[Events]\n"
    b"Format: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n"
)
"""What the encoder of soft subtitles wants to be told of styles; players use their own."""


@dataclass(frozen=True, slots=True)
class Kind:
    """How one kind of film is written."""

    container: str
    codec: str
    pixels: str
    """As the encoder takes them."""
    layout: Layout
    """As they are painted."""
    options: Mapping[str, str] = field(default_factory=dict)
    has_sound: bool = False


COMPLETE: Final = Kind(
    "mp4",
    "libx264",
    "yuv420p",
    "yuv420p",
    {
        "preset": "veryfast",
        "crf": "18",
        "tune": "animation",
        # Macroblock trees look into memory that was never written: other bytes from run to run.
        "mbtree": "0",
        # Pictures that stand still gain nothing from being looked at backwards; it took half the memory.
        "bf": "0",
    },
    has_sound=True,
)
BURNED: Final = Kind(
    "mp4",
    "libx264",
    "yuv420p",
    "yuv420p",
    # What a camera has seen is left finer than drawings need, and is not smoothed.
    {"preset": "veryfast", "crf": "20", "mbtree": "0", "bf": "0"},
    has_sound=True,
)
"""A recording with the overlay burned in."""
_VP9: Final = MappingProxyType(
    {
        "crf": "20",
        "b": "0",
        "deadline": "realtime",
        "cpu-used": "8",
        "tile-columns": "2",
        # Alpha cannot have alternate reference pictures.
        "auto-alt-ref": "0",
        "lag-in-frames": "0",
    }
)
_OVERLAYS: Final[Mapping[str, Kind]] = MappingProxyType(
    {
        ".webm": Kind(
            "webm",
            "libvpx-vp9",
            "yuva420p",
            "rgba",
            _VP9,
        ),
        ".mov": Kind("mov", "qtrle", "argb", "rgba"),
    }
)
_PRORES: Final = Kind("mov", "prores_ks", "yuva444p10le", "rgba", {"profile": "4444", "vendor": "apl0"})


def kind_of(suffix: str, *, overlay: bool, prores: bool = False) -> Kind:
    """The kind of film that a file name asks for.

    Raises :class:`~fretwright.base.errors.UsageError` if there is no such kind.
    """
    suffix = suffix.lower()
    if prores and not (overlay and suffix == ".mov"):
        raise UsageError("ProRes is for overlays in a .mov file.", "Add --overlay and name a .mov file.")
    if not overlay:
        if suffix != ".mp4":
            raise UsageError(
                f'"{suffix}" is not a kind of film that can be written.',
                "A complete film is an .mp4 file; with --overlay, a .webm or .mov file.",
            )
        return COMPLETE
    if suffix not in _OVERLAYS:
        raise UsageError(
            f'"{suffix}" cannot hold an overlay, whose ground is transparent.', "Name a .webm or a .mov file."
        )
    return _PRORES if prores else _OVERLAYS[suffix]


@dataclass(frozen=True, slots=True)
class Labels:
    """What a file says of itself."""

    title: str
    chapters: tuple[Chapter, ...]


class FilmFile:
    """An open film: pictures, sound and captions in, packets out, in step."""

    def __init__(
        self,
        path: Path,
        kind: Kind,
        size: FilmSize,
        labels: Labels,
        *,
        captions: bool,
        rate: Fraction | None = None,
        sound: bool = True,
        described: bool = False,
    ) -> None:
        """Start the file, at the size's rate of pictures or another; ``sound`` where the kind can have it.

        ``described`` adds a second sound track for the audio description.
        Raises ``OSError`` if it cannot be written.
        """
        options = {"fflags": "+bitexact"}
        if kind.container in {"mp4", "mov"}:
            # The index in front, so that a player can begin before it has the whole file.
            options["movflags"] = "+faststart"
        self._file = av.open(str(path), "w", format=kind.container, options=options)
        self._size = size
        self._rate = rate or Fraction(size.fps)
        self._picture = self._picture_stream(kind)
        self._sound = self._sound_stream() if kind.has_sound and sound else None
        self._description = self._sound_stream() if described else None
        if self._sound is not None and self._description is not None:
            self._sound.disposition = Disposition.default
            self._description.disposition = Disposition.visual_impaired
            self._description.metadata["title"] = "Audio description"
            self._description.metadata["language"] = "eng"
        self._words = self._words_stream() if captions else None
        self._file.metadata["title"] = labels.title
        if labels.chapters and kind.has_sound:
            self._file.set_chapters(
                [
                    {
                        "id": number,
                        "start": round(chapter.start_s * 1000),
                        "end": round(chapter.end_s * 1000),
                        "time_base": _MS,
                        "metadata": {"title": chapter.title},
                    }
                    for number, chapter in enumerate(labels.chapters, start=1)
                ]
            )
        self._file.start_encoding()

    def add_picture(self, frame: av.VideoFrame, number: int) -> None:
        """The next picture."""
        if frame.format.name != self._picture.pix_fmt:
            frame = frame.reformat(
                format=self._picture.pix_fmt,
                src_colorspace="ITU709",
                dst_colorspace="ITU709",
            )
        frame.pts, frame.time_base = number, 1 / self._rate
        self._file.mux(self._picture.encode(frame))

    def add_sound(self, samples: Samples, start: int) -> None:
        """Samples of shape (n, 2), the first of which is number ``start``."""
        self._add_samples(self._sound, samples, start)

    def add_description(self, samples: Samples, start: int) -> None:
        """The same for the audio description."""
        self._add_samples(self._description, samples, start)

    def _add_samples(self, stream: AudioStream | None, samples: Samples, start: int) -> None:
        if stream is None:
            return
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(samples.T), format="fltp", layout="stereo")
        frame.sample_rate, frame.pts = stream.rate, start
        frame.time_base = Fraction(1, stream.rate)
        self._file.mux(stream.encode(frame))

    def add_caption(self, cue: Cue) -> None:
        """A caption; captions come in order of time, not much later than the pictures they belong to."""
        if self._words is None:
            return
        start, end = round(cue.start_s * 1000), round(cue.end_s * 1000)
        words = cue.text.replace("\\", "/").replace("{", "(").replace("}", ")").replace("\n", "\\N")
        event = SubtitleSet.create(f"0,0,Default,,0,0,0,,{words}".encode(), 0, end - start, pts=start)
        packet = self._words.codec_context.encode_subtitle(event)
        packet.stream, packet.time_base = self._words, _MS
        self._file.mux(packet)

    def finish(self) -> None:
        """Bring out what the encoders still hold and end the file."""
        self._file.mux(self._picture.encode(None))
        for stream in (self._sound, self._description):
            if stream is not None:
                self._file.mux(stream.encode(None))
        self._file.close()

    def abandon(self) -> None:
        """Let go of the file without making sense of it."""
        # The file is thrown away, and the first error has been raised already.
        with contextlib.suppress(av.FFmpegError, OSError, ValueError):
            self._file.close()

    def _picture_stream(self, kind: Kind) -> VideoStream:
        stream = cast(
            "VideoStream", self._file.add_stream(kind.codec, rate=self._rate, options=dict(kind.options))
        )
        stream.width, stream.height, stream.pix_fmt = self._size.width, self._size.height, kind.pixels
        context = stream.codec_context
        context.thread_count = _THREADS
        context.flags |= av.codec.context.Flags.bitexact
        if kind.pixels.startswith("yuv"):
            context.color_range = ColorRange.MPEG
            context.colorspace = Colorspace.ITU709
            context.color_primaries = ColorPrimaries.BT709
            context.color_trc = ColorTrc.BT709
        return stream

    def _sound_stream(self) -> AudioStream:
        stream = self._file.add_stream("aac", rate=48_000)
        stream.layout, stream.bit_rate = "stereo", _AUDIO_BITS
        stream.codec_context.flags |= av.codec.context.Flags.bitexact
        stream.codec_context.thread_count = 1
        return stream

    def _words_stream(self) -> SubtitleStream:
        stream = self._file.add_stream("mov_text")
        stream.codec_context.subtitle_header = _SUBTITLE_HEADER
        stream.time_base = stream.codec_context.time_base = _MS
        stream.metadata["language"] = "eng"
        return stream


def piece_of(samples: Samples, start: int, size: int) -> Samples:
    """``size`` samples from number ``start`` on, silence where there are none."""
    piece = np.zeros((size, 2), np.float32)
    inside = samples[max(0, start) : max(0, start + size)]
    at = max(0, -start)
    piece[at : at + len(inside)] = inside
    return piece
