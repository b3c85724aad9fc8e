"""A pattern of the picking hand over a row of rhythm letters, where an even grid does not hold it.

    rhythm: q. e+ e e q | q e3 e3 e3 rq q
    strum:  d u d d | d d u d d

Every value that starts something has an entry; rests and values that are tied on have none. The row makes one
bar or several, which come again until the chart is over.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import lcm

from fretwright.base.spans import Span
from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook
from fretwright.course.pattern import (
    Action,
    EntryReader,
    Pattern,
    PatternBar,
    Silence,
    Step,
    Strike,
    pendulum,
)
from fretwright.course.rhythm import Beat, Row, in_words
from fretwright.course.rows import fits, words_of
from fretwright.score.meter import Meter
from fretwright.score.values import Value


def over_rhythm(
    row: Row, written: Entry, entry: Entry | None, meter: Meter, read: EntryReader, notebook: Notebook
) -> Pattern | None:
    """The pattern of a row of rhythm letters (``written``), or None with findings.

    ``entry`` has what the hand does; without one it strikes every value as it keeps time.
    """
    cut = _in_bars(row, written, meter, notebook)
    words: list[Span | None] = [None] * len(row.notes)
    if entry is not None:
        found = [piece for word in words_of(entry) for piece in _parted(word)]
        if not fits(entry, found, len(row.notes), "values that are struck", notebook):
            return None
        words = list(found)
    if cut is None:
        return None
    starts = _starts(row.beats)
    grid = _places(row.beats, starts, meter)
    steps: list[list[Step]] = [[] for _ in cut]
    waiting = iter(words)
    for beat, start in zip(row.beats, starts, strict=True):
        action: Action | None = Silence.REST
        span = beat.signs[0].span
        if not beat.is_rest:
            word = next(waiting)
            way = pendulum(start % meter.length, grid[start // meter.beat], meter)
            if word is None:
                action = Strike(stroke=way)
            else:
                action, span = (None if word.text in {".", "-"} else read(word, way, notebook)), word
        if action is not None:
            steps[start // meter.length].append(Step(start % meter.length, action, span))
    if notebook.is_broken:
        return None
    return Pattern(
        tuple(PatternBar(meter.beat, tuple(own), values) for own, values in zip(steps, cut, strict=True))
    )


def _parted(word: Span) -> Iterator[Span]:
    """A word of the row without the bar lines that may be glued to it."""
    at = 0
    for piece in word.text.split("|"):
        if piece:
            yield word.moved(at, piece)
        at += len(piece) + 1


def _starts(beats: Sequence[Beat]) -> list[Fraction]:
    starts, at = [], Fraction(0)
    for beat in beats:
        starts.append(at)
        at += sum((value.duration for value in beat.values), Fraction(0))
    return starts


def _in_bars(
    row: Row, written: Entry, meter: Meter, notebook: Notebook
) -> tuple[tuple[Value, ...], ...] | None:
    """The written values of each bar; None with a finding where they do not make whole bars."""
    bars: list[list[Value]] = [[]]
    at = Fraction(0)
    for sign in (sign for beat in row.beats for sign in beat.signs):
        if at == meter.length:
            bars.append([])
            at = Fraction(0)
        at += sign.value.duration
        bars[-1].append(sign.value)
        if at > meter.length or (row.bars and sign.bar != len(bars) - 1):
            message = f"Bar {len(bars)} of the rhythm is not as long as a bar of {meter}."
            mend = 'Let the values of each bar add up, and tie what goes on over a bar line: "h+ | q".'
            notebook.error("bar-does-not-add-up", sign.span, message, mend)
            return None
    if at != meter.length:
        message = f"The last bar of the rhythm lacks {in_words(meter.length - at)}."
        notebook.error("bar-does-not-add-up", written.span, message, "Fill it with a note or a rest.")
        return None
    return tuple(tuple(bar) for bar in bars)


def _places(beats: Sequence[Beat], starts: Sequence[Fraction], meter: Meter) -> dict[int, Fraction]:
    """For each beat with something in it the length of the places that it is divided into, at least two."""
    inside: dict[int, list[Fraction]] = {}
    for beat, start in zip(beats, starts, strict=True):
        if not beat.is_rest:
            inside.setdefault(start // meter.beat, []).append(start % meter.beat / meter.beat)
    return {
        number: meter.beat / max(2, lcm(*(share.denominator for share in shares)))
        for number, shares in inside.items()
    }
