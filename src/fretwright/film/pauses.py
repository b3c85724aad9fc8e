"""A film that stands still while a voice tells what is about to be played.

Over a teacher's recording there is no room for a description: where nobody speaks, somebody plays, and the
playing is what a listener came for. So in the described film the picture stands before the first time that
an exercise is played, the voice tells it whole, and then the film goes on (WCAG 2.2, 1.2.7: extended audio
description). Nothing of it is lost and nothing is spoken over.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil
from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.film.captions import Cue
from fretwright.film.chapters import Chapter
from fretwright.sound.arrays import Samples

_BREATH_S: Final = 0.4
"""Before and after the voice."""
_RAMP: Final = SAMPLE_RATE_HZ // 200
"""Samples in which the recording's sound is taken away, so that its end is no click."""
_MANY: Final = SAMPLE_RATE_HZ
Heard = Iterator[tuple[int, Samples]]


@dataclass(frozen=True, slots=True)
class Pause:
    """One moment at which the film stands still."""

    at: int
    """Number of the picture that stands, in the film without pauses."""
    pictures: int
    """How many more times it is shown."""
    voice: Samples
    """Shape (n,), at 48 kHz."""


def pause_for(at_s: float, voice: Samples, rate: Fraction) -> Pause:
    """A pause as long as the voice needs; ``rate`` is pictures a second."""
    length_s = len(voice) / SAMPLE_RATE_HZ + 2 * _BREATH_S
    return Pause(int(at_s * rate), ceil(length_s * rate), voice)


@dataclass(frozen=True, slots=True)
class Pauses:
    """All pauses of a film in order, and what becomes of its time."""

    rate: Fraction
    each: tuple[Pause, ...] = ()

    @property
    def pictures(self) -> int:
        """How many pictures they add."""
        return sum(pause.pictures for pause in self.each)

    def after(self, number: int) -> int:
        """How many more times a picture is shown."""
        return sum(pause.pictures for pause in self.each if pause.at == number)

    def cues(self, cues: Sequence[Cue]) -> tuple[Cue, ...]:
        """Captions at their new times."""
        return tuple(
            replace(cue, start_s=self._later(cue.start_s), end_s=self._later(cue.end_s)) for cue in cues
        )

    def chapters(self, chapters: Sequence[Chapter]) -> tuple[Chapter, ...]:
        """Chapters at their new times; a pause belongs to the chapter that it opens."""
        return tuple(
            replace(one, start_s=self._later(one.start_s), end_s=self._later(one.end_s)) for one in chapters
        )

    def sound(self, heard: Heard) -> Heard:
        """The sound track with the voice in its place: number of the first sample, and shape (n, 2)."""
        cuts = [self._sample(pause.at + 1) for pause in self.each]
        added = spoken = 0
        for start, samples in heard:
            at = 0
            while spoken < len(cuts) and cuts[spoken] <= start + len(samples):
                until = max(at, cuts[spoken] - start)
                if until > at:
                    yield start + at + added, _softened(samples[at:until], start + at, cuts)
                yield from self._voice(spoken, cuts[spoken] + added)
                at, added, spoken = until, added + self._length(spoken), spoken + 1
            if at < len(samples):
                yield start + at + added, _softened(samples[at:], start + at, cuts)
        # the recording's sound may end before its pictures do
        for place in range(spoken, len(cuts)):
            yield from self._voice(place, cuts[place] + added)
            added += self._length(place)

    def _length(self, place: int) -> int:
        """How many samples a pause lasts, so that all of them together keep in step with the pictures."""
        before = sum(pause.pictures for pause in self.each[:place])
        return self._sample(before + self.each[place].pictures) - self._sample(before)

    def _voice(self, place: int, start: int) -> Heard:
        """The voice on both channels in a silence as long as the pause, a second at a time."""
        whole = np.zeros((self._length(place), 2), np.float32)
        begin = round(_BREATH_S * SAMPLE_RATE_HZ)
        some = self.each[place].voice[: max(0, len(whole) - begin)]
        whole[begin : begin + len(some)] = some[:, None]
        for at in range(0, len(whole), _MANY):
            yield start + at, whole[at : at + _MANY]

    def _sample(self, pictures: int) -> int:
        return round(pictures / self.rate * SAMPLE_RATE_HZ)

    def _later(self, time_s: float) -> float:
        before = sum(pause.pictures for pause in self.each if (pause.at + 1) / self.rate <= time_s)
        return time_s + float(before / self.rate)


def _softened(samples: Samples, start: int, cuts: Sequence[int]) -> Samples:
    """Samples that fade away just before a cut and come back just after it."""
    near = [cut for cut in cuts if start - _RAMP < cut < start + len(samples) + _RAMP]
    if not near:
        return samples
    away = np.min([np.abs(np.arange(start, start + len(samples)) - cut) for cut in near], axis=0)
    soft: Samples = (samples * np.minimum(1.0, away / _RAMP)[:, None]).astype(np.float32)
    return soft
