"""``answer``: bars that are left empty, for the student to fill.

A call that is played note by note is followed by so many empty bars; a chart is played for so many bars and
empty for as many, by turns.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from fretwright.course.entries import Entries
from fretwright.course.notebook import Notebook
from fretwright.course.values import refuse
from fretwright.score.assemble import BarOfEvents, Event
from fretwright.score.meter import Meter

_BARS: Final = re.compile(r"([1-9]|1[0-9]|2[0-4])\s*bars?")


def _count(entries: Entries, notebook: Notebook) -> int:
    """How many bars are left empty, 0 for none."""
    entry = entries.get("answer")
    if entry is None or entry.is_empty:
        return 0
    match = _BARS.fullmatch(" ".join(entry.text.lower().split()))
    if match is None:
        refuse(entry, 'Write how many bars are left empty, such as "4 bars"; up to 24.', notebook)
        return 0
    return int(match[1])


def silent_bars(entries: Entries, bars: int, notebook: Notebook) -> frozenset[int]:
    """The bars of a chart, counted from 0, that are left empty."""
    count = _count(entries, notebook)
    return frozenset(nth for nth in range(bars) if count and nth // count % 2)


def with_answer(entries: Entries, bars: Sequence[BarOfEvents], notebook: Notebook) -> tuple[BarOfEvents, ...]:
    """The bars of a call with the empty ones behind them; a short last bar is filled up."""
    count = _count(entries, notebook)
    if not count or not bars:
        return tuple(bars)
    last, meter = bars[-1], bars[-1].meter
    missing = meter.length - last.length
    full = replace(last, events=(*last.events, *_rests(meter, last.length, missing)))
    if last.lower:
        full = replace(full, lower=(*last.lower, *_rests(meter, last.length, missing)))
    empty = BarOfEvents(_rests(meter, Fraction(0), meter.length), meter)
    return (*bars[:-1], full, *[empty] * count)


def _rests(meter: Meter, offset: Fraction, length: Fraction) -> tuple[Event, ...]:
    return tuple(Event(value) for value in meter.spell(offset, length)) if length else ()
