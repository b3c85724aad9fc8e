"""Choices that differ from seed to seed and never from run to run."""

from collections.abc import Sequence
from random import Random
from typing import TypeVar

T = TypeVar("T")


class Dice:
    """Chance for one player. Only :meth:`random.Random.random` is drawn on, whose sequence Python keeps."""

    def __init__(self, seed: int, player: str) -> None:
        # A string seed is hashed by SHA-512, which no version of Python and no machine changes.
        self._random = Random(f"{seed}/{player}")  # noqa: S311 - music, not secrets

    def happens(self, share: float) -> bool:
        """Whether something that happens in this share of cases happens now."""
        return self._random.random() < share

    def pick(self, choices: Sequence[T]) -> T:
        """One of several, all as likely."""
        return choices[int(self._random.random() * len(choices))]

    def about(self, middle: float, spread: float) -> float:
        """A number near the middle, at most ``spread`` away and mostly much nearer."""
        return middle + spread * (self._random.random() + self._random.random() - 1.0)
