"""Tempo: from musical time to seconds, and the ladder of tempos a student climbs."""

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final, Self

from fretwright.base.errors import ScoreError

SLOWEST_BPM: Final = 10.0
FASTEST_BPM: Final = 400.0


@dataclass(frozen=True, slots=True)
class TempoMark:
    """From this place on, so many beats a minute."""

    at: Fraction
    """Written time in whole notes."""
    bpm: float
    beat: Fraction
    """The value that is counted: 1/4, or 3/8 in compound time."""

    def __post_init__(self) -> None:
        if not SLOWEST_BPM <= self.bpm <= FASTEST_BPM:
            message = f"a tempo of {self.bpm:g} beats a minute is outside {SLOWEST_BPM:g} to {FASTEST_BPM:g}"
            raise ScoreError(message)

    @property
    def seconds_per_whole(self) -> float:
        """Seconds that a whole note lasts."""
        return 60.0 / self.bpm / float(self.beat)


@dataclass(frozen=True, slots=True)
class TempoMap:
    """All tempo marks of a score, in order; the first stands at 0."""

    marks: tuple[TempoMark, ...]

    def __post_init__(self) -> None:
        if not self.marks or self.marks[0].at != 0:
            message = "a tempo map starts with a mark at time 0"
            raise ScoreError(message)
        if any(later.at <= sooner.at for sooner, later in pairwise(self.marks)):
            message = "tempo marks stand in order of time"
            raise ScoreError(message)

    @classmethod
    def constant(cls, bpm: float, beat: Fraction = Fraction(1, 4)) -> Self:
        """One tempo throughout."""
        return cls((TempoMark(Fraction(0), float(bpm), beat),))

    @property
    def bpm(self) -> float:
        """The tempo at the start."""
        return self.marks[0].bpm

    def at_start(self, bpm: float) -> "TempoMap":
        """The same map scaled so that it starts at ``bpm``."""
        factor = bpm / self.bpm
        return TempoMap(tuple(TempoMark(mark.at, mark.bpm * factor, mark.beat) for mark in self.marks))

    def seconds_at(self, time: Fraction) -> float:
        """Seconds from the start of the score to a written time, repeats not taken."""
        seconds = 0.0
        for mark, following in zip(self.marks, (*self.marks[1:], None), strict=True):
            until = time if following is None else min(time, following.at)
            seconds += float(until - mark.at) * mark.seconds_per_whole
            if until == time:
                break
        return seconds

    def seconds_between(self, start: Fraction, end: Fraction) -> float:
        """Seconds from one written time to another."""
        return self.seconds_at(end) - self.seconds_at(start)


@dataclass(frozen=True, slots=True)
class Ladder:
    """The tempos from start to goal, in the order a student climbs them."""

    start_bpm: float
    goal_bpm: float
    step_percent: float = 8.0
    """Largest step from rung to rung; about what is just felt as faster but not as another task
    (common practice, no source)."""

    def __post_init__(self) -> None:
        if self.goal_bpm < self.start_bpm:
            message = f"the goal of {self.goal_bpm:g} is below the start of {self.start_bpm:g}"
            raise ScoreError(message, "Write the slower tempo first.")
        if self.start_bpm < SLOWEST_BPM or self.goal_bpm > FASTEST_BPM:
            message = f"tempos from {self.start_bpm:g} to {self.goal_bpm:g} cannot be practised"
            raise ScoreError(message, f"Write tempos from {SLOWEST_BPM:g} to {FASTEST_BPM:g}.")
        if self.step_percent <= 0:
            message = f"a ladder cannot rise by {self.step_percent:g} percent"
            raise ScoreError(message, "Write a step above 0.")

    @property
    def rungs(self) -> tuple[int, ...]:
        """Whole tempos from start to goal, steps as even in ratio as whole numbers allow."""
        ratio = self.goal_bpm / self.start_bpm
        count, reach = 0, 1.0
        while reach < ratio - 1e-9:
            reach *= 1.0 + self.step_percent / 100.0
            count += 1
        steps = (self.start_bpm * ratio ** (i / count) if count else self.start_bpm for i in range(count + 1))
        return tuple(dict.fromkeys(round(step) for step in steps))
