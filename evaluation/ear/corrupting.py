"""What rooms, microphones, codecs and neighbours do to a take: small functions of samples, at one rate."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from io import BytesIO
from types import MappingProxyType
from typing import Final

import av
import numpy as np
from evaluation.ear.guitars import RATE_HZ, STRENGTHS, Floats, recorded_note

Corruption = Callable[[Floats, np.random.Generator], Floats]


def noise(snr_db: float) -> Corruption:
    """Room noise between white and pink, so many dB under the playing."""

    def apply(take: Floats, rng: np.random.Generator) -> Floats:
        white = rng.normal(size=len(take))
        spectrum = np.fft.rfft(white)
        spectrum /= np.maximum(1.0, np.arange(len(spectrum)) * (RATE_HZ / len(take)) / 200.0) ** 0.35
        hiss = np.fft.irfft(spectrum, len(take))
        loud = np.abs(take) > 1e-3
        power = np.mean(take[loud] ** 2)
        mixed: Floats = take + hiss * np.sqrt(power / np.mean(hiss**2) / 10 ** (snr_db / 10))
        return mixed

    return apply


def reverb(rt60_s: float) -> Corruption:
    """A room of that reverberation time: direct sound, then noise that decays, 6 dB under it in all."""

    def apply(take: Floats, rng: np.random.Generator) -> Floats:
        count = round(rt60_s * 1.1 * RATE_HZ)
        time = np.arange(count) / RATE_HZ
        tail = rng.normal(size=count) * 10 ** (-3 * time / rt60_s)
        tail[: round(0.008 * RATE_HZ)] = 0
        # high frequencies die sooner in rooms
        tail = np.convolve(tail, np.hanning(9) / np.hanning(9).sum(), mode="same")
        tail *= np.sqrt(0.25 / np.sum(tail**2))
        size = 1 << (len(take) + count - 1).bit_length()
        wet = np.fft.irfft(np.fft.rfft(take, size) * np.fft.rfft(tail, size), size)[: len(take)]
        return take + wet

    return apply


def hum(hertz: float) -> Corruption:
    """Mains hum and its odd harmonics, 26 dB under full scale."""

    def apply(take: Floats, rng: np.random.Generator) -> Floats:
        time = np.arange(len(take)) / RATE_HZ
        out = take.copy()
        for harmonic in (1, 2, 3, 5, 7, 9):
            turn = rng.uniform(0, 2 * np.pi)
            out += 0.035 / harmonic**0.8 * np.sin(2 * np.pi * hertz * harmonic * time + turn)
        return out

    return apply


def clip(take: Floats, rng: np.random.Generator) -> Floats:
    """The recording is overdriven by 9 dB and cut off."""
    del rng
    return np.clip(take, -0.35 * np.abs(take).max(), 0.35 * np.abs(take).max())


def high_pass(hertz: float) -> Corruption:
    """A small microphone: 18 dB an octave below that frequency."""

    def apply(take: Floats, rng: np.random.Generator) -> Floats:
        del rng
        spectrum = np.fft.rfft(take)
        ratio = np.maximum(np.fft.rfftfreq(len(take), 1 / RATE_HZ), 1e-3) / hertz
        return np.fft.irfft(spectrum / np.sqrt(1 + ratio**-6.0), len(take))

    return apply


def offset(take: Floats, rng: np.random.Generator) -> Floats:
    """Up to three seconds before the playing starts, with handling noises."""
    lead = np.zeros(round(rng.uniform(0, 3) * RATE_HZ))
    for _ in range(int(rng.integers(0, 4))):
        if len(lead) > 8000:
            at = int(rng.integers(0, len(lead) - 4000))
            lead[at : at + 4000] += rng.normal(size=4000) * np.exp(-np.arange(4000) / 500) * 0.05
    return np.concatenate([lead, take])


def bleed(take: Floats, rng: np.random.Generator) -> Floats:
    """A backing of bass, chords and click in time with nothing, 12 dB under the playing."""
    backing = np.zeros(len(take))
    beat = 60 / rng.uniform(70, 120)
    root = int(rng.integers(40, 52))
    for index in range(int(len(take) / RATE_HZ / beat)):
        at = round(index * beat * RATE_HZ)
        bar = root + (0, 5, 7, 0)[index // 4 % 4]
        if index % 2 == 0:
            _add(backing, recorded_note("bass", bar, STRENGTHS[1]).samples, at, beat * 1.8)
        if index % 4 == 0:
            for step in (12, 16, 19):
                _add(backing, recorded_note("keys", bar + step, STRENGTHS[0]).samples * 0.6, at, beat * 3.8)
        tick = rng.normal(size=1200) * np.exp(-np.arange(1200) / 150.0) * 1.5
        _add(backing, tick, at, 1.0)
    power = np.mean(take[np.abs(take) > 1e-3] ** 2)
    mixed: Floats = take + backing * np.sqrt(power / np.mean(backing**2) / 10**1.2)
    return mixed


def _add(out: Floats, note: Floats, at: int, length_s: float) -> None:
    piece = note[: round(length_s * RATE_HZ)].copy()
    fade = min(400, len(piece))
    piece[-fade:] *= np.linspace(1, 0, fade)
    stop = min(len(out), at + len(piece))
    out[at:stop] += piece[: stop - at]


def encoded(container: str, codec: str, bit_rate: int, rate_hz: int) -> Callable[[Floats], bytes]:
    """The take as the bytes of a file that a phone might have made."""

    def encode(take: Floats) -> bytes:
        buffer = BytesIO()
        with av.open(buffer, "w", format=container) as file:
            stream = file.add_stream(codec, rate=rate_hz)
            assert isinstance(stream, av.AudioStream)  # noqa: S101 - narrows a library's union
            stream.layout = "mono"
            stream.bit_rate = bit_rate
            resampler = av.AudioResampler(
                format=stream.codec_context.format, layout="mono", rate=rate_hz, frame_size=960
            )
            scaled = (take / max(1.0, np.abs(take).max())).astype(np.float32)
            for start in range(0, len(scaled), 4096):
                frame = av.AudioFrame.from_ndarray(
                    scaled[None, start : start + 4096], format="flt", layout="mono"
                )
                frame.sample_rate = RATE_HZ
                frame.pts = start
                for piece in resampler.resample(frame):
                    file.mux(stream.encode(piece))
            for piece in resampler.resample(None):
                file.mux(stream.encode(piece))
            file.mux(stream.encode(None))
        return buffer.getvalue()

    return encode


CODECS: Final[Mapping[str, tuple[str, Callable[[Floats], bytes]]]] = MappingProxyType(
    {
        "opus 32k": (".opus", encoded("ogg", "libopus", 32_000, 48_000)),
        "aac 48k": (".m4a", encoded("mp4", "aac", 48_000, 44_100)),
    }
)

CORRUPTIONS: Final[Mapping[str, Corruption]] = MappingProxyType(
    {
        "reverb 0.3": reverb(0.3),
        "reverb 0.6": reverb(0.6),
        "reverb 1.0": reverb(1.0),
        "hum 50": hum(50.0),
        "hum 60": hum(60.0),
        "clip": clip,
        "bleed": bleed,
        "offset": offset,
        "high-pass 300": high_pass(300.0),
        "noise 10 dB": noise(10.0),
    }
)

PLAIN: Final = "plain"
STRAINS: Final = (PLAIN, *CORRUPTIONS, *CODECS, "cents +30", "cents -30", "drift sine", "drift step")
"""Conditions that takes of lines and of chords have in common, in the order in which both draw them."""
SEVERAL: Final = "several"
"""Two corruptions at once."""
_ROOM_DB: Final = 20.0


@dataclass(frozen=True, slots=True)
class Recorded:
    """A performance as the microphone had it."""

    samples: Floats
    """Mono, at the guitars' rate."""
    offset_s: float
    """Where the performance's time 0 lies in the samples."""
    codec: str | None
    """Of :data:`CODECS`, where the condition is one."""


def recorded_under(condition: str, played: Floats, rng: np.random.Generator) -> Recorded:
    """What a room, and one condition, make of a performance's sound."""
    samples = noise(_ROOM_DB)(played, rng)
    offset_s = 0.0
    chosen = [condition]
    if condition == SEVERAL:
        chosen = list(rng.choice([c for c in CORRUPTIONS if c != "bleed"], 2, replace=False))
    for one in chosen:
        if one in CORRUPTIONS:
            before = len(samples)
            samples = CORRUPTIONS[one](samples, rng)
            offset_s += (len(samples) - before) / RATE_HZ
    samples = samples * (0.6 / np.abs(samples).max())
    return Recorded(samples, offset_s, condition if condition in CODECS else None)


def mistuned_cents(condition: str, rng: np.random.Generator) -> float:
    """How far the whole guitar is off: as the condition says, or by up to 12 cents."""
    cents = float(rng.uniform(-12, 12))
    return float(condition.split()[1]) if condition.startswith("cents") else cents
