"""Hits in time: the bars that they fill, each hit lasting until the next one."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from fretwright.base.spans import Span
from fretwright.course.chordrow import ChartBar
from fretwright.course.pattern import is_triplet
from fretwright.course.struck import BarPlace, Hit
from fretwright.score.assemble import BarOfEvents, Event, Head
from fretwright.score.meter import Meter
from fretwright.score.values import TRIPLET, Value


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A part of a bar in which nothing new starts."""

    offset: Fraction
    """From where the beats of its bar are counted."""
    duration: Fraction
    heads: tuple[Head, ...]
    is_carried: bool
    """Whether it goes on from the bar before."""
    unit: Fraction
    source: Span


def bars_of_hits(
    hits: Sequence[Hit],
    chart: Sequence[ChartBar],
    places: Sequence[BarPlace],
    meter: Meter,
    source: Span,
    written: Sequence[Sequence[Value]] = (),
) -> tuple[BarOfEvents, ...]:
    """The bars of a chart with what is struck in them.

    ``written`` has for each bar the values that it is divided into; where it has none, hits are written with
    the values that a bar of this meter has in their places.
    Raises :class:`~fretwright.base.errors.ScoreError` for a length that no chain of values can write.
    """
    before = Hit(Fraction(0), (), meter.beat, source)
    # Silence upon silence is one silence.
    heard = [hit for hit, last in zip(hits, (before, *hits), strict=False) if hit.heads or last.heads]
    bars, first = [], 0
    for nth, (bar, place) in enumerate(zip(chart, places, strict=True)):
        until = bisect_left(heard, place.start + place.length, first, key=lambda hit: hit.at)
        inside, first = heard[first:until], until
        # A pickup is counted from the end of its bar.
        shift = meter.length - place.length if nth == 0 else Fraction(0)
        pieces = tuple(_pieces(written[nth], place, meter)) if written else ()
        events = [
            event
            for stretch in _stretches(before, inside, place, shift)
            for event in _events(stretch, meter, pieces)
        ]
        bars.append(
            BarOfEvents(
                tuple(events),
                meter,
                is_pickup=nth == 0 and place.length < meter.length,
                opens_repeat=bar.opens_repeat,
                closes_repeat=bar.closes_repeat,
                endings=bar.endings,
            )
        )
        before = inside[-1] if inside else before
    return tuple(bars)


def _pieces(values: Sequence[Value], place: BarPlace, meter: Meter) -> Iterator[tuple[Fraction, Value]]:
    """Written values with their places as stretches count them; a pickup has the last ones of its bar."""
    at = Fraction(0)
    for value in values:
        if at >= meter.length - place.length:
            yield at, value
        at += value.duration


def _stretches(before: Hit, inside: Sequence[Hit], place: BarPlace, shift: Fraction) -> Iterator[_Stretch]:
    end = place.start + place.length
    cuts = [(place.start, before, True), *((hit.at, hit, False) for hit in inside)]
    for (start, hit, is_carried), stop in zip(cuts, [*(at for at, _, _ in cuts[1:]), end], strict=True):
        if start < stop:
            heads = hit.heads if hit.rings or not is_carried else ()
            # What goes on from the bar before ends on this bar's own grid.
            grid = inside[0] if is_carried and inside else hit
            yield _Stretch(
                start - place.start + shift, stop - start, heads, is_carried, grid.unit, hit.source
            )


def _events(stretch: _Stretch, meter: Meter, pieces: Sequence[tuple[Fraction, Value]]) -> Iterator[Event]:
    held = tuple(replace(head, tied=True) for head in stretch.heads)
    end = stretch.offset + stretch.duration
    values = [value for at, value in pieces if stretch.offset <= at < end]
    is_whole = sum((value.duration for value in values), Fraction(0)) == stretch.duration
    for nth, value in enumerate(values if is_whole else _values(stretch, meter)):
        yield Event(value, held if nth or stretch.is_carried else stretch.heads, stretch.source)


def _values(stretch: _Stretch, meter: Meter) -> Iterator[Value]:
    """The written values of a stretch: plain ones, and within a beat of triplets those of its group."""
    at, end = stretch.offset, stretch.offset + stretch.duration
    if not is_triplet(stretch.unit):
        yield from _spelled(meter, at, stretch.duration)
        return
    group = 3 * stretch.unit
    while at < end:
        stop = min(end, (at // group + 1) * group)
        if at % group == 0 and stop - at == group:
            whole = (end - at) // group * group
            yield from _spelled(meter, at, whole)
            at += whole
        else:
            yield from _of_group(at, stop, stretch.unit)
            at = stop


@lru_cache(maxsize=4096)
def _spelled(meter: Meter, offset: Fraction, duration: Fraction) -> tuple[Value, ...]:
    """As :meth:`Meter.spell`, worked out once for bars that are alike."""
    return meter.spell(offset, duration)


def _of_group(start: Fraction, stop: Fraction, unit: Fraction) -> Iterator[Value]:
    """One or two notes' worth of a group of three."""
    base = unit * Fraction(3, 2)
    yield Value(base if stop - start == unit else 2 * base, 0, TRIPLET)
