"""Where a student stands on the ladder of one exercise: the success rule.

Clean twice at a rung opens the next; two takes in a row that do not come clean lead one rung back. Taken
alone this rule would send whoever stands at the edge of what they can play up and down for ever. So a rung
that has thrown a student back opens only after twice as many clean takes as the time before (2, 4, 8 ...): in
n takes it can throw nobody back more than log2(n / 2 + 1) times. The numbers are common practice of teachers,
no source.

Takes below the rung on which the student stands are slow practice: a clean one proves nothing about the rung
and takes nothing away. Takes above it are tries: a clean one counts, a failed one does not.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from fretwright.practice.history import TakeSummary, in_order
from fretwright.score.tempo import Ladder

CLEAN_FOR_NEXT: Final = 2
FAILED_FOR_BACK: Final = 2
NEAR_ENOUGH: Final = 0.97
"""Share of a rung's tempo that counts as that rung; 60 and 62 are just told apart after five taps."""
STUCK_FALLS: Final = 2
"""Thrown back so often from one rung, a student should ask the teacher."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a student stands on one ladder."""

    rungs: tuple[int, ...]
    at: int
    """Index of the rung to practise at."""
    clean_run: int
    """Clean takes in a row there, or above."""
    failed_run: int
    """Takes in a row there that did not come clean."""
    needed: int
    """Clean takes in a row that open the next rung."""
    falls: int
    """How often the next rung has thrown the student back."""
    at_goal: bool
    """Clean twice at the last rung, and not thrown back since."""
    takes: int
    """How many there are in all."""
    last_at: datetime | None
    """Of the last take."""
    last_move: int
    """1 where the last take opened a rung, -1 where it led back, else 0."""

    @property
    def bpm(self) -> int:
        """Tempo of the rung to practise at."""
        return self.rungs[self.at]

    @property
    def next_bpm(self) -> int | None:
        """Tempo of the next rung, ``None`` on the last."""
        return self.rungs[self.at + 1] if self.at + 1 < len(self.rungs) else None

    @property
    def is_known(self) -> bool:
        """Whether the exercise has been climbed at least half way, and is kept by review from then on."""
        return self.at_goal or (self.takes > 0 and 2 * self.at >= len(self.rungs))

    @property
    def is_stuck(self) -> bool:
        """Whether the next rung has thrown the student back again and again."""
        return self.falls >= STUCK_FALLS


def standing_of(takes: Iterable[TakeSummary], ladder: Ladder) -> Standing:
    """Where the takes of one exercise have led. They may come in any order and more than once."""
    climb = _Climb(ladder.rungs)
    ordered = in_order(takes)
    for take in ordered:
        climb.hear(take)
    following = climb.at + 1
    return Standing(
        rungs=ladder.rungs,
        at=climb.at,
        clean_run=len(climb.run),
        failed_run=climb.failed,
        needed=climb.needed(following),
        falls=climb.falls[following],
        at_goal=climb.at_goal,
        takes=len(ordered),
        last_at=ordered[-1].at if ordered else None,
        last_move=climb.last_move,
    )


class _Climb:
    """The fold over takes; alive only inside :func:`standing_of`."""

    def __init__(self, rungs: Sequence[int]) -> None:
        self.rungs = rungs
        self.at = 0
        self.run: list[int] = []
        self.failed = 0
        self.at_goal = False
        self.last_move = 0
        # one beyond the last rung: the goal itself
        self.falls = [0] * (len(rungs) + 1)

    def needed(self, rung: int) -> int:
        """Clean takes in a row below a rung that open it."""
        return CLEAN_FOR_NEXT << self.falls[rung]

    def hear(self, take: TakeSummary) -> None:
        self.last_move = 0
        if take.clean:
            self._clean(take)
        elif _nearest(self.rungs, take.asked_bpm) <= self.at:
            self._failed()

    def _clean(self, take: TakeSummary) -> None:
        reached = _reached(self.rungs, take.played_bpm)
        if reached is None or reached < self.at:
            return
        self.failed = 0
        self.run.append(reached)
        while len(self.run) >= self.needed(self.at + 1):
            if self.at + 1 == len(self.rungs):
                self.at_goal = True
                return
            self.at += 1
            self.last_move = 1
            # takes that were quick enough count for the rungs they skipped
            self.run = [one for one in self.run if one >= self.at]

    def _failed(self) -> None:
        self.run.clear()
        self.failed += 1
        if self.failed < FAILED_FOR_BACK:
            return
        self.failed = 0
        self.at_goal = False
        if self.at:
            self.falls[self.at] += 1
            self.at -= 1
            self.last_move = -1


def _reached(rungs: Sequence[int], bpm: float) -> int | None:
    """The quickest rung that a tempo fulfils."""
    fulfilled = [index for index, rung in enumerate(rungs) if bpm >= NEAR_ENOUGH * rung]
    return fulfilled[-1] if fulfilled else None


def _nearest(rungs: Sequence[int], bpm: float) -> int:
    """The rung that was meant."""
    return min(range(len(rungs)), key=lambda index: (abs(rungs[index] - bpm), index))
