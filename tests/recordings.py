"""Recordings as phones and cameras make them, for tests: a grey room, somebody's hands, and sound."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import numpy.typing as npt

RATE_HZ = 48_000
Samples = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Camera:
    """How a recording is made."""

    width: int = 640
    height: int = 360
    rate: int = 25
    codec: str = "libx264"
    sound: str | None = "aac"
    """Codec of the sound; ``None`` records none."""
    grey: int = 90
    """How bright the room is."""
    uneven: bool = False
    """Whether pictures come at a varying rate, as phones make them in the dark."""
    sound_late_s: float = 0.0
    """How much later than the picture the sound begins."""
    turned: int = 0
    """Degrees, counter-clockwise, by which a player turns the picture."""


def record(path: Path, samples: Samples, camera: Camera | None = None, length_s: float | None = None) -> Path:
    """Write a recording with that sound, mono at 48 kHz; a white bar stands at the left of the picture."""
    camera = camera or Camera()
    length_s = len(samples) / RATE_HZ if length_s is None else length_s
    with av.open(str(path), "w") as file:
        picture: Any = file.add_stream(camera.codec, rate=camera.rate, options={"preset": "ultrafast"})
        picture.width, picture.height, picture.pix_fmt = camera.width, camera.height, "yuv420p"
        picture.codec_context.time_base = Fraction(1, 90_000)
        voice: Any = file.add_stream(camera.sound, rate=RATE_HZ) if camera.sound else None
        if voice is not None:
            voice.layout = "mono"
        sent = 0
        late = round(camera.sound_late_s * RATE_HZ)
        for time_s in _times(camera, length_s):
            frame = av.VideoFrame.from_ndarray(_picture(camera, time_s), format="yuv420p")
            frame.pts, frame.time_base = round(time_s * 90_000), Fraction(1, 90_000)
            file.mux(picture.encode(frame))
            while voice is not None and sent < min(len(samples), (time_s + 0.1) * RATE_HZ):
                file.mux(voice.encode(_sound(samples[sent : sent + 1024], sent + late)))
                sent += 1024
        file.mux(picture.encode(None))
        if voice is not None:
            for start in range(sent, len(samples), 1024):
                file.mux(voice.encode(_sound(samples[start : start + 1024], start + late)))
            file.mux(voice.encode(None))
    if camera.turned:
        _turn(path, camera.turned)
    return path


def _times(camera: Camera, length_s: float) -> Iterator[float]:
    """When pictures are taken: evenly, or now and then with a hole."""
    number = 0
    while number / camera.rate < length_s - 1e-9:
        if not (camera.uneven and number % 7 in {2, 3, 5}):
            yield number / camera.rate
        number += 1


def _picture(camera: Camera, time_s: float) -> npt.NDArray[np.uint8]:
    """Grey with a white bar at the left edge, and a brightness at the right that tells the second."""
    packed = np.full((camera.height * 3 // 2, camera.width), 128, np.uint8)
    packed[: camera.height] = camera.grey
    packed[: camera.height, : camera.width // 10] = 235
    packed[: camera.height, -camera.width // 10 :] = 16 + int(time_s * 20) % 200
    return packed


def _sound(samples: Samples, start: int) -> av.AudioFrame:
    frame = av.AudioFrame.from_ndarray(
        np.ascontiguousarray(samples[None, :], dtype=np.float32), format="fltp", layout="mono"
    )
    frame.sample_rate, frame.pts, frame.time_base = RATE_HZ, start, Fraction(1, RATE_HZ)
    return frame


def _turn(path: Path, degrees: int) -> None:
    """Write a turn into the picture's track header, as a phone does (ISO/IEC 14496-12, 8.3.2: the matrix)."""
    turns = {90: (0, -1, 1, 0), 180: (-1, 0, 0, -1), 270: (0, 1, -1, 0)}
    a, b, c, d = turns[degrees]
    data = bytearray(path.read_bytes())
    at = data.index(b"tkhd")
    # version and flags 4, times and track 20, reserved 8, layer, group, volume, reserved 8: then nine numbers
    matrix = at + 4 + 4 + 20 + 8 + 8
    for place, value in enumerate((a, b, 0, c, d, 0, 0, 0)):
        data[matrix + 4 * place : matrix + 4 * place + 4] = (value * 65_536).to_bytes(4, "big", signed=True)
    path.write_bytes(bytes(data))


def silence(length_s: float) -> Samples:
    """Nothing."""
    return np.zeros(round(length_s * RATE_HZ), np.float32)


def joined(pieces: Sequence[Samples]) -> Samples:
    """One after the other."""
    return np.concatenate(list(pieces))
