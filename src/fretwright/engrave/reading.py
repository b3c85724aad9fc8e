"""From a score to what stands on the page: written heads in columns, bar by bar and voice by voice.

Enters: a score, whose notes last as long as they sound. Leaves: for each bar its moments, at each of which
one or two columns stand, one for each voice that starts something there; a tied note stands once for each of
its written values. All heads of a column share one value.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from fretwright.base.errors import RenderError
from fretwright.score.heads import Head, heads_of
from fretwright.score.score import Bar, Score, Writing
from fretwright.score.values import WHOLE, Value


@dataclass(frozen=True, slots=True)
class Column:
    """What one voice has at one moment: heads that sound together, or a rest."""

    at: Fraction
    """Written time in whole notes."""
    offset: Fraction
    """The same, counted from its bar's start."""
    value: Value
    heads: tuple[Head, ...]
    """From the lowest string up; empty for a rest."""
    fills_bar: bool = False
    """A rest that lasts the whole bar: drawn as a whole rest in the bar's middle."""
    voice: int = 1

    @property
    def is_rest(self) -> bool:
        """Whether nothing sounds."""
        return not self.heads

    @property
    def key(self) -> "ColumnKey":
        """What tells it from every other column of the score."""
        return self.voice, self.at


ColumnKey = tuple[int, Fraction]
"""Voice and written time of a column."""


@dataclass(frozen=True, slots=True)
class BarOfColumns:
    """One voice's part of a bar."""

    bar: Bar
    index: int
    """Place in the score, from 0."""
    columns: tuple[Column, ...]
    voice: int = 1


@dataclass(frozen=True, slots=True)
class Moment:
    """Everything that starts at one time and stands on one axis."""

    at: Fraction
    """Written time in whole notes."""
    columns: tuple[Column, ...]
    """The upper voice's first; empty for a beat of a chart that has no notes."""

    @property
    def heads(self) -> tuple[Head, ...]:
        """The heads of all voices from the lowest string up."""
        if len(self.columns) == 1:
            return self.columns[0].heads
        heads = [head for column in self.columns for head in column.heads]
        return tuple(sorted(heads, key=lambda head: -head.note.string))

    @property
    def fills_bar(self) -> bool:
        """Whether a rest in the bar's middle is all there is."""
        return bool(self.columns) and all(column.fills_bar for column in self.columns)

    @property
    def is_rest(self) -> bool:
        """Whether nothing sounds in any voice."""
        return not any(column.heads for column in self.columns)


@dataclass(frozen=True, slots=True)
class BarOfMoments:
    """One bar as it will stand on the page."""

    bar: Bar
    index: int
    """Place in the score, from 0."""
    moments: tuple[Moment, ...]
    voices: tuple[BarOfColumns, ...]
    """One or two, the upper first."""

    @property
    def is_shared(self) -> bool:
        """Whether two voices stand in it."""
        return len(self.voices) > 1

    def gap_after(self, place: int) -> Fraction:
        """Time from a moment to the next one, or to the bar's end."""
        following = self.moments[place + 1].at if place + 1 < len(self.moments) else self.bar.end
        return following - self.moments[place].at


def read(score: Score) -> tuple[BarOfMoments, ...]:
    """All bars of a score with their moments.

    Raises :class:`RenderError` where notes of one voice that start together are written with different
    values.
    """
    rows = [_columns(score, voice) for voice in (1, 2)]
    bars: list[BarOfMoments] = []
    for index, bar in enumerate(score.bars):
        own = [tuple(columns.get(index, ())) for columns in rows]
        voices = tuple(
            BarOfColumns(bar, index, columns, voice)
            for voice, columns in enumerate(own, start=1)
            if columns or voice == 1
        )
        if len(voices) > 1 and not voices[0].columns:
            voices = voices[1:]
        moments = tuple(_moments(voices))
        if not moments and score.writing is Writing.SLASHES:
            moments = tuple(_beats(bar))
        bars.append(BarOfMoments(bar, index, moments, voices))
    return tuple(bars)


def _columns(score: Score, voice: int) -> dict[int, list[Column]]:
    """One voice's columns by the index of their bar."""
    rests = {rest.onset: rest.value for rest in score.rests if rest.voice == voice}
    heads: dict[Fraction, list[Head]] = {}
    for note in score.notes:
        if note.voice == voice:
            for at, head in heads_of(note):
                heads.setdefault(at, []).append(head)
    times = sorted({*rests, *heads})
    found: dict[int, list[Column]] = {}
    position = 0
    for index, bar in enumerate(score.bars):
        while position < len(times) and times[position] < bar.end:
            at = times[position]
            column = _column(at, bar, heads.get(at, []), rests.get(at), voice)
            found.setdefault(index, []).append(column)
            position += 1
    return found


def _column(at: Fraction, bar: Bar, heads: list[Head], rest: Value | None, voice: int) -> Column:
    if not heads and rest is not None:
        fills = rest.duration == bar.length and at == bar.start
        return Column(at, at - bar.start, WHOLE if fills else rest, (), fills, voice)
    values = {head.value for head in heads}
    if len(values) > 1:
        raise RenderError(
            f"Notes that start together in bar {bar.number} are written with different values.",
            "Give all notes of a column the same value, or put the longer ones into the lower voice.",
        )
    ordered = sorted(heads, key=lambda head: -head.note.string)
    return Column(at, at - bar.start, values.pop(), tuple(ordered), voice=voice)


def _moments(voices: Sequence[BarOfColumns]) -> Iterator[Moment]:
    if len(voices) == 1:
        for column in voices[0].columns:
            yield Moment(column.at, (column,))
        return
    by_time: dict[Fraction, list[Column]] = {}
    for voice in voices:
        for column in voice.columns:
            by_time.setdefault(column.at, []).append(column)
    for at in sorted(by_time):
        yield Moment(at, tuple(by_time[at]))


def _beats(bar: Bar) -> Iterator[Moment]:
    """The beats of a bar without notes, each of which a chart gives a slash."""
    at = bar.start
    while at < bar.end:
        yield Moment(at, ())
        at += bar.meter.beat
