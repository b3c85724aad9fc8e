"""Reading what stands after a chord's root: ``m7b5``, ``maj9(#11)``, ``7sus4``, ``6/9``, ``ø``, ``Δ7``.

A symbol is read from left to right: the triad, ``maj``, the number, then any of suspensions, alterations,
additions and omissions, in any order and with or without brackets and commas. Practice writes the same
chord in many ways; all that are unambiguous are understood and come out as one :class:`Quality`. What
two musicians would play differently is refused with what to write instead.
"""

import re
from collections.abc import Iterable
from difflib import get_close_matches
from functools import lru_cache
from typing import Final

from fretwright.base.errors import NotationError
from fretwright.theory.chord_quality import Quality, Triad
from fretwright.theory.interval import Interval

LONGEST_SYMBOL: Final = 40

COMMON_SYMBOLS: Final = (
    "", "m", "5", "7", "m7", "maj7", "6", "m6", "69", "m69", "sus2", "sus4", "7sus4", "9sus4", "13sus4",
    "sus2sus4", "add9", "madd9", "add11", "dim", "dim7", "m7b5", "aug", "7#5", "7b5", "9", "m9", "maj9",
    "11", "m11", "maj11", "13", "m13", "maj13", "7b9", "7#9", "7#11", "7b13", "9#11", "13b9", "13#11",
    "7#5#9", "7b5b9", "7#5b9", "7b9#11", "maj7#11", "maj9#11", "maj7#5", "m(maj7)", "m(maj9)", "m7add11",
    "(b5)", "9b5", "9#5", "m9b5", "6add11", "7sus2", "maj7sus4", "add#11", "maj7b5", "m#5", "m7#5",
)  # fmt: skip
"""The symbols that a guitarist meets, roughly from the most common on; each is its own canonical form."""

_TRIAD = re.compile(
    r"(?P<half>half-?dim(?:inished)?7?|ø7?)|(?P<dim>dim(?:inished)?|°|o(?!m))|(?P<aug>aug(?:mented)?|\+(?!5|9|11|13))"
    r"|(?P<minor>minor|min|mi(?!a)|m(?!a(?!d))|-(?!5))"
)
_MAJOR = re.compile(r"major|maj|ma|M")
_NUMBER = re.compile(r"6/9|69|13|11|9|7|6|5")
_GAP = re.compile(r"[(),\s]*")
_MODIFIER = re.compile(
    r"sus(?P<sus>24|2sus4|4sus2|2|4|)(?![0-9])"
    r"|(?P<alter>[#b+-](?:5|9|11|13))"
    r"|add\s?(?P<add>[#b]?(?:2|4|6|9|11|13))"
    r"|(?:no|omit)\s?(?P<no>3|5|9|11)"
    r"|(?P<late>maj7|ma7|M7)"
    r"|(?P<aug>aug|\+)"
)
_FOLD: Final = str.maketrans({"♯": "#", "♭": "b", "Ø": "ø", "º": "°", "−": "-", "–": "-", "△": "Δ"})
_OCTAVE_UP: Final = {"2": "9", "4": "11", "6": "13"}
_SUS: Final = {
    "": Triad.SUS4, "2": Triad.SUS2, "4": Triad.SUS4,
    "24": Triad.SUS24, "2sus4": Triad.SUS24, "4sus2": Triad.SUS24,
}  # fmt: skip
_AMBIGUOUS: Final = {
    "2": "Write sus2 where the second stands for the third, add9 where it comes to it.",
    "4": "Write sus4 where the fourth stands for the third, add11 where it comes to it.",
    "alt": "Write out what is altered, such as 7#5#9 or 7b5b9.",
    "7alt": "Write out what is altered, such as 7#5#9 or 7b5b9.",
}


class _Unread(Exception):  # noqa: N818 - a signal inside this module, never seen outside
    """The text goes on with something that is no part of a symbol, or parts that contradict each other."""


@lru_cache(maxsize=1024)
def read_quality(text: str) -> Quality:
    """The quality that the text after a root names.

    Raises :class:`NotationError` where it is no chord symbol, with the nearest one where there is one.
    """
    plain = (
        text.translate(_FOLD).replace("Δ7", "maj7").replace("Δ", "maj7" if _delta_is_seventh(text) else "maj")
    )
    if plain in _AMBIGUOUS:
        raise NotationError(f'"{text}" can be read in two ways.', _AMBIGUOUS[plain])
    try:
        return _Reading(plain).quality() if len(plain) <= LONGEST_SYMBOL else _refuse()
    except _Unread:
        near = get_close_matches(plain[:LONGEST_SYMBOL], COMMON_SYMBOLS[1:], n=1, cutoff=0.5)
        guess = f"Did you mean {near[0]}? " if near else ""
        raise NotationError(
            f'"{text[:LONGEST_SYMBOL]}" is not a kind of chord.',
            f"{guess}Write it like m, 7, maj7, m7b5, sus4, add9, 6, dim7, 9 or 7#9 after the root.",
        ) from None


def _delta_is_seventh(text: str) -> bool:
    """Whether a triangle stands alone, which means the major seventh; before a number it says major."""
    return not re.search(r"[Δ△]\s*\(?(?:9|11|13)", text)


def _refuse() -> Quality:
    raise _Unread


class _Reading:
    """One symbol on its way from text to parts."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._triad = Triad.MAJOR
        self._number = 0
        self._major_seventh = False
        self._altered: set[str] = set()
        self._added: set[str] = set()
        self._omitted: set[str] = set()

    def quality(self) -> Quality:
        """Read it all and bring the parts into their usual form."""
        if self._text.count("(") != self._text.count(")"):
            raise _Unread
        self._read_triad()
        self._read_number()
        while self._at < len(self._text):
            self._read_modifier()
        return self._normal()

    def _take(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        gap = _GAP.match(self._text, self._at)
        start = gap.end() if gap else self._at
        match = pattern.match(self._text, start)
        if match:
            self._at = match.end()
        elif start == len(self._text):
            self._at = start
        return match

    def _read_triad(self) -> None:
        match = self._take(_TRIAD)
        if match is None:
            return
        kind = match.lastgroup or ""
        self._triad = {
            "half": Triad.MINOR, "dim": Triad.DIMINISHED, "aug": Triad.AUGMENTED, "minor": Triad.MINOR,
        }[kind]  # fmt: skip
        if kind == "half":
            self._number = 7
            self._altered.add("b5")

    def _read_number(self) -> None:
        major = self._take(_MAJOR)
        match = self._take(_NUMBER)
        if major and not match:
            if self._triad is not Triad.MAJOR:
                raise _Unread
            return
        if not match:
            return
        number = match[0]
        if number == "5":
            if self._triad is not Triad.MAJOR or major:
                raise _Unread
            self._triad = Triad.POWER
        elif number in {"69", "6/9"}:
            self._number = 6
            self._added.add("9")
        else:
            self._number = int(number)
        if major and self._number < 7:
            if self._triad is not Triad.MAJOR:
                raise _Unread
        else:
            self._major_seventh = bool(major)

    def _read_modifier(self) -> None:
        match = self._take(_MODIFIER)
        if match is None:
            if self._at == len(self._text):
                return
            raise _Unread
        kind, word = match.lastgroup, match[match.lastgroup or 0]
        if kind == "sus":
            if self._triad is not Triad.MAJOR:
                raise _Unread
            self._triad = _SUS[word]
        elif kind == "alter":
            self._altered.add(word.replace("+", "#").replace("-", "b"))
        elif kind == "add":
            plain = word.lstrip("#b")
            self._added.add(word.removesuffix(plain) + _OCTAVE_UP.get(plain, plain))
        elif kind == "no":
            self._omitted.add(word)
        elif kind == "late":
            if self._number:
                raise _Unread
            self._number, self._major_seventh = 7, True
        else:
            self._altered.add("#5")

    def _normal(self) -> Quality:
        """The parts in their usual form: one quality for one chord."""
        self._fold_added()
        if self._triad is Triad.AUGMENTED and (self._number or self._altered or self._added):
            self._triad = Triad.MAJOR
            self._altered.add("#5")
        if not self._number and self._altered == {"#5"} and self._triad is Triad.MAJOR:
            self._triad, self._altered = Triad.AUGMENTED, set()
        if not self._number and self._altered == {"b5"} and self._triad is Triad.MINOR:
            self._triad, self._altered = Triad.DIMINISHED, set()
        if self._is_bare_fifth():
            self._triad, self._omitted = Triad.POWER, set()
        self._refuse_contradictions()
        return Quality(
            self._triad,
            self._number,
            self._major_seventh,
            _sorted(self._altered),
            _sorted(self._added),
            _sorted(self._omitted),
        )

    def _fold_added(self) -> None:
        """An added degree that a number or a suspension would name is named so."""
        if not self._number and "13" in self._added and "9" in self._added and len(self._added) == 2:
            self._number = 6
            self._added.discard("13")
        self._added -= {str(above) for above in range(9, self._number + 1, 2)}
        if self._triad is Triad.SUS4 and not self._number and self._added == {"9"}:
            self._triad, self._added = Triad.SUS24, set()

    def _is_bare_fifth(self) -> bool:
        plain = self._triad in {Triad.MAJOR, Triad.MINOR} and not self._number
        return plain and self._omitted == {"3"} and not self._altered and not self._added

    def _refuse_contradictions(self) -> None:
        if self._triad is Triad.POWER and (self._number or self._altered or self._added or self._omitted):
            raise _Unread
        if not self._number and any(degree.lstrip("#b") != "5" for degree in self._altered):
            raise _Unread  # with the seventh or without? 7b9 and addb9 say it
        third_or_fifth_gone = self._triad in {Triad.DIMINISHED, Triad.AUGMENTED} or self._triad.is_suspended
        if "3" in self._omitted and third_or_fifth_gone:
            raise _Unread
        if "5" in self._omitted and (self._altered & {"b5", "#5"} or self._triad is Triad.DIMINISHED):
            raise _Unread
        if self._triad is Triad.DIMINISHED and self._altered & {"b5", "#5"}:
            raise _Unread


def _sorted(degrees: Iterable[str]) -> tuple[str, ...]:
    return tuple(
        sorted(degrees, key=lambda degree: (len(degree.lstrip("#b")), Interval.of_degree(degree).semitones))
    )
