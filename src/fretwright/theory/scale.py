"""Scales as degree formulas on a tonic.

A scale kind is a row of degrees against the major scale ("1 b3 4 5 b7"); a scale is a kind on a tonic.
Spelling follows the degrees, so that the flat fifth of Gb blues is Dbb and its fourth is Cb, never B.
Degree formulas are common practice; where practice knows two (the melodic minor going down, the two
diminished scales) each has its own name here.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise
from types import MappingProxyType
from typing import Final, Self

from fretwright.base.errors import NotationError
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName, Pitch

MAX_DEGREES: Final = 12
"""No scale has more notes to the octave than the chromatic one."""

_CHROMATIC_DEGREES: Final = ("1", "b2", "2", "b3", "3", "4", "#4", "5", "b6", "6", "b7", "7")
"""How a note outside a scale is spelled from its tonic, where nothing in the scale speaks against it."""


@dataclass(frozen=True, slots=True)
class ScaleKind:
    """A scale without its tonic."""

    name: str
    """The usual name in lower case: ``minor pentatonic``."""
    aliases: tuple[str, ...]
    """Other names for the same notes, in lower case."""
    degrees: tuple[Interval, ...]
    """Each note as an interval above the tonic, from the tonic up, within one octave."""

    @classmethod
    def of_degrees(cls, text: str) -> Self:
        """A kind from degrees as a teacher writes them: ``1 b3 4 5 b7``, with commas or without.

        Raises :class:`NotationError` where a degree cannot be read, is not within one octave or comes
        twice, or where the first is not 1.
        """
        words = text.replace(",", " ").split()
        degrees = tuple(Interval.of_degree(word) for word in words[: MAX_DEGREES + 1])
        heights = [degree.semitones for degree in degrees]
        rising = all(low < high for low, high in pairwise(heights))
        valid = degrees and degrees[0] == Interval(0, 0) and rising and heights[-1] < 12
        if not valid or len(degrees) > MAX_DEGREES:
            raise NotationError(
                f'"{text}" is not a scale.',
                "Write its degrees from 1 upwards within one octave, each once, such as 1 b3 4 5 b7.",
            )
        return cls(" ".join(degree.degree for degree in degrees), (), degrees)


def _kind(name: str, degrees: str, *aliases: str) -> ScaleKind:
    return ScaleKind(name, aliases, ScaleKind.of_degrees(degrees).degrees)


SCALE_KINDS: Final[Mapping[str, ScaleKind]] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            _kind("major", "1 2 3 4 5 6 7", "ionian"),
            _kind("natural minor", "1 2 b3 4 5 b6 b7", "minor", "aeolian", "pure minor"),
            _kind("harmonic minor", "1 2 b3 4 5 b6 7"),
            _kind("melodic minor", "1 2 b3 4 5 6 7", "ascending melodic minor", "jazz minor"),
            _kind("dorian", "1 2 b3 4 5 6 b7"),
            _kind("phrygian", "1 b2 b3 4 5 b6 b7"),
            _kind("lydian", "1 2 3 #4 5 6 7"),
            _kind("mixolydian", "1 2 3 4 5 6 b7", "dominant"),
            _kind("locrian", "1 b2 b3 4 b5 b6 b7"),
            _kind("major pentatonic", "1 2 3 5 6", "pentatonic major", "pentatonic"),
            _kind("minor pentatonic", "1 b3 4 5 b7", "pentatonic minor"),
            _kind("blues", "1 b3 4 b5 5 b7", "minor blues", "blues minor"),
            _kind("major blues", "1 2 b3 3 5 6", "blues major"),
            _kind("whole tone", "1 2 3 #4 #5 b7"),
            _kind("diminished", "1 2 b3 4 b5 b6 6 7", "whole-half diminished"),
            _kind("half-whole diminished", "1 b2 b3 3 #4 5 6 b7", "dominant diminished"),
            _kind("chromatic", " ".join(_CHROMATIC_DEGREES)),
        )
    }
)
"""Every named kind, by its usual name."""


def _folded(name: str) -> str:
    """A name in lower case with single spaces for spaces and hyphens."""
    return " ".join(name.lower().replace("-", " ").split())


_BY_ANY_NAME: Final = {
    _folded(name): kind for kind in SCALE_KINDS.values() for name in (kind.name, *kind.aliases)
}
_LONGEST_NAME: Final = 40

_SCALE = re.compile(
    r"(?P<tonic>[A-Ga-g](?:[ -]?(?:sharp|flat)|[#♯b♭x𝄪]{0,2}))(?P<minor>m)?(?:[\s-]+(?P<kind>\S.*))?",
    re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale kind on a tonic."""

    tonic: NoteName
    kind: ScaleKind

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a scale: ``B minor pentatonic``, ``a natural minor``, ``F# blues``, ``G 1 b3 4 5 b7``.

        A tonic alone means its major scale, ``Am`` and ``Am pentatonic`` their minor ones, and a trailing
        "scale" may stand or not.
        Raises :class:`NotationError` where the tonic or the kind cannot be read.
        """
        match = _SCALE.fullmatch(text.strip())
        if not match:
            raise NotationError(
                f'"{text}" is not a scale.', "Write a tonic and a kind, such as B minor pentatonic."
            )
        kind = match["kind"] or ("" if match["minor"] else "major")
        return cls(NoteName.parse(match["tonic"]), scale_kind(f"minor {kind}" if match["minor"] else kind))

    @property
    def notes(self) -> tuple[NoteName, ...]:
        """The spelled notes from the tonic up, each once."""
        return tuple(self.tonic.transposed(degree) for degree in self.kind.degrees)

    @property
    def degrees(self) -> tuple[Interval, ...]:
        """The notes as intervals above the tonic."""
        return self.kind.degrees

    @property
    def name(self) -> str:
        """The scale in words, readable by :meth:`parse`: ``B minor pentatonic``."""
        return f"{self.tonic} {self.kind.name}"

    @property
    def pretty(self) -> str:
        """The scale as print sets it: ``B♭ major``."""
        return f"{self.tonic.pretty} {self.kind.name}"

    def contains(self, pitch_class: int) -> bool:
        """Whether a note of the scale sounds as this pitch class; a MIDI number will do as well."""
        return self.degree_of(pitch_class) is not None

    def degree_of(self, pitch_class: int) -> Interval | None:
        """Which degree sounds as this pitch class (or MIDI number), or None outside the scale."""
        above_tonic = (pitch_class - self.tonic.pitch_class) % 12
        return next((degree for degree in self.kind.degrees if degree.semitones == above_tonic), None)

    def spell(self, midi: int) -> Pitch:
        """The pitch of a MIDI note, spelled as the scale spells it.

        A note outside the scale is spelled as the nearest degree in common use above the tonic (b2, b3,
        #4, b6, b7 and the degrees of the major scale), or enharmonically where that would need a double
        accidental.
        """
        degree = self.degree_of(midi)
        if degree is not None:
            return Pitch.at_height(self.tonic.transposed(degree), midi)
        outside = Interval.of_degree(_CHROMATIC_DEGREES[(midi - self.tonic.pitch_class) % 12])
        name = self.tonic.transposed(outside)
        return Pitch.at_height(
            name if abs(name.alter) <= 1 else plain_name(midi, sharps=name.alter > 0), midi
        )

    def transposed(self, interval: Interval) -> "Scale":
        """The same kind on a tonic that lies ``interval`` away."""
        return Scale(self.tonic.transposed(interval), self.kind)

    def __str__(self) -> str:
        return self.name


def scale_kind(text: str) -> ScaleKind:
    """The kind that a teacher's words or degrees name; case, hyphens and a trailing "scale" don't matter.

    Raises :class:`NotationError` where nothing is so named.
    """
    words = _folded(text)
    if re.match(r"[#b♯♭]*[0-9]", words):
        given = ScaleKind.of_degrees(words)
        return next((kind for kind in SCALE_KINDS.values() if kind.degrees == given.degrees), given)
    found = _BY_ANY_NAME.get(words) or _BY_ANY_NAME.get(words.removesuffix(" scale").removesuffix(" mode"))
    if found is None:
        near = get_close_matches(words[:_LONGEST_NAME], _BY_ANY_NAME, n=1)
        mend = f"Did you mean {near[0]}? " if near else ""
        raise NotationError(
            f'"{text}" is not a scale kind.',
            f"{mend}Use one of {', '.join(SCALE_KINDS)}, or write the degrees, such as 1 b3 4 5 b7.",
        )
    return found


def plain_name(pitch_class: int, *, sharps: bool) -> NoteName:
    """The usual single-accidental name of a pitch class (or MIDI number), with sharps or with flats."""
    names = "C C# D D# E F F# G G# A A# B" if sharps else "C Db D Eb E F Gb G Ab A Bb B"
    return NoteName.parse(names.split()[pitch_class % 12])
