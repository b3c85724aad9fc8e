"""Sung words under the bars of an exercise.

In a chart the words of a bar, or syllables with a hyphen, start one after the other on its beats; where there
are more of them than beats, on half beats, and then on quarters of one. Under a tune each has a note. A dot
lets a place pass. A line that starts with ``2.`` is the second verse of the line above it.
"""

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final, NamedTuple

from fretwright.base.spans import Span
from fretwright.course.chordrow import ChartBar
from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook
from fretwright.course.struck import BarPlace
from fretwright.score.assemble import BarOfEvents
from fretwright.score.meter import Meter
from fretwright.score.score import Label, LabelKind

_PARTS: Final = (1, 2, 4)
"""Into how many parts a beat is divided for words, the fewest that are enough."""
_COMPOUND_PARTS: Final = (1, 3, 6)
_VERSE: Final = re.compile(r"\s*([1-9])\.\s+")


class _Cell(NamedTuple):
    """The words of one bar in one verse."""

    bar: int
    verse: int
    words: list[Span]


def read_lyrics(
    entry: Entry | None,
    chart: Sequence[ChartBar],
    places: Sequence[BarPlace],
    meter: Meter,
    notebook: Notebook,
) -> tuple[Label, ...]:
    """Labels for the words of a chart, in order of time."""
    first_of = {bar.line: nth for nth, bar in reversed(list(enumerate(chart)))}
    firsts = [first_of[line] for line in sorted(first_of)]
    labels: list[Label] = []
    for cell in _words_by_bar(entry, firsts, len(chart), notebook):
        labels += _spread(cell, places[cell.bar], meter, notebook)
    return tuple(sorted(labels, key=_in_order))


def read_tune_lyrics(
    entry: Entry | None, bars: Sequence[BarOfEvents], notebook: Notebook
) -> tuple[Label, ...]:
    """Labels for the words under the notes of a tab or a rule, in order of time."""
    starts = [sum((bar.length for bar in bars[:nth]), Fraction(0)) for nth in range(len(bars))]
    labels: list[Label] = []
    for cell in _words_by_bar(entry, [0], len(bars), notebook):
        onsets = list(_onsets(bars[cell.bar]))
        if len(cell.words) > len(onsets):
            message = f"There are {len(cell.words)} words here, and the bar has {len(onsets)} notes."
            mend = "Write one word or syllable for each note, and a dot for a note without one."
            notebook.error("lyrics-do-not-fit", cell.words[0], message, mend)
            continue
        labels += [
            Label(starts[cell.bar] + at, word.text, LabelKind.LYRIC, verse=cell.verse)
            for at, word in zip(onsets, cell.words, strict=False)
            if word.text != "."
        ]
    return tuple(sorted(labels, key=_in_order))


def _in_order(label: Label) -> tuple[Fraction, int]:
    return label.at, label.verse


def _onsets(bar: BarOfEvents) -> Iterator[Fraction]:
    """When a note or chord of the upper voice starts, from the start of its bar."""
    at = Fraction(0)
    for event in bar.events:
        if any(not head.tied for head in event.heads):
            yield at
        at += event.value.duration


def _words_by_bar(
    entry: Entry | None, firsts: Sequence[int], count: int, notebook: Notebook
) -> Iterator[_Cell]:
    """The words of each bar, verse by verse.

    ``firsts`` are the first bars of the lines of a chart: where there are as many lines of words, further
    verses not counted, each starts with its own.
    """
    if entry is None or entry.is_empty:
        return
    lines = [_of_verse(line) for line in entry.rows() if line.text.strip()]
    is_by_line = sum(verse == 1 for verse, _ in lines) == len(firsts)
    number, start, nth = -1, 0, 0
    for verse, line in lines:
        if verse == 1 or number < 0:
            number += 1
            start = firsts[min(number, len(firsts) - 1)] if is_by_line else nth
        nth = start
        end = firsts[number + 1] if is_by_line and number + 1 < len(firsts) else count
        for words in _cells(line):
            if nth >= end:
                if words:
                    message = "There are more bars of words here than bars of music."
                    mend = "Write one bar of words under each bar, a dot under one without words."
                    notebook.error("row-does-not-fit", words[0], message, mend)
                break
            yield _Cell(nth, verse, words)
            nth += 1


def _of_verse(line: Span) -> tuple[int, Span]:
    """The verse that a line belongs to, and the line without its number."""
    match = _VERSE.match(line.text)
    if match is None:
        return 1, line
    return int(match[1]), line.moved(match.end(), line.text[match.end() :])


def _cells(line: Span) -> list[list[Span]]:
    cells: list[list[Span]] = []
    column = 0
    for piece in line.text.split("|"):
        words, at = [], 0
        for word in piece.split():
            at = piece.index(word, at)
            words.append(line.moved(column + at, word))
            at += len(word)
        cells.append(words)
        column += len(piece) + 1
    if not cells[0] and len(cells) > 1:
        cells.pop(0)
    if not cells[-1] and len(cells) > 1:
        cells.pop()
    return cells


def _spread(cell: _Cell, place: BarPlace, meter: Meter, notebook: Notebook) -> Iterator[Label]:
    words = cell.words
    beats = max(1, int(place.length / meter.beat))
    parts = next(
        (part for part in (_COMPOUND_PARTS if meter.is_compound else _PARTS) if len(words) <= beats * part),
        None,
    )
    if parts is None:
        message = f"{len(words)} words do not fit under one bar of {meter}."
        mend = "Spread them over more bars, or write fewer syllables apart."
        notebook.error("lyrics-do-not-fit", words[0], message, mend)
        return
    for index, word in enumerate(words):
        if word.text != ".":
            at = place.start + meter.beat * index / parts
            yield Label(at, word.text, LabelKind.LYRIC, verse=cell.verse)
