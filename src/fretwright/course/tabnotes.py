"""Tab and rhythm row put together: bars of events in exact time."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.rhythm import Beat, Row, Sign, in_words, letters_of
from fretwright.course.tabgrid import Fretted, GridBar
from fretwright.score.assemble import BarOfEvents, Event, Head
from fretwright.score.meter import Meter
from fretwright.score.values import Value

Column = tuple[Fretted, ...]
HeadsOf = Callable[[int, Column], tuple[Head, ...]]
"""Heads of the column with that number, counted from 0."""


@dataclass(slots=True)
class _Filling:
    """A bar while it is being filled."""

    room: Fraction
    events: list[Event] = field(default_factory=list)
    signs: list[Sign] = field(default_factory=list)
    filled: Fraction = Fraction(0)

    def add(self, event: Event, sign: Sign | None) -> None:
        self.events.append(event)
        self.filled += event.value.duration
        if sign is not None:
            self.signs.append(sign)


def in_equal_values(grid: Sequence[GridBar], value: Value) -> Row:
    """The row of a tab whose notes are all equally long."""
    beats = [
        Beat((Sign(value, is_rest=False, span=column[0].span, bar=bar_index),))
        for bar_index, bar in enumerate(grid)
        for column in bar.columns
    ]
    return Row(tuple(beats), 0)


def bars_of_tab(
    grid: Sequence[GridBar],
    row: Row,
    meter: Meter,
    pickup: Fraction,
    heads_of: HeadsOf,
    notebook: Notebook,
    voice: str = "",
) -> tuple[BarOfEvents, ...] | None:
    """Deal the beats of the row out to the columns of the tab.

    A tied value, and a rest, belong to the bar that has room for them, unless the row has bar lines itself.
    ``voice`` is ``lower`` for the second of two: its bars may be empty. None with findings where the rows
    disagree or a bar does not add up.
    """
    if not _rows_agree(grid, row, notebook, voice):
        return None
    bars = [_Filling(meter.length) for _ in grid]
    if pickup:
        bars[0].room = pickup
    columns = [(index, column) for index, bar in enumerate(grid) for column in bar.columns]
    here, count, was_rest = 0, 0, False
    for beat in row.beats:
        heads: tuple[Head, ...] = ()
        if not beat.is_rest:
            here, column = columns[count]
            heads = heads_of(count, column)
            count += 1
            if was_rest:
                _refuse_slurs(column, notebook)
        was_rest = beat.is_rest
        for nth, sign in enumerate(beat.signs):
            if row.bars:
                here = sign.bar
            elif (nth or beat.is_rest) and bars[here].filled >= bars[here].room and here + 1 < len(bars):
                here += 1
            held = tuple(replace(head, tied=True) for head in heads) if nth else heads
            bars[here].add(Event(sign.value, held, sign.span), sign)
    if not _all_add_up(bars, grid, meter, pickup, notebook, voice):
        return None
    return tuple(
        BarOfEvents(
            tuple(bar.events),
            meter,
            is_pickup=bool(pickup) and index == 0,
            opens_repeat=grid[index].opens_repeat,
            closes_repeat=grid[index].closes_repeat,
        )
        for index, bar in enumerate(bars)
    )


def _refuse_slurs(column: Column, notebook: Notebook) -> None:
    """Write down each slur that comes after a rest, when its string has stopped."""
    for fretted in column:
        if fretted.attack.is_slur and not fretted.sign.graces:
            message = f"A rest stands before {quoted(fretted.span.text)}, and nothing is left to slur from."
            mend = "Hold the note before it instead of the rest, or pluck this one."
            notebook.error("dangling-slur", fretted.span, message, mend)


def _rows_agree(grid: Sequence[GridBar], row: Row, notebook: Notebook, voice: str) -> bool:
    columns = [column for bar in grid for column in bar.columns]
    the = f"{voice} " if voice else ""
    if row.bars and row.bars != len(grid):
        notebook.error(
            "bar-lines-disagree",
            row.beats[0].signs[0].span,
            f"The {the}rhythm row has {row.bars} bars and the {the}tab has {len(grid)}.",
            "Put the bar lines of both rows at the same places, or leave those of the rhythm row out.",
        )
        return False
    if row.bars:
        return _bars_agree(grid, row, notebook, the)
    if len(columns) == len(row.notes):
        return True
    more, fewer = ("tab", "rhythm row") if len(columns) > len(row.notes) else ("rhythm row", "tab")
    at = min(len(columns), len(row.notes))
    span = columns[at][0].span if more == "tab" else row.notes[at].signs[0].span
    notebook.error(
        "rhythm-and-tab-disagree",
        span,
        f"The {the}tab has {len(columns)} columns of numbers and the {the}rhythm row has "
        f"{len(row.notes)} notes; from here on the {more} has no partner in the {fewer}.",
        "Write one value for each column, tied values and rests (re) not counted.",
    )
    return False


def _bars_agree(grid: Sequence[GridBar], row: Row, notebook: Notebook, the: str) -> bool:
    agree = True
    for index, bar in enumerate(grid):
        beats = [beat for beat in row.notes if beat.signs[0].bar == index]
        if len(beats) == len(bar.columns):
            continue
        agree = False
        at = min(len(beats), len(bar.columns))
        span = beats[at].signs[0].span if len(beats) > at else bar.columns[at][0].span
        notebook.error(
            "rhythm-and-tab-disagree",
            span,
            f"Bar {index + 1} has {_counted(len(bar.columns), 'column')} of numbers in the {the}tab "
            f"and {_counted(len(beats), 'note')} in the {the}rhythm row.",
            "Write one value for each column, tied values and rests (re) not counted.",
        )
    return agree


def _counted(count: int, name: str) -> str:
    return f"{count} {name}{'s' * (count != 1)}"


def _all_add_up(
    bars: Sequence[_Filling],
    grid: Sequence[GridBar],
    meter: Meter,
    pickup: Fraction,
    notebook: Notebook,
    voice: str,
) -> bool:
    add_up = True
    for index, bar in enumerate(bars):
        completes_pickup = pickup and index == len(bars) - 1 and bar.filled == meter.length - pickup
        if bar.filled == bar.room or completes_pickup or (voice and not bar.filled):
            continue
        add_up = False
        number = index if pickup else index + 1
        _report(
            bar,
            grid[index].span,
            (f"Bar {number}" if number else "The pickup") + f" of the {voice} voice" * bool(voice),
            meter,
            notebook,
            is_first=not index,
        )
    return add_up


def _report(
    bar: _Filling, in_tab: Span, name: str, meter: Meter, notebook: Notebook, *, is_first: bool
) -> None:
    span = in_tab
    if bar.signs and bar.signs[0].span.text[:1].isalpha():
        first = bar.signs[0].span
        span = Span(first.file, first.line, first.column, " ".join(sign.span.text for sign in bar.signs))
    off = bar.filled - bar.room
    mend = f"Make it {in_words(abs(off))} {'shorter' if off > 0 else 'longer'}."
    if not bar.filled:
        message, mend = f"{name} is empty.", "Write a rest that fills it, such as rw."
    else:
        message = f"{name} is {in_words(abs(off))} too {'long' if off > 0 else 'short'} for {meter}."
    if is_first and off < 0 and bar.filled and bar.room == meter.length:
        mend = f'{mend[:-1]}, or write "pickup: {" ".join(_letters(bar))}" if it is a pickup.'
    notebook.error("bar-does-not-add-up", span, message, mend)


def _letters(bar: _Filling) -> list[str]:
    return [letters_of(sign.value, is_rest=sign.is_rest) for sign in bar.signs]
