"""Written note values: the sign on the page and the exact time it stands for."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from fretwright.base.errors import ScoreError

BASES: Final = tuple(Fraction(1, 2**power) for power in range(7))
"""Undotted values from the whole note to the sixty-fourth."""

_NAMES: Final = ("whole", "half", "quarter", "eighth", "sixteenth", "thirty-second", "sixty-fourth")
_MOST_DOTS: Final = 2


@dataclass(frozen=True, slots=True)
class Tuplet:
    """A ratio of notes: ``actual`` of them in the time of ``normal``."""

    actual: int
    normal: int

    @property
    def ratio(self) -> Fraction:
        """Factor on every value inside: 2/3 for a triplet."""
        return Fraction(self.normal, self.actual)


TRIPLET: Final = Tuplet(3, 2)


@dataclass(frozen=True, slots=True)
class Value:
    """One written value, such as a dotted quarter or an eighth of a triplet."""

    base: Fraction
    """One of :data:`BASES`."""
    dots: int = 0
    tuplet: Tuplet | None = None

    def __post_init__(self) -> None:
        if self.base not in BASES or not 0 <= self.dots <= _MOST_DOTS:
            message = f"there is no written note value of {self.base} with {self.dots} dots"
            raise ScoreError(message)

    @property
    def duration(self) -> Fraction:
        """Exact length as a fraction of a whole note."""
        plain = self.base * (2 - Fraction(1, 2**self.dots))
        return plain * self.tuplet.ratio if self.tuplet else plain

    @property
    def flags(self) -> int:
        """How many flags or beams the value carries: 0 for a quarter or longer, 1 for an eighth."""
        return max(0, self.base.denominator.bit_length() - 3)

    @property
    def name(self) -> str:
        """The value in words: ``dotted quarter``, ``triplet eighth``."""
        dots = {0: "", 1: "dotted ", 2: "double-dotted "}[self.dots]
        tuplet = "" if self.tuplet is None else "triplet " if self.tuplet == TRIPLET else "tuplet "
        return f"{dots}{tuplet}{_NAMES[BASES.index(self.base)]}"


WHOLE: Final = Value(Fraction(1))
HALF: Final = Value(Fraction(1, 2))
QUARTER: Final = Value(Fraction(1, 4))
EIGHTH: Final = Value(Fraction(1, 8))
SIXTEENTH: Final = Value(Fraction(1, 16))


def value_of(duration: Fraction) -> Value | None:
    """The one undotted or dotted value that lasts exactly ``duration``, if there is one."""
    return next((value for value in _plain_values() if value.duration == duration), None)


def _plain_values() -> Iterator[Value]:
    for dots in (0, 1):
        for base in BASES:
            yield Value(base, dots)
