"""From a score to what stands on the page: written heads in columns, bar by bar.

Enters: a score, whose notes last as long as they sound. Leaves: for each bar its columns, in which a tied
note stands once for each of its written values. One voice: all heads of a column share one value.
"""

from dataclasses import dataclass
from fractions import Fraction

from fretwright.base.errors import RenderError
from fretwright.score.heads import Head, heads_of
from fretwright.score.score import Bar, Score
from fretwright.score.values import WHOLE, Value


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
    heads: dict[Fraction, list[Head]] = {}
    for note in score.notes:
        for at, head in heads_of(note):
            heads.setdefault(at, []).append(head)
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


def _column(at: Fraction, bar: Bar, heads: list[Head], rest: Value | None) -> Column:
    if not heads and rest is not None:
        fills = rest.duration == bar.length and at == bar.start
        return Column(at, at - bar.start, WHOLE if fills else rest, (), fills)
    values = {head.value for head in heads}
    if len(values) > 1:
        raise RenderError(
            f"Notes that start together in bar {bar.number} are written with different values.",
            "Give all notes of a column the same value.",
        )
    ordered = sorted(heads, key=lambda head: -head.note.string)
    return Column(at, at - bar.start, values.pop(), tuple(ordered))
