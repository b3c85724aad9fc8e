"""Fingers of small notes: a row with one entry for each of them."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook
from fretwright.course.rows import fits, read_fingers, words_of
from fretwright.score.assemble import BarOfEvents, Event
from fretwright.score.techniques import Finger


def with_grace_fingers(
    entry: Entry | None, bars: Sequence[BarOfEvents], notebook: Notebook
) -> tuple[BarOfEvents, ...]:
    """The bars of one voice with the fingers of their small notes.

    They are counted from left to right, in a chord from the lowest string up; findings where they do not fit.
    """
    if entry is None or entry.is_empty:
        return tuple(bars)
    places = [
        (grace.place,)
        for bar in bars
        for event in bar.events
        for head in event.heads
        if not head.tied
        for grace in head.techniques.graces
    ]
    if not fits(entry, words_of(entry), len(places), "small notes", notebook):
        return tuple(bars)
    fingers = (finger for (finger,) in read_fingers(entry, places, notebook))
    return tuple(replace(bar, events=tuple(_event(event, fingers) for event in bar.events)) for bar in bars)


def _event(event: Event, fingers: Iterator[Finger | None]) -> Event:
    heads = []
    for head in event.heads:
        if head.tied:
            heads.append(head)
            continue
        graces = tuple(replace(grace, finger=next(fingers)) for grace in head.techniques.graces)
        heads.append(replace(head, techniques=replace(head.techniques, graces=graces)))
    return replace(event, heads=tuple(heads))
