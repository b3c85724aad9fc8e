"""Tunings: what each string sounds when nothing stops it.

String 1 is the one that sounds highest by convention and the last string the lowest, as tab numbers
them; a reentrant tuning keeps the order of the strings on the instrument. A teacher writes a tuning by
name or by its notes from the lowest string up. Named tunings are common practice.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise
from types import MappingProxyType
from typing import Final, Self

from fretwright.base.errors import FretboardError, NotationError
from fretwright.theory.pitch import NoteName, Pitch

MIN_STRINGS: Final = 4
MAX_STRINGS: Final = 9

_NAMED: Final = (
    ("standard", "E2 A2 D3 G3 B3 E4", ("standard tuning", "standard E")),
    ("drop D", "D2 A2 D3 G3 B3 E4", ()),
    ("double drop D", "D2 A2 D3 G3 B3 D4", ()),
    ("drop C", "C2 G2 C3 F3 A3 D4", ()),
    ("drop C#", "C#2 G#2 C#3 F#3 A#3 D#4", ("drop Db",)),
    ("DADGAD", "D2 A2 D3 G3 A3 D4", ()),
    ("open G", "D2 G2 D3 G3 B3 D4", ()),
    ("open D", "D2 A2 D3 F#3 A3 D4", ()),
    ("open E", "E2 B2 E3 G#3 B3 E4", ()),
    ("open A", "E2 A2 E3 A3 C#4 E4", ()),
    ("open D minor", "D2 A2 D3 F3 A3 D4", ("open Dm",)),
    ("open E minor", "E2 B2 E3 G3 B3 E4", ("open Em",)),
    ("open C", "C2 G2 C3 G3 C4 E4", ()),
    ("half step down", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4", ("half a step down", "Eb standard")),
    ("whole step down", "D2 G2 C3 F3 A3 D4", ("a whole step down", "full step down", "D standard")),
    ("all fourths", "E2 A2 D3 G3 C4 F4", ()),
    ("baritone", "B1 E2 A2 D3 F#3 B3", ()),
    ("bass", "E1 A1 D2 G2", ("4-string bass", "four-string bass")),
    ("5-string bass", "B0 E1 A1 D2 G2", ("five-string bass", "bass 5")),
    ("7-string", "B1 E2 A2 D3 G3 B3 E4", ("seven-string",)),
    ("8-string", "F#1 B1 E2 A2 D3 G3 B3 E4", ("eight-string",)),
    ("9-string", "C#1 F#1 B1 E2 A2 D3 G3 B3 E4", ("nine-string",)),
    ("GCEA", "G4 C4 E4 A4", ()),
)
"""Usual name, notes from the lowest string up, other names."""

_STANDARD_BY_COUNT: Final = {
    4: "bass",
    5: "5-string bass",
    6: "standard",
    7: "7-string",
    8: "8-string",
    9: "9-string",
}
"""The tuning that notes given without octaves are read against, by number of strings."""

_LONGEST_NAME: Final = 40
_RUN_OF_NAMES = re.compile(r"(?:[A-Ga-g][#♯b♭]?){4,9}")
_ONE_NAME = re.compile(r"[A-Ga-g][#♯b♭]?")


@dataclass(frozen=True, slots=True)
class Tuning:
    """The open strings of an instrument."""

    name: str
    """The usual name, or the notes from the lowest string up where there is none."""
    open_pitches: tuple[Pitch, ...]
    """Open strings in order of their number: index 0 is string 1."""

    def __post_init__(self) -> None:
        count = len(self.open_pitches)
        if not MIN_STRINGS <= count <= MAX_STRINGS:
            raise FretboardError(
                f"A tuning of {count} strings cannot be used.",
                f"Give from {MIN_STRINGS} to {MAX_STRINGS} strings, from the lowest up.",
            )

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a tuning: ``standard``, ``drop D``, ``DADGAD``, ``E2 A2 D3 G3 B3 E4``, ``C G C F A D``.

        Notes run from the lowest string up. Without octaves the strings rise (or repeat) and lie as
        near as they can to the standard tuning of as many strings; a reentrant tuning is therefore
        written with octaves.
        Raises :class:`NotationError` where the text is neither a name nor notes, and
        :class:`FretboardError` where there are too few or too many strings.
        """
        words = text.replace(",", " ").split()
        named = TUNINGS.get(_BY_ANY_NAME.get(_folded(text), ""))
        if named is not None:
            return cls(named.name, named.open_pitches)
        if len(words) == 1 and _RUN_OF_NAMES.fullmatch(words[0]):
            words = list(words[0].upper() if words[0].islower() else _ONE_NAME.findall(words[0]))
        pitches = _pitches_from_lowest(words)
        if pitches is None:
            near = get_close_matches(_folded(text)[:_LONGEST_NAME], _BY_ANY_NAME, n=1)
            guess = f"Did you mean {_BY_ANY_NAME[near[0]]}? " if near else ""
            raise NotationError(
                f'"{text}" is not a tuning.',
                f"{guess}Use one of {', '.join(TUNINGS)}, or write the notes from the lowest string up, "
                "such as D A D G A D or E2 A2 D3 G3 B3 E4.",
            )
        return cls.of_pitches(reversed(pitches))

    @classmethod
    def of_pitches(cls, open_pitches: Iterable[Pitch]) -> Self:
        """A tuning from its open strings, string 1 first, under its usual name where it has one."""
        pitches = tuple(open_pitches)
        notes = " ".join(str(pitch) for pitch in reversed(pitches))
        known = next((tuning.name for tuning in TUNINGS.values() if tuning.open_pitches == pitches), notes)
        return cls(known, pitches)

    @property
    def string_count(self) -> int:
        """How many strings there are."""
        return len(self.open_pitches)

    @property
    def strings(self) -> range:
        """String numbers from 1, the highest."""
        return range(1, len(self.open_pitches) + 1)

    @property
    def notes(self) -> str:
        """The open strings from the lowest up, readable by :meth:`parse`: ``E2 A2 D3 G3 B3 E4``."""
        return " ".join(str(pitch) for pitch in reversed(self.open_pitches))

    @property
    def is_reentrant(self) -> bool:
        """Whether some string sounds lower than the one numbered after it."""
        heights = [pitch.midi for pitch in self.open_pitches]
        return any(above < below for above, below in pairwise(heights))

    def open_pitch(self, string: int) -> Pitch:
        """What a string sounds open. Raises :class:`FretboardError` where there is no such string."""
        if string not in self.strings:
            raise FretboardError(
                f"There is no string {string} in a tuning of {self.string_count} strings.",
                f"Use a string from 1, the highest, to {self.string_count}.",
            )
        return self.open_pitches[string - 1]

    def __str__(self) -> str:
        return self.name


def _folded(name: str) -> str:
    """A name without case, spaces and hyphens."""
    return re.sub(r"[\s_-]+", "", name).lower().removesuffix("tuning")


def _pitches_from_lowest(words: Sequence[str]) -> list[Pitch] | None:
    """Open strings from the lowest up, from notes that all have octaves or all have none."""
    if not words:
        return None
    try:
        if words[0][-1].isdigit():
            return [Pitch.parse(word) for word in words[: MAX_STRINGS + 1]]
        names = [NoteName.parse(word) for word in words[: MAX_STRINGS + 1]]
    except NotationError:
        return None
    if len(names) not in _STANDARD_BY_COUNT:
        return [Pitch(name, 2) for name in names]
    reference = TUNINGS[_STANDARD_BY_COUNT[len(names)]].open_pitches[::-1]
    return _nearest_rising(names, [pitch.midi for pitch in reference])


def _nearest_rising(names: Sequence[NoteName], reference: Sequence[int]) -> list[Pitch]:
    """Octaves for ``names`` that never fall and stay nearest in all to ``reference`` (exact search)."""
    best: list[tuple[int, list[Pitch]]] = [(0, [])]
    for name, target in zip(names, reference, strict=True):
        candidates = [Pitch(name, octave) for octave in range(9)]
        extended = []
        for pitch in candidates:
            before = [(cost, row) for cost, row in best if not row or row[-1].midi <= pitch.midi]
            if before:
                cost, row = min(before, key=lambda entry: entry[0])
                extended.append((cost + abs(pitch.midi - target), [*row, pitch]))
        best = extended
    return min(best, key=lambda entry: entry[0])[1]


TUNINGS: Final[Mapping[str, Tuning]] = MappingProxyType(
    {
        name: Tuning(name, tuple(Pitch.parse(word) for word in reversed(notes.split())))
        for name, notes, _ in _NAMED
    }
)
"""Every named tuning, by its usual name."""

_BY_ANY_NAME: Final = {_folded(alias): name for name, _, aliases in _NAMED for alias in (name, *aliases)}

STANDARD: Final = TUNINGS["standard"]
