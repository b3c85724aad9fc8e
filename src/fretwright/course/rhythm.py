"""The row of rhythm letters.

A value is a letter (w whole, h half, q quarter, e eighth, s sixteenth, t thirty-second), a dot or two after
it, 3 for a note of a triplet, and r before it for a rest. ``+`` after a value ties it to the next one, which
then starts no note of its own. Bar lines may stand between the values.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from fretwright.base.spans import Span
from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook, quoted
from fretwright.score.values import TRIPLET, Value, value_of

LETTERS: Final = {
    "w": Fraction(1), "h": Fraction(1, 2), "q": Fraction(1, 4),
    "e": Fraction(1, 8), "s": Fraction(1, 16), "t": Fraction(1, 32),
}  # fmt: skip

MOST_SIGNS: Final = 4000
"""No exercise has more notes and rests."""

_PAUSE: Final = "."
_SIGN = re.compile(
    r"(?P<bar>\|+)|(?P<rest>r?)(?P<letter>[whqest])(?P<dots>\.{0,2})(?P<triplet>3?)(?P<tie>\+?)"
)
_NOTE_WORDS: Final = {
    "wholes": Value(Fraction(1)),
    "whole notes": Value(Fraction(1)),
    "halves": Value(Fraction(1, 2)),
    "half notes": Value(Fraction(1, 2)),
    "quarters": Value(Fraction(1, 4)),
    "eighths": Value(Fraction(1, 8)),
    "sixteenths": Value(Fraction(1, 16)),
    "thirty-seconds": Value(Fraction(1, 32)),
    "triplets": Value(Fraction(1, 8), 0, TRIPLET),
    "quarter triplets": Value(Fraction(1, 4), 0, TRIPLET),
    "sixteenth triplets": Value(Fraction(1, 16), 0, TRIPLET),
    "dotted quarters": Value(Fraction(1, 4), 1),
    "dotted eighths": Value(Fraction(1, 8), 1),
    "dotted halves": Value(Fraction(1, 2), 1),
}
NOTE_WORDS: Final = tuple(_NOTE_WORDS)


@dataclass(frozen=True, slots=True)
class Sign:
    """One written value of the row."""

    value: Value
    is_rest: bool
    span: Span
    bar: int = 0
    """Bar lines of the row that stand before it."""


@dataclass(frozen=True, slots=True)
class Beat:
    """One thing that happens: a note with the values tied to it, or a rest."""

    signs: tuple[Sign, ...]

    @property
    def is_rest(self) -> bool:
        """Whether nothing is played."""
        return self.signs[0].is_rest

    @property
    def values(self) -> tuple[Value, ...]:
        """The written values, tied together."""
        return tuple(sign.value for sign in self.signs)


@dataclass(frozen=True, slots=True)
class Row:
    """A whole row."""

    beats: tuple[Beat, ...]
    bars: int
    """How many bars its bar lines make; 0 where it has none."""

    @property
    def length(self) -> Fraction:
        """Sum of all values in whole notes."""
        return sum((value.duration for beat in self.beats for value in beat.values), Fraction(0))

    @property
    def notes(self) -> tuple[Beat, ...]:
        """The beats that are no rests."""
        return tuple(beat for beat in self.beats if not beat.is_rest)


def read_rhythm(entry: Entry | None, notebook: Notebook, *, may_pause: bool = False) -> Row | None:
    """A row of rhythm letters, or None with findings where it cannot be read.

    Where it ``may_pause``, a dot alone stands for a bar in which the voice is not written at all.
    """
    if entry is None or entry.is_empty:
        return None
    signs: list[tuple[Sign, bool]] = []
    bar, last, is_sound = 0, 0, True
    has_begun = False
    words = entry.words()
    if len(words) > MOST_SIGNS:
        message = f"The row has more than {MOST_SIGNS} values."
        notebook.error("exercise-too-long", entry.span, message, 'Shorten it and use "repeat".')
        return None
    for word in words:
        if may_pause and word.text == _PAUSE:
            has_begun, last = True, bar
            continue
        for match, span in _signs_in(word):
            if match is None:
                is_sound = _refuse(span, notebook)
            elif match["bar"]:
                bar += has_begun
            else:
                has_begun, last = True, bar
                signs.append((_sign(match, span, bar), bool(match["tie"])))
    if not is_sound or not signs:
        if is_sound:
            _refuse(entry.span, notebook)
        return None
    beats = tuple(_beats(signs, notebook))
    return Row(beats, last + 1 if bar else 0)


def _signs_in(word: Span) -> Iterator[tuple[re.Match[str] | None, Span]]:
    """The signs of one word; what is none comes with None."""
    at = 0
    while at < len(word.text):
        match = _SIGN.match(word.text, at)
        if match is None or not match[0]:
            yield None, word.moved(at, word.text[at:])
            return
        yield match, word.moved(at, match[0])
        at = match.end()


def _refuse(span: Span, notebook: Notebook) -> bool:
    message = f"{quoted(span.text)} is no note value."
    mend = "Use the letters w h q e s t, a dot or a 3 after them, r before them for a rest: q e. s re e3."
    notebook.error("bad-rhythm", span, message, mend)
    return False


def _sign(match: re.Match[str], span: Span, bar: int) -> Sign:
    tuplet = TRIPLET if match["triplet"] else None
    value = Value(LETTERS[match["letter"]], len(match["dots"]), tuplet)
    return Sign(value, bool(match["rest"]), span, bar)


def _beats(signs: Sequence[tuple[Sign, bool]], notebook: Notebook) -> Iterator[Beat]:
    held: list[Sign] = []
    for sign, ties_on in signs:
        if sign.is_rest and (ties_on or held):
            message = f"{quoted(sign.span.text)} is a rest, and a rest cannot be tied."
            notebook.error("tie-without-note", sign.span, message, "Delete the + before or after it.")
            ties_on = False  # noqa: PLW2901 - read on as if the + were not there
        held.append(sign)
        if not ties_on:
            yield Beat(tuple(held))
            held = []
    if held:
        last = held[-1].span
        message = f"{quoted(last.text)} is tied to nothing: the row ends after it."
        notebook.error(
            "tie-without-note", last, message, "Write the value that it is tied to, or delete the +."
        )
        yield Beat(tuple(held))


def value_of_words(text: str) -> Value | None:
    """What a teacher's word for a note value stands for: ``eighths``, ``triplets``."""
    words = " ".join(text.lower().split())
    return _NOTE_WORDS.get(words) or _NOTE_WORDS.get(words.removesuffix(" notes") + "s")


def in_words(length: Fraction) -> str:
    """A length of time as a teacher says it: ``an eighth``, ``5 sixteenths``."""
    value = value_of(length)
    if value is not None:
        return f"{'an' if value.name[0] in 'aeiou' else 'a'} {value.name}"
    for unit, name in ((4, "quarters"), (8, "eighths"), (16, "sixteenths"), (32, "thirty-seconds"),
                       (12, "triplet eighths"), (24, "triplet sixteenths")):  # fmt: skip
        if (length * unit).denominator == 1:
            count = int(length * unit)
            return f"{count} {name}" if count > 1 else f"one {name[:-1]}"
    return f"{length} of a whole note"


def letters_of(value: Value, *, is_rest: bool = False) -> str:
    """A value as the row writes it; raises ``KeyError`` for one that has no letter."""
    letter = {length: letter for letter, length in LETTERS.items()}[value.base]
    return f"{'r' * is_rest}{letter}{'.' * value.dots}{'3' if value.tuplet else ''}"


def value_of_letters(text: str) -> Value | None:
    """One value as the row writes it, or None for what is no note value: ``e3``, ``q.``."""
    match = _SIGN.fullmatch(text.lower())
    if match is None or not match["letter"] or match["rest"] or match["tie"]:
        return None
    return Value(LETTERS[match["letter"]], len(match["dots"]), TRIPLET if match["triplet"] else None)
