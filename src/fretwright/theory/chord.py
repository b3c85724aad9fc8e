"""Chords: a root, what kind of chord stands on it, and the note in the bass.

    Chord.parse("F#m7b5/A").notes   ->   F# A C E

Notes are spelled by the degrees of the chord, so that the seventh of Cdim7 is Bbb and the third of Ab
minor Cb. Symbols follow common practice; :mod:`fretwright.theory.chord_symbol` lists what is understood.
"""

import re
from dataclasses import dataclass
from typing import Final, Self

from fretwright.base.errors import NotationError
from fretwright.theory.chord_quality import Quality, Triad
from fretwright.theory.chord_symbol import LONGEST_SYMBOL, read_quality
from fretwright.theory.interval import UNISON, Interval
from fretwright.theory.pitch import NoteName, Pitch
from fretwright.theory.scale import SCALE_KINDS, Scale, plain_name

_CHORD = re.compile(
    r"(?P<root>[A-G](?:[ -]?(?:sharp|flat)|[#♯]{1,2}|[b♭]{1,2}|))"
    r"(?P<symbol>(?:[^/]|/9)*)"
    r"(?:/\s*(?P<bass>[A-G][#♯b♭]{0,2}))?",
    re.DOTALL,
)
_PRETTY: Final = str.maketrans("#b", "♯♭")
_EXAMPLES: Final = "Write a root and a kind, such as Am, G7, F#m7b5, Dsus4 or C/E."


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord as a symbol names it."""

    root: NoteName
    quality: Quality
    bass: NoteName
    """The lowest note: the root unless the symbol has a slash. It need not belong to the chord."""

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a chord symbol: ``Am``, ``F#m7b5/A``, ``Bb maj9``, ``C6/9``, ``Eø``, ``D sus4``.

        Raises :class:`NotationError` where it cannot be read, with the nearest chord where there is one.
        """
        words = text.strip()
        match = _CHORD.fullmatch(words) if len(words) <= 2 * LONGEST_SYMBOL else None
        if match is None:
            raise NotationError(f'"{words[:LONGEST_SYMBOL]}" is not a chord.', _mend(words))
        root = NoteName.parse(match["root"])
        try:
            quality = read_quality(match["symbol"].strip())
        except NotationError as error:
            guess = re.sub(r"(?<=Did you mean )(?=\S+\?)", str(root), error.mend)
            raise NotationError(
                f'"{words[:LONGEST_SYMBOL]}" is not a chord: {_lower(error.message)}', guess
            ) from None
        return cls(root, quality, NoteName.parse(match["bass"]) if match["bass"] else root)

    @classmethod
    def of(cls, root: NoteName, symbol: str = "", bass: NoteName | None = None) -> Self:
        """The chord of a root and what is written after it. Raises as :meth:`parse` does."""
        return cls(root, read_quality(symbol), bass or root)

    @property
    def degrees(self) -> tuple[Interval, ...]:
        """Every chord tone as an interval above the root, from the root up: the full stack of thirds."""
        return self.quality.degrees

    @property
    def notes(self) -> tuple[NoteName, ...]:
        """The chord tones in the order of :attr:`degrees`; a bass from outside is not among them."""
        return tuple(self.root.transposed(degree) for degree in self.degrees)

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Everything that may sound, the bass included, as 0 for C to 11 for B."""
        return frozenset(note.pitch_class for note in (*self.notes, self.bass))

    @property
    def is_slash(self) -> bool:
        """Whether another note than the root lies in the bass."""
        return self.bass != self.root

    @property
    def symbol(self) -> str:
        """The canonical name, readable by :meth:`parse`: ``F#m7b5/A``."""
        symbol = self.quality.symbol
        slash = f"/{self.bass}" if self.is_slash else ""
        return f"{self.root}{symbol}{slash}"

    @property
    def pretty(self) -> str:
        """The name as print sets it: ``F♯m7♭5/A``."""
        symbol = re.sub(r"[#b](?=\d)", lambda sign: sign[0].translate(_PRETTY), self.quality.symbol)
        slash = f"/{self.bass.pretty}" if self.is_slash else ""
        return f"{self.root.pretty}{symbol}{slash}"

    @property
    def spoken(self) -> str:
        """The name as a teacher says it: ``F sharp minor seven flat five over A``."""
        over = f" over {self.bass.spoken}" if self.is_slash else ""
        return f"{self.root.spoken} {self.quality.spoken}{over}"

    @property
    def is_power(self) -> bool:
        """Whether it is root and fifth alone."""
        return self.quality.triad is Triad.POWER

    def transposed(self, interval: Interval) -> "Chord":
        """The same kind of chord ``interval`` away, root and bass spelled by its steps."""
        return Chord(self.root.transposed(interval), self.quality, self.bass.transposed(interval))

    def degree_of(self, pitch_class: int) -> Interval | None:
        """Which chord tone sounds as this pitch class (or MIDI number), or None where none does."""
        above_root = (pitch_class - self.root.pitch_class) % 12
        return next((degree for degree in self.degrees if degree.semitones % 12 == above_root), None)

    def spell(self, midi: int) -> Pitch:
        """The pitch of a MIDI note as the chord spells it; a bass as the symbol writes it.

        Any other note is spelled as against the major scale of the root: Bb and F# over C.
        """
        degree = self.degree_of(midi)
        if degree is not None:
            return Pitch.at_height(self.root.transposed(degree), midi)
        if self.bass.pitch_class == midi % 12:
            return Pitch.at_height(self.bass, midi)
        return Scale(self.root, SCALE_KINDS["major"]).spell(midi)

    @property
    def inversion(self) -> int | None:
        """Which chord tone lies in the bass, counted from 0 for the root; None for a note from outside."""
        if not self.is_slash:
            return 0
        degree = self.degree_of(self.bass.pitch_class)
        return None if degree is None else self.degrees.index(degree)

    def __str__(self) -> str:
        return self.symbol


def simplest_root(pitch_class: int, quality: Quality) -> NoteName:
    """The root that spells a chord with the fewest accidentals: Db major, but C# minor."""
    names = dict.fromkeys(plain_name(pitch_class, sharps=sharps) for sharps in (True, False))
    return min(names, key=lambda name: _accidentals(name, quality))


def _accidentals(root: NoteName, quality: Quality) -> int:
    return sum(abs(root.transposed(degree).alter) for degree in (UNISON, *quality.degrees))


def _mend(words: str) -> str:
    """What to write instead of something that does not even start like a chord."""
    if words[:1].islower() and words[:1].upper() in "ABCDEFG":
        capital = words[:1].upper() + words[1:]
        try:
            return f"Did you mean {Chord.parse(capital)}? Write the root as a capital letter."
        except NotationError:
            return _EXAMPLES
    if words[:1] in {"H", "h"}:
        return f"Did you mean B{words[1:6]}? H is B here. {_EXAMPLES}"
    return _EXAMPLES


def _lower(message: str) -> str:
    return message[:1].lower() + message[1:]
