"""Intervals: how far apart two notes are, on the staff and in sound.

An interval counts two things, diatonic steps (lines and spaces of the staff) and semitones, so that an
augmented fourth and a diminished fifth stay different although they sound alike. Names and sizes
follow common practice.
"""

import re
from dataclasses import dataclass
from typing import Final, Protocol, Self, TypeVar

from fretwright.base.errors import NotationError

_MAJOR_SEMITONES: Final = (0, 2, 4, 5, 7, 9, 11)
"""Semitones of the perfect and major intervals, by steps from 0 to 6."""
_PERFECT_STEPS: Final = frozenset({0, 3, 4})
_ORDINALS: Final = (
    "unison", "second", "third", "fourth", "fifth", "sixth", "seventh", "octave",
    "ninth", "tenth", "eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth",
)  # fmt: skip
_QUALITIES: Final = {"P": "perfect", "M": "major", "m": "minor", "A": "augmented", "d": "diminished"}
_MULTIPLES: Final = {1: "", 2: "doubly ", 3: "triply "}

_NAME = re.compile(r"(-?)(P|M|m|A{1,9}|d{1,9})([1-9][0-9]?)")
_DEGREE = re.compile(r"([#♯]{1,9}|[b♭]{1,9}|)([1-9][0-9]?)")


@dataclass(frozen=True, slots=True, order=True)
class Interval:
    """The distance from one note to another; below zero it leads down."""

    steps: int
    """Diatonic steps: 0 is a unison, 2 a third, 7 an octave."""
    semitones: int
    """Semitones that it sounds: 4 for a major third."""

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a short name such as ``m3``, ``P5``, ``A4``, ``d5`` or ``-M2`` (a major second down).

        Raises :class:`NotationError` where the text is no interval, a "perfect third" among them.
        """
        match = _NAME.fullmatch(text.strip())
        if match:
            sign, quality, number = match.groups()
            steps = int(number) - 1
            offset = _quality_offset(quality, perfect=steps % 7 in _PERFECT_STEPS)
            if offset is not None:
                size = cls(steps, _major_semitones(steps) + offset)
                return cls(-size.steps, -size.semitones) if sign else size
        raise NotationError(
            f'"{text}" is not an interval.',
            "Write a quality and a number, such as m3, M3, P4, A4, d5 or P8.",
        )

    @classmethod
    def of_degree(cls, text: str) -> Self:
        """Read a scale degree against the major scale: ``1``, ``b3``, ``#4``, ``b7``, ``bb7``, ``9``.

        Raises :class:`NotationError` where the text is no degree.
        """
        match = _DEGREE.fullmatch(text.strip())
        if not match:
            raise NotationError(
                f'"{text}" is not a scale degree.',
                "Write a number with flats or sharps before it, such as 1, b3, #4, 5 or b7.",
            )
        signs, number = match.groups()
        steps = int(number) - 1
        alter = len(signs) if signs[:1] in {"#", "♯"} else -len(signs)
        return cls(steps, _major_semitones(steps) + alter)

    @staticmethod
    def between(low: "_AnyNote", high: "_AnyNote") -> "Interval":
        """The interval from ``low`` to ``high``, two note names or two pitches.

        Between note names it leads up by less than an octave; between pitches it may lead down.
        """
        return low.interval_to(high)

    @property
    def alter(self) -> int:
        """Semitones above (or, below zero, under) the perfect or major interval of as many steps."""
        return self.semitones - _major_semitones(self.steps)

    @property
    def degree(self) -> str:
        """The scale degree that lies this far above a tonic: ``b3``, ``5``, ``#4``.

        An interval that leads down gives the degree that it reaches in the octave below.
        """
        steps = self.steps if self.steps >= 0 else self.steps % 7
        return f"{'#' * self.alter}{'b' * -self.alter}{steps + 1}"

    @property
    def name(self) -> str:
        """The interval in words: ``minor third``, ``augmented fourth``, ``major second down``."""
        if self.steps < 0:
            return f"{(-self).name} down"
        quality = self._quality
        ordinal = _ORDINALS[self.steps] if self.steps < len(_ORDINALS) else f"{self.steps + 1}th"
        multiple = _MULTIPLES.get(len(quality), f"{len(quality)} times ")
        return f"{multiple}{_QUALITIES[quality[0]]} {ordinal}"

    @property
    def simple(self) -> "Interval":
        """The same interval within one octave upwards: a tenth becomes a third, a second down a seventh."""
        octaves = self.steps // 7
        return Interval(self.steps - 7 * octaves, self.semitones - 12 * octaves)

    @property
    def _quality(self) -> str:
        alter = self.alter
        if self.steps % 7 in _PERFECT_STEPS:
            return "P" if alter == 0 else "A" * alter or "d" * -alter
        if alter in {0, -1}:
            return "M" if alter == 0 else "m"
        return "A" * alter or "d" * (-alter - 1)

    def __neg__(self) -> "Interval":
        return Interval(-self.steps, -self.semitones)

    def __add__(self, other: "Interval") -> "Interval":
        return Interval(self.steps + other.steps, self.semitones + other.semitones)

    def __sub__(self, other: "Interval") -> "Interval":
        return Interval(self.steps - other.steps, self.semitones - other.semitones)

    def __str__(self) -> str:
        if self.steps < 0:
            return f"-{-self}"
        return f"{self._quality}{self.steps + 1}"


class Spelled(Protocol):
    """A note that can say how far away another of its own kind is."""

    def interval_to(self, other: Self, /) -> Interval:
        """The interval from this note to ``other``."""
        ...


_AnyNote = TypeVar("_AnyNote", bound=Spelled)


def _major_semitones(steps: int) -> int:
    """Semitones of the perfect or major interval of so many steps, at any distance up or down."""
    octaves, within = divmod(steps, 7)
    return 12 * octaves + _MAJOR_SEMITONES[within]


def _quality_offset(quality: str, *, perfect: bool) -> int | None:
    """Semitones that a quality adds to the perfect or major size, or None where the two clash."""
    if quality[0] == "A":
        return len(quality)
    if quality[0] == "d":
        return -len(quality) if perfect else -len(quality) - 1
    return {("P", True): 0, ("M", False): 0, ("m", False): -1}.get((quality, perfect))


UNISON: Final = Interval(0, 0)
OCTAVE: Final = Interval(7, 12)
