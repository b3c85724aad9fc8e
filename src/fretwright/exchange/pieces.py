"""Written signs in the order a file holds them: what sounds together, voice by voice.

A score whose columns share one value has one voice. Where notes of different values overlap, each sign goes
to the first voice that is free.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from fretwright.score.heads import Head, heads_of
from fretwright.score.note import Rest
from fretwright.score.score import Bar, Score
from fretwright.score.values import Value


def id_of(head: Head) -> str:
    """The note's id for its first head; later heads count up: ``b1t0s6.2``."""
    return f"{head.note.id}.{head.index + 1}" if head.is_held else head.note.id


@dataclass(frozen=True, slots=True)
class Piece:
    """Heads of one value that start together, or a rest."""

    start: Fraction
    """Written time in whole notes."""
    value: Value
    heads: tuple[Head, ...]
    """From the lowest string up; empty for a rest."""
    rest: Rest | None = None

    @property
    def end(self) -> Fraction:
        """Written time at which it ends."""
        return self.start + self.value.duration


Voice = tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class BarOfVoices:
    """One bar's signs."""

    bar: Bar
    voices: tuple[Voice, ...]
    """At least one, the upper before the lower; no two pieces of a voice overlap."""


def bars_of_voices(score: Score) -> tuple[BarOfVoices, ...]:
    """The signs of every bar, each in its voice."""
    upper = _by_bars(_pieces(score, 1), score.bars)
    lower = _by_bars(_pieces(score, 2), score.bars)
    has_lower = any(lower)
    return tuple(
        BarOfVoices(bar, (*(_voices(above) or ((),)), *(_voices(below) or ((),) if has_lower else ())))
        for bar, above, below in zip(score.bars, upper, lower, strict=True)
    )


def _by_bars(pieces: Sequence[Piece], bars: Sequence[Bar]) -> list[Sequence[Piece]]:
    found: list[Sequence[Piece]] = []
    first = 0
    for bar in bars:
        after = first
        while after < len(pieces) and pieces[after].start < bar.end:
            after += 1
        found.append(pieces[first:after])
        first = after
    return found


def _pieces(score: Score, voice: int) -> list[Piece]:
    """All signs of a voice in order of time, the longer first of those that start together."""
    together: dict[tuple[Fraction, Value], list[Head]] = {}
    for note in score.notes:
        if note.voice != voice:
            continue
        for at, head in heads_of(note):
            together.setdefault((at, head.value), []).append(head)
    pieces = [
        Piece(at, value, tuple(sorted(heads, key=lambda head: -head.note.string)))
        for (at, value), heads in together.items()
    ]
    pieces += [Piece(rest.onset, rest.value, (), rest) for rest in score.rests if rest.voice == voice]
    return sorted(pieces, key=lambda piece: (piece.start, -piece.value.duration))


def _voices(pieces: Sequence[Piece]) -> tuple[Voice, ...]:
    voices: list[list[Piece]] = []
    for piece in pieces:
        free = next((voice for voice in voices if not voice or voice[-1].end <= piece.start), None)
        if free is None:
            free = []
            voices.append(free)
        free.append(piece)
    return tuple(tuple(voice) for voice in voices)


def tuplet_groups(voice: Voice) -> tuple[tuple[int, int], ...]:
    """First and last index of the pieces under each tuplet number of a voice.

    A group ends as soon as its notes fill a time that plain values could fill as well.
    """
    groups: list[tuple[int, int]] = []
    first: int | None = None
    filled = Fraction(0)
    for index, piece in enumerate(voice):
        if piece.value.tuplet is None:
            first = None
            continue
        if first is None or voice[index - 1].value.tuplet != piece.value.tuplet:
            first, filled = index, Fraction(0)
        filled += piece.value.duration
        is_last = index + 1 == len(voice) or voice[index + 1].value.tuplet != piece.value.tuplet
        if is_last or is_binary(filled):
            groups.append((first, index))
            first = None
    return tuple(groups)


def is_binary(time: Fraction) -> bool:
    """Whether plain and dotted values can write a time: its denominator is a power of two."""
    return time.denominator & (time.denominator - 1) == 0
