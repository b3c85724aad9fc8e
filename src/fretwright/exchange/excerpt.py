"""A stretch of bars out of a longer piece."""

from dataclasses import replace
from fractions import Fraction

from fretwright.base.errors import ExchangeError
from fretwright.exchange.draft import Draft, DraftBar, DraftNote
from fretwright.score.tempo import TempoMark


def excerpt(draft: Draft, first: int, last: int) -> Draft:
    """The bars from ``first`` to ``last`` by their printed numbers, as a piece of their own, played once.

    A note that is held over the first bar line is left to the bar before it, one held over the last is cut.
    Raises :class:`~fretwright.base.errors.ExchangeError` where there are no such bars.
    """
    lowest = 0 if draft.bars[0].is_pickup else 1
    highest = lowest + len(draft.bars) - 1
    bars = draft.bars[max(0, first - lowest) : max(0, last - lowest + 1)]
    if not bars or not lowest <= first <= last <= highest:
        raise ExchangeError(
            f"There are no bars {first} to {last}.", f"The piece has the bars {lowest} to {highest}."
        )
    start, end = bars[0].start, bars[-1].end
    return replace(
        draft,
        bars=tuple(_once(bar, start, bars[0]) for bar in bars),
        notes=tuple(_moved(note, start, end) for note in draft.notes if start <= note.onset < end),
        rests=tuple(
            replace(rest, onset=rest.onset - start) for rest in draft.rests if start <= rest.onset < end
        ),
        tempo=_tempo(draft, start, end),
        labels=tuple(
            replace(label, at=label.at - start) for label in draft.labels if start <= label.at < end
        ),
    )


def _once(bar: DraftBar, start: Fraction, first: DraftBar) -> DraftBar:
    """A bar without its repeat signs; a short last bar is filled up where no pickup completes it."""
    length = bar.length if first.is_pickup else bar.meter.length
    return replace(
        bar, start=bar.start - start, length=length, opens_repeat=False, closes_repeat=0, endings=()
    )


def _moved(note: DraftNote, start: Fraction, end: Fraction) -> DraftNote:
    source = note.slurred_from - start if note.slurred_from is not None else None
    moved = replace(note, onset=note.onset - start, slurred_from=source)
    return moved if note.end <= end else replace(moved, duration=end - note.onset, values=())


def _tempo(draft: Draft, start: Fraction, end: Fraction) -> tuple[TempoMark, ...]:
    """The mark that holds at the start, and those inside."""
    before = [mark for mark in draft.tempo if mark.at <= start][-1:]
    inside = [mark for mark in draft.tempo if start < mark.at < end]
    return tuple(replace(mark, at=max(Fraction(0), mark.at - start)) for mark in (*before, *inside))
