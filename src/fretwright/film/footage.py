"""A teacher's recording as it comes from a phone: probed, then read picture by picture and never written to.

Phones turn their pictures by a matrix beside them, change the rate at which they film, and begin sound and
picture at different times. Whoever reads the footage sees none of that: pictures stand upright, their pixels
are square, they come on an even grid from time 0, and sound is two channels of one rate.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Final

import av
import numpy as np
import numpy.typing as npt
from av.container import InputContainer
from av.video.reformatter import ColorRange, Colorspace
from av.video.stream import VideoStream

from fretwright.base.errors import UsageError
from fretwright.film.canvas import Plane
from fretwright.sound.arrays import Samples

_RATES: Final = tuple(
    Fraction(rate) for rate in ("24000/1001", "24", "25", "30000/1001", "30", "50", "60000/1001", "60")
)
"""What films are made at (common practice, no source); any other is brought to the nearest."""
_MOST_PX: Final = 4096
_LEAST_PX: Final = 360
"""On fewer lines no number could be read."""
_FAULTS_BORNE: Final = 200
_SOUND_RATE: Final = 48_000
_HOLE_S: Final = 0.04
_LONGEST_HOLE_S: Final = 600.0
_EARLY: Final = Fraction(1, 500)
"""A picture that comes this much too late, in seconds, is still the picture of its time."""
_MICROSECONDS: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class Footage:
    """What is known of a recording."""

    path: Path
    width: int
    """As it is watched, upright and with square pixels; even. 0 where there is no picture."""
    height: int
    rate: Fraction
    """Pictures a second, evenly spaced, that come nearest to the recording's own."""
    length_s: float
    quarter_turns: int
    """Counter-clockwise, from the picture as stored to the picture as watched."""
    has_sound: bool

    @property
    def has_picture(self) -> bool:
        """Whether there is anything to lay an overlay over."""
        return self.width > 0

    @property
    def picture_count(self) -> int:
        """Pictures in a film of the same length."""
        return max(1, round(self.length_s * self.rate))


def probe(path: Path) -> Footage:
    """Look at a recording without decoding more than its first picture.

    Raises :class:`~fretwright.base.errors.UsageError` if there is no such file, or none that can be read.
    """
    if not path.is_file():
        raise UsageError(f"There is no file {path}.", "Give the recording's path.")
    try:
        with av.open(str(path), metadata_errors="ignore") as file:
            stream = picture_of(file)
            width = height = turns = 0
            rate = Fraction(30)
            if stream is not None:
                width, height, turns = _measures(file, stream)
                rate = _nearest(stream.average_rate or stream.guessed_rate)
            length_s = _length_s(path, file)
            return Footage(path, width, height, rate, length_s, turns, bool(file.streams.audio))
    except (av.FFmpegError, OSError, ValueError) as error:
        raise UsageError(
            f"{path} cannot be read as a recording: it is broken, cut short or of another kind.",
            "Copy it from the camera again, or save it as MP4.",
        ) from error


def picture_of(file: InputContainer) -> VideoStream | None:
    """The stream of moving pictures; the cover of a sound file is none."""
    moving = (
        stream
        for stream in file.streams.video
        if not stream.disposition & av.stream.Disposition.attached_pic and stream.codec_context is not None
    )
    return next(moving, None)


def _measures(file: InputContainer, stream: VideoStream) -> tuple[int, int, int]:
    """Width and height as watched, and quarter turns, by the first picture."""
    frame = next(_frames(file, stream), None)
    if frame is None:
        raise av.InvalidDataError(0, "no picture can be decoded")
    turns = round(frame.rotation / 90) % 4
    aspect = stream.sample_aspect_ratio or Fraction(1)
    wide, high = frame.width * aspect, Fraction(frame.height)
    if turns % 2:
        wide, high = high, wide
    shrunk = min(Fraction(1), Fraction(_MOST_PX) / max(wide, high))
    width, height = (2 * max(1, round(side * shrunk / 2)) for side in (wide, high))
    if min(width, height) < _LEAST_PX:
        raise UsageError(
            f"The recording is only {width} by {height} pixels: tab on it could not be read.",
            f"Film with at least {_LEAST_PX} lines.",
        )
    return width, height, turns


def _nearest(rate: Fraction | None) -> Fraction:
    return min(_RATES, key=lambda known: abs(known - (rate or Fraction(30))))


def _length_s(path: Path, file: InputContainer) -> float:
    """How long the recording lasts; what its container does not say, the last of its packets does."""
    if file.duration:
        return float(file.duration) / _MICROSECONDS
    last_s = 0.0
    with av.open(str(path), metadata_errors="ignore") as again:
        for packet in again.demux():
            if packet.pts is not None and packet.time_base is not None:
                last_s = max(last_s, float((packet.pts + (packet.duration or 0)) * packet.time_base))
        return last_s - (again.start_time or 0) / _MICROSECONDS


def _frames(file: InputContainer, stream: VideoStream) -> Iterator[av.VideoFrame]:
    """Every picture that can be decoded; a damaged one is passed over, a damaged film is not."""
    faults = 0
    for packet in file.demux(stream):
        try:
            yield from packet.decode()
        except av.InvalidDataError:
            faults += 1
            if faults > _FAULTS_BORNE:
                raise


def pictures(footage: Footage) -> Iterator[tuple[Plane, ...]]:
    """The pictures on an even grid, upright, as planes of 4:2:0 in BT.709 and limited range.

    Each is the latest that the recording has at its time; the same planes come again while nothing new does.
    """
    count = footage.picture_count
    planes: tuple[Plane, ...] | None = None
    number = 0
    for time_s, frame in _timed(footage):
        # the picture before this one stands until this one's time
        while planes is not None and number < count and number / footage.rate + _EARLY < time_s:
            yield planes
            number += 1
        if number >= count:
            return
        planes = _planes(frame, footage)
    while planes is not None and number < count:
        yield planes
        number += 1


def _timed(footage: Footage) -> Iterator[tuple[Fraction, av.VideoFrame]]:
    with av.open(str(footage.path), metadata_errors="ignore") as file:
        stream = picture_of(file)
        if stream is None:
            return
        stream.thread_type = "AUTO"
        start = Fraction(file.start_time or 0, _MICROSECONDS)
        before = Fraction(-1)
        for frame in _frames(file, stream):
            if frame.pts is None or frame.time_base is None:
                time = before + 1 / footage.rate if before >= 0 else Fraction(0)
            else:
                time = frame.pts * frame.time_base - start
            before = time
            yield time, frame


def _planes(frame: av.VideoFrame, footage: Footage) -> tuple[Plane, ...]:
    """A picture as it is watched."""
    sideways = footage.quarter_turns % 2
    width, height = (footage.height, footage.width) if sideways else (footage.width, footage.height)
    flat = frame.reformat(
        width=width,
        height=height,
        format="yuv420p",
        dst_colorspace=Colorspace.ITU709,
        dst_color_range=ColorRange.MPEG,
    )
    packed = flat.to_ndarray()
    luma, rest = packed[:height], packed[height:].reshape(-1)
    half = (height // 2, width // 2)
    first, second = rest[: half[0] * half[1]].reshape(half), rest[half[0] * half[1] :].reshape(half)
    return tuple(
        np.ascontiguousarray(np.rot90(plane, footage.quarter_turns)) for plane in (luma, first, second)
    )


def sound(footage: Footage) -> Iterator[tuple[int, Samples]]:
    """The recording's sound: number of the first sample from time 0, and samples of shape (n, 2) at 48 kHz.

    Where the sound begins late or has a hole, silence fills it.
    """
    with av.open(str(footage.path), metadata_errors="ignore") as file:
        stream = file.streams.audio[0]
        stream.codec_context.thread_count = 1
        start_s = (file.start_time or 0) / _MICROSECONDS
        resampler = av.AudioResampler(format="fltp", rate=_SOUND_RATE)
        written = 0
        for packet in file.demux(stream):
            try:
                frames = [piece for frame in packet.decode() for piece in resampler.resample(frame)]
            except av.InvalidDataError:
                continue
            for frame in frames:
                samples = _two_channels(frame.to_ndarray().astype(np.float32, copy=False))
                if frame.time is not None:
                    missing = round((frame.time - start_s) * _SOUND_RATE) - written
                    if _HOLE_S * _SOUND_RATE < missing < _LONGEST_HOLE_S * _SOUND_RATE:
                        yield from _silence(written, missing)
                        written += missing
                yield written, samples
                written += len(samples)


def _silence(start: int, count: int) -> Iterator[tuple[int, Samples]]:
    while count > 0:
        size = min(count, _SOUND_RATE)
        yield start, np.zeros((size, 2), np.float32)
        start, count = start + size, count - size


def _two_channels(planar: npt.NDArray[np.float32]) -> Samples:
    """One channel twice, two as they are, more as the mean of all."""
    channels = planar if len(planar) == 2 else np.repeat(planar.mean(axis=0, keepdims=True), 2, axis=0)
    return np.ascontiguousarray(channels.T)
