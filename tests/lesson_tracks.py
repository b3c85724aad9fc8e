"""Sound tracks of made-up lessons for tests: talk, pauses and playing whose every onset is known."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from fretwright.score.score import Score
from fretwright.sound.render import render

RATE_HZ = 48_000
Samples = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Truth:
    """One time that an exercise was played."""

    name: str
    onsets_s: tuple[float, ...]
    """Of its notes in order, from the first to where it was broken off."""


@dataclass
class LessonTrack:
    """A track that grows from its start."""

    seed: int = 3
    played: list[Truth] = field(default_factory=list)
    spoken: list[tuple[float, float]] = field(default_factory=list)
    pieces: list[Samples] = field(default_factory=list)

    @property
    def now_s(self) -> float:
        """How long it is so far."""
        return sum(map(len, self.pieces)) / RATE_HZ

    @property
    def samples(self) -> Samples:
        """Mono, in a room that is not quite silent."""
        whole = np.concatenate(self.pieces)
        noise = np.random.default_rng(self.seed).normal(0, 5e-4, len(whole))
        return (whole + noise).astype(np.float32)

    def pause(self, length_s: float) -> "LessonTrack":
        """Nobody does anything."""
        self.pieces.append(np.zeros(round(length_s * RATE_HZ), np.float32))
        return self

    def talk(self, length_s: float) -> "LessonTrack":
        """Somebody speaks: a buzzing source through moving resonances, in syllables, without words."""
        begins_s = self.now_s
        time = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
        pitch = 115 * 2 ** (0.3 * np.sin(2 * np.pi * 0.7 * time) + 0.12 * np.sin(2 * np.pi * 2.3 * time))
        phase = 2 * np.pi * np.cumsum(pitch) / RATE_HZ
        formant = 600 + 350 * np.sin(2 * np.pi * 1.1 * time + self.seed)
        voice = sum(
            np.sin(number * phase) * np.exp(-(((number * pitch - formant) / 500) ** 2))
            for number in range(1, 16)
        )
        voice *= np.clip(np.sin(2 * np.pi * 3.1 * time), 0, 1) ** 0.5
        self.pieces.append((0.25 * voice / np.abs(voice).max()).astype(np.float32))
        self.spoken.append((begins_s, self.now_s))
        return self

    def play(self, name: str, score: Score, bpm: float, notes: int | None = None) -> "LessonTrack":
        """Somebody plays a score, or its first ``notes``, and lets the last one ring a little."""
        sound = render(score, bpm)
        begins_s = self.now_s
        onsets = [note.onset_s for note in sound.time_map]
        samples = sound.samples.mean(axis=1)
        if notes is not None and notes < len(onsets):
            samples = samples[: round(onsets[notes] * RATE_HZ)]
            fade = min(len(samples), RATE_HZ // 50)
            samples[-fade:] *= np.linspace(1, 0, fade, dtype=np.float32)
        self.pieces.append(0.7 * samples.astype(np.float32))
        kept = onsets if notes is None else onsets[:notes]
        self.played.append(Truth(name, tuple(begins_s + onset for onset in kept)))
        return self
