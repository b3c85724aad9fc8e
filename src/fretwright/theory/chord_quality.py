"""What kind of chord stands on a root: its parts, its degrees, its symbol and its name in words.

A quality keeps the parts that a musician reads in a symbol, a triad, a highest number, what is altered,
added and left out, and derives everything else from them. Degree formulas are common practice: seventh,
ninth, eleventh and thirteenth pile thirds on the triad, every one below the number that is written; a
seventh is flat unless ``maj`` stands before the number, and doubly flat on a diminished triad.

Each quality has one set of parts: the constructors of :mod:`fretwright.theory.chord_symbol` turn a
suspended fourth that is called an added one, or a diminished triad that is called a minor one with a flat
fifth, into the usual form, so that equal chords are equal.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Final

from fretwright.theory.interval import Interval


class Triad(StrEnum):
    """What the chord is built on; the value is how its symbol begins."""

    MAJOR = ""
    MINOR = "m"
    DIMINISHED = "dim"
    AUGMENTED = "aug"
    POWER = "5"
    SUS2 = "sus2"
    SUS4 = "sus4"
    SUS24 = "sus2sus4"

    @property
    def is_suspended(self) -> bool:
        """Whether a second or fourth stands in for the third."""
        return self in {Triad.SUS2, Triad.SUS4, Triad.SUS24}


_TRIAD_DEGREES: Final = {
    Triad.MAJOR: "1 3 5",
    Triad.MINOR: "1 b3 5",
    Triad.DIMINISHED: "1 b3 b5",
    Triad.AUGMENTED: "1 3 #5",
    Triad.POWER: "1 5",
    Triad.SUS2: "1 2 5",
    Triad.SUS4: "1 4 5",
    Triad.SUS24: "1 2 4 5",
}
_TRIAD_WORDS: Final = {
    Triad.MAJOR: "",
    Triad.MINOR: "minor",
    Triad.DIMINISHED: "diminished",
    Triad.AUGMENTED: "augmented",
    Triad.POWER: "power chord",
    Triad.SUS2: "sus two",
    Triad.SUS4: "sus four",
    Triad.SUS24: "sus two sus four",
}
_NUMBER_WORDS: Final = {
    2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 9: "nine", 11: "eleven", 13: "thirteen",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Quality:
    """A chord without its root."""

    triad: Triad = Triad.MAJOR
    number: int = 0
    """The number that is written: 6, 7, 9, 11 or 13; 0 for a plain triad."""
    major_seventh: bool = False
    """Whether ``maj`` stands before that number."""
    altered: tuple[str, ...] = ()
    """Degrees in place of the plain ones, or above them: ``b5``, ``#9``."""
    added: tuple[str, ...] = ()
    """Degrees beside those that the number asks for: ``9``, ``#11``."""
    omitted: tuple[str, ...] = ()
    """Degrees that the symbol leaves out: ``3``, ``5``."""

    @property
    def degrees(self) -> tuple[Interval, ...]:
        """Every note as an interval above the root, from the root up; a ninth is nine steps away."""
        return _degrees(self)

    @property
    def omittable(self) -> frozenset[Interval]:
        """Degrees that a guitarist may leave out without changing what is heard (common practice).

        From four notes on the perfect fifth, but not of a sixth chord, which would turn into another;
        under an eleventh or thirteenth the ninth and eleventh; under an eleventh the major third, which
        clashes with it. Whatever the symbol alters or adds must sound.
        """
        return frozenset(degree for degree in self.degrees if self._may_go(degree))

    @property
    def avoided(self) -> frozenset[Interval]:
        """Degrees of the full stack that are not played: the eleventh over a thirteenth's major third."""
        clashes = self.number == 13 and _of("3") <= set(self.degrees)
        return _of("11") & set(self.degrees) if clashes else frozenset()

    def _may_go(self, degree: Interval) -> bool:
        name = degree.degree
        if name in self.added or name in self.altered:
            return False
        if name == "5":
            return self.number >= 7 or self._is_six_nine
        if name == "3":
            return self.number == 11
        return name in {"9", "11"} and int(name) < self.number

    @property
    def symbol(self) -> str:
        """What is written after the root: ``m7b5``, ``sus4``, ``(b5)``."""
        if self.triad is Triad.POWER:
            return "5"
        stem = "" if self.triad.is_suspended else self.triad.value
        numbered = "69" if self._is_six_nine else str(self.number or "")
        if self.major_seventh:
            numbered = f"maj{numbered}"
        parts = [f"{stem}({numbered})" if stem and self.major_seventh else stem + numbered]
        parts += [self.triad.value] if self.triad.is_suspended else []
        altered = "".join(self.altered)
        parts.append(f"({altered})" if altered and not any(parts) else altered)
        parts += [f"add{degree}" for degree in self._added_in_words]
        parts += [f"no{degree}" for degree in self.omitted]
        return "".join(parts)

    @property
    def spoken(self) -> str:
        """The same in words: ``minor seven flat five``; ``major`` for a plain major triad."""
        words = [] if self.triad.is_suspended else [_TRIAD_WORDS[self.triad]]
        if self.major_seventh:
            words.append("major")
        if self.number:
            words.append("six nine" if self._is_six_nine else _NUMBER_WORDS[self.number])
        if self.triad.is_suspended:
            words.append(_TRIAD_WORDS[self.triad])
        if self.altered and not any(words):
            words.append("major")  # "C major flat five" is not "C flat five"
        words += [_spoken_degree(degree) for degree in self.altered]
        words += [f"add {_spoken_degree(degree)}" for degree in self._added_in_words]
        words += [f"no {_spoken_degree(degree)}" for degree in self.omitted]
        return " ".join(filter(None, words)) or "major"

    @property
    def _is_six_nine(self) -> bool:
        return self.number == 6 and "9" in self.added

    @property
    def _added_in_words(self) -> tuple[str, ...]:
        return tuple(degree for degree in self.added if not (self._is_six_nine and degree == "9"))

    def __str__(self) -> str:
        return self.symbol


@lru_cache(maxsize=512)
def _degrees(quality: Quality) -> tuple[Interval, ...]:
    """The degrees of a quality, from the root up."""
    by_number = {_plain(degree): [degree] for degree in _TRIAD_DEGREES[quality.triad].split()}
    if quality.number == 6:
        by_number["6"] = ["6"]
    elif quality.number:
        by_number["7"] = [_seventh(quality)]
        for above in range(9, quality.number + 1, 2):
            by_number[str(above)] = [str(above)]
    altered: dict[str, list[str]] = {}
    for degree in quality.altered:
        altered.setdefault(_plain(degree), []).append(degree)
    by_number |= altered
    for degree in quality.added:
        by_number.setdefault(_plain(degree), []).append(degree)
    for degree in quality.omitted:
        by_number.pop(degree, None)
    found: dict[int, Interval] = {}
    for interval in _in_order(degree for degrees in by_number.values() for degree in degrees):
        found.setdefault(interval.semitones % 12, interval)
    return tuple(found.values())


def _seventh(quality: Quality) -> str:
    if quality.major_seventh:
        return "7"
    return "bb7" if quality.triad is Triad.DIMINISHED else "b7"


def _plain(degree: str) -> str:
    """A degree without its accidentals."""
    return degree.lstrip("#b")


def _in_order(degrees: Iterable[str]) -> list[Interval]:
    return sorted(
        (Interval.of_degree(degree) for degree in degrees), key=lambda one: (one.semitones, one.steps)
    )


def _of(degrees: str) -> frozenset[Interval]:
    return frozenset(Interval.of_degree(degree) for degree in degrees.split())


def _spoken_degree(degree: str) -> str:
    sign = {"#": "sharp ", "b": "flat "}.get(degree[0], "")
    return sign + _NUMBER_WORDS[int(_plain(degree))]
