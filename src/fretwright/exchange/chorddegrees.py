"""The notes of a chord name that the standard's kinds do not know, as degrees added, altered or left out.

By the standard an added degree is altered against a dominant chord (major and perfect intervals, but a minor
seventh), an altered one against the kind that it alters.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from fretwright.base.errors import NotationError
from fretwright.exchange.chordnames import KINDS
from fretwright.theory.chord import Chord
from fretwright.theory.interval import Interval

_DOMINANT: Final = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 10, 9: 14, 11: 17, 13: 21}
"""Semitones above the root of each degree as a dominant chord has it."""


@dataclass(frozen=True, slots=True)
class Degree:
    """One change to a kind."""

    value: int
    """Which degree: 9 for a ninth."""
    alter: int
    type: str
    """``add``, ``alter`` or ``subtract`` (``degree-type-value``)."""

    @property
    def text(self) -> str:
        """The change as a chord name writes it: ``add9``, ``#9``, ``b5``, ``no3``."""
        signs = "#" * self.alter or "b" * -self.alter
        if self.type == "subtract":
            return f"no{self.value}"
        return f"{signs}{self.value}" if signs or self.type == "alter" else f"add{self.value}"


@dataclass(frozen=True, slots=True)
class KindWithDegrees:
    """A chord as the standard can say it."""

    kind: str
    degrees: tuple[Degree, ...]


def in_degrees(name: str) -> KindWithDegrees | None:
    """The nearest kind for a chord name, and what it takes to make it that chord; ``None`` if unreadable."""
    try:
        wanted = _by_number(Chord.parse(name).degrees)
    except NotationError:
        return None
    found = ((kind, _changes(have, wanted)) for kind, have in _kinds().items())
    kind, degrees = min(found, key=lambda entry: sum(_cost(degree) for degree in entry[1]))
    return KindWithDegrees(kind, degrees)


def _cost(degree: Degree) -> int:
    """One for each change; readers differ on which seventh is added, so that a kind with one is better."""
    return 3 if (degree.value, degree.type) == (7, "add") else 1


@cache
def _kinds() -> Mapping[str, dict[int, int]]:
    """Degrees of each kind whose usual name the theory of chords reads."""
    kinds: dict[str, dict[int, int]] = {}
    for ending, kind in KINDS.items():
        if kind in kinds:
            continue
        try:
            kinds[kind] = _by_number(Chord.parse(f"C{ending}").degrees)
        except NotationError:
            continue
    return kinds


def _by_number(degrees: tuple[Interval, ...]) -> dict[int, int]:
    return {degree.steps + 1: degree.semitones for degree in degrees}


def _changes(have: Mapping[int, int], wanted: Mapping[int, int]) -> tuple[Degree, ...]:
    changes = [
        Degree(number, semitones - have[number], "alter")
        for number, semitones in wanted.items()
        if number in have and have[number] != semitones
    ]
    changes += [
        Degree(number, semitones - _DOMINANT[number], "add")
        for number, semitones in wanted.items()
        if number not in have and number in _DOMINANT
    ]
    changes += [Degree(number, 0, "subtract") for number in have if number not in wanted]
    return tuple(sorted(changes, key=lambda degree: degree.value))
