"""The backing band of an exercise: tracks for its page, and files on request."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import numpy as np

from fretwright.base.errors import NotationError, RenderError, UsageError
from fretwright.base.whole import write_whole
from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.flows.digests import digest, digest_of_score
from fretwright.publish.material import BandTrack
from fretwright.score.score import Score
from fretwright.score.timeline import timeline
from fretwright.score.transpose import transpose
from fretwright.sound.band.feels import feel_named
from fretwright.sound.band.render import MOST_CHORUSES, BandOptions, BandSound, render_band
from fretwright.sound.files import encode_audio
from fretwright.sound.loudness import to_target
from fretwright.sound.render import Sound, render
from fretwright.theory.pitch import NoteName

_PLAIN_SUFFIX: Final = ".m4a"
_PAGE_S: Final = 60.0
"""A track on a page goes on for about this long."""
_BAND_SHARE: Final = 0.6
"""How loud the band is against the guitar where both are heard."""


@dataclass(frozen=True, slots=True)
class BandOrder:
    """What is asked of the band for one exercise."""

    feel: str | None = None
    """By default the one that the exercise names, or ``straight``."""
    bpm: float | None = None
    """By default the first rung."""
    key: str | None = None
    """A keynote such as ``G``: everything is moved there."""
    seed: int = 1
    options: BandOptions = field(default_factory=BandOptions)


def write_band(checked: Checked, name: str, order: BandOrder, out: Path) -> tuple[Path, ...]:
    """Write the mix and the stems of an exercise's band into a folder, as FLAC: exact to the sample.

    Raises :class:`~fretwright.base.errors.UsageError` for an unknown exercise, feel or keynote,
    and :class:`~fretwright.base.errors.RenderError` where no chords are named or a file cannot be written.
    """
    exercise = checked.course.exercise(name)
    score = checked.score_of(exercise)
    if order.key is not None:
        score = _in_key(score, order.key)
    feel = feel_named(order.feel or exercise.band or "straight")
    band = render_band(score, feel, order.seed, order.bpm or exercise.ladder.start_bpm, order.options)
    sounds = {"mix": band.mix, **{player.value: stem for player, stem in band.stems.items()}}
    contents = {f"{exercise.id}-{what}.flac": encode_audio(sound, ".flac") for what, sound in sounds.items()}
    try:
        out.mkdir(parents=True, exist_ok=True)
        for file, content in contents.items():
            write_whole(out / file, content, 0o644)  # as readable as any other file
    except OSError as error:
        mend = "Choose a folder that can be written to, on a disk with room."
        raise RenderError(f"{out} cannot be written: {error.strerror}.", mend) from error
    return tuple(out / file for file in contents)


def _in_key(score: Score, asked: str) -> Score:
    """The score moved up to another key without its notes; its mode stays what it is."""
    try:
        wanted = NoteName.parse(asked.strip())
    except NotationError as error:
        raise UsageError(f'"{asked}" is no keynote.', "Write a note, such as G, F# or Bb.") from error
    return transpose(replace(score, notes=()), score.key.tonic.interval_to(wanted))


@dataclass(frozen=True, slots=True)
class BandJob:
    """The band of one exercise at one tempo, as its page offers it; travels to another process."""

    lesson: str
    exercise: str
    score: Score
    feel: str
    bpm: int

    @classmethod
    def all_of(cls, exercise: Exercise, score: Score) -> tuple["BandJob", ...]:
        """One job for the first rung and one for the goal; none where no band is wanted."""
        if exercise.band is None:
            return ()
        tempos = sorted({exercise.ladder.rungs[0], exercise.ladder.rungs[-1]})
        return tuple(cls(exercise.lesson, exercise.id, score, exercise.band, bpm) for bpm in tempos)

    @property
    def key(self) -> str:
        """Digest of all that sounds."""
        return digest("band", self.exercise, digest_of_score(self.score), self.feel, self.bpm)

    @property
    def track(self) -> BandTrack:
        """Where its files lie."""
        stem = f"band/{self.lesson}/{self.exercise}-{self.bpm}"
        return BandTrack(
            bpm=self.bpm,
            band=f"{stem}{_PLAIN_SUFFIX}",
            loop=f"{stem}-loop.flac",
            with_guitar=f"{stem}-with-guitar{_PLAIN_SUFFIX}" if self.score.notes else None,
        )

    @property
    def paths(self) -> tuple[str, ...]:
        """The files that are made."""
        track = self.track
        return tuple(path for path in (track.band, track.loop, track.with_guitar) if path is not None)

    def make(self) -> dict[str, bytes]:
        """Play: path -> content."""
        return dict(self._made())

    def _made(self) -> Iterator[tuple[str, bytes]]:
        feel, track = feel_named(self.feel), self.track
        once_s = timeline(self.score, self.bpm).length_s
        choruses = min(MOST_CHORUSES, max(1, math.ceil(_PAGE_S / once_s)))
        played = render_band(self.score, feel, 1, self.bpm, BandOptions(choruses))
        yield track.band, encode_audio(played.mix, _PLAIN_SUFFIX)
        looped = render_band(self.score, feel, 1, self.bpm, BandOptions(loop=True))
        yield track.loop, encode_audio(looped.mix, ".flac")
        if track.with_guitar is not None:
            band = render_band(self.score, feel, 1, self.bpm, BandOptions(1))
            both = with_guitar(self.score, self.bpm, band)
            yield track.with_guitar, encode_audio(both, _PLAIN_SUFFIX)


def with_guitar(score: Score, bpm: float, band: BandSound) -> Sound:
    """The band and the written notes together, on the band's clock."""
    guitar = render(score, bpm)
    late = round((band.mix.music_starts_s - guitar.music_starts_s) * band.mix.rate_hz)
    both = _BAND_SHARE * band.mix.samples.astype(np.float64)
    stop = min(len(both), late + len(guitar.samples))
    both[late:stop] += guitar.samples[: stop - late]
    samples = to_target(both).astype(np.float32, order="C")
    return replace(band.mix, samples=samples)
