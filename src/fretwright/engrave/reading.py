"""From a score to what stands on the page: written heads in columns, bar by bar.

Enters: a score, whose notes last as long as they sound. Leaves: for each bar its columns, in which a tied
note stands once for each of its written values. One voice: all heads of a column share one value.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from fretwright.base.errors import RenderError
from fretwright.score.note import Note
from fretwright.score.score import Bar, Score
from fretwright.score.values import WHOLE, Value


@dataclass(frozen=True, slots=True)
class Head:
    """One written note head."""

    note: Note
    index: int
    """Which of the note's tied values it writes; 0 is the one that is struck."""

    @property
    def is_tied_on(self) -> bool:
        """Whether another head of the same note follows."""
        return self.index + 1 < len(self.note.values)

    @property
    def is_held(self) -> bool:
        """Whether it goes on from a head before it and is not struck."""
        return self.index > 0


@dataclass(frozen=True, slots=True)
class Column:
    """What stands at one moment: heads that sound together, or a rest."""

    at: Fraction
    """Written time in whole notes."""
    offset: Fraction
    """The same, counted from its bar's start."""
    value: Value
    heads: tuple[Head, ...]
    """From the lowest string up; empty for a rest."""
    fills_bar: bool = False
    """A rest that lasts the whole bar: drawn as a whole rest in the bar's middle."""

    @property
    def is_rest(self) -> bool:
        """Whether nothing sounds."""
        return not self.heads

    @property
    def key(self) -> Fraction:
        """What tells it from every other column of the score."""
        return self.at


@dataclass(frozen=True, slots=True)
class BarOfColumns:
    """One bar as it will stand on the page."""

    bar: Bar
    index: int
    """Place in the score, from 0."""
    columns: tuple[Column, ...]

    def gap_after(self, place: int) -> Fraction:
        """Time from a column to the next one, or to the bar's end."""
        following = self.columns[place + 1].at if place + 1 < len(self.columns) else self.bar.end
        return following - self.columns[place].at


def read(score: Score) -> tuple[BarOfColumns, ...]:
    """All bars of a score with their columns.

    Raises :class:`RenderError` where notes that start together are written with different values: a
    second voice cannot be set.
    """
    rests = {rest.onset: rest.value for rest in score.rests}
    heads: dict[Fraction, list[tuple[Head, Value]]] = {}
    for note in score.notes:
        for at, head, value in _heads_of(note):
            heads.setdefault(at, []).append((head, value))
    times = sorted({*rests, *heads})
    bars: list[BarOfColumns] = []
    position = 0
    for index, bar in enumerate(score.bars):
        first = position
        while position < len(times) and times[position] < bar.end:
            position += 1
        columns = tuple(_column(at, bar, heads.get(at, []), rests.get(at)) for at in times[first:position])
        bars.append(BarOfColumns(bar, index, columns))
    return tuple(bars)


def _heads_of(note: Note) -> Iterator[tuple[Fraction, Head, Value]]:
    at = note.onset
    for index, value in enumerate(note.values):
        yield at, Head(note, index), value
        at += value.duration


def _column(at: Fraction, bar: Bar, heads: list[tuple[Head, Value]], rest: Value | None) -> Column:
    if not heads and rest is not None:
        fills = rest.duration == bar.length and at == bar.start
        return Column(at, at - bar.start, WHOLE if fills else rest, (), fills)
    values = {value for _, value in heads}
    if len(values) > 1:
        raise RenderError(
            f"Notes that start together in bar {bar.number} are written with different values.",
            "Give all notes of a column the same value.",
        )
    ordered = sorted((head for head, _ in heads), key=lambda head: -head.note.string)
    return Column(at, at - bar.start, values.pop(), tuple(ordered))
