"""Sung words under the bars of a chart.

The words of a bar, or syllables with a hyphen, start one after the other on its beats; where there are more
of them than beats, on half beats, and then on quarters of one. A dot lets a place pass.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from fretwright.base.spans import Span
from fretwright.course.chordrow import ChartBar
from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook
from fretwright.course.struck import BarPlace
from fretwright.score.meter import Meter
from fretwright.score.score import Label, LabelKind

_PARTS: Final = (1, 2, 4)
"""Into how many parts a beat is divided for words, the fewest that are enough."""
_COMPOUND_PARTS: Final = (1, 3, 6)


def read_lyrics(
    entry: Entry | None,
    chart: Sequence[ChartBar],
    places: Sequence[BarPlace],
    meter: Meter,
    notebook: Notebook,
) -> tuple[Label, ...]:
    """Labels for the words, in order of time."""
    if entry is None or entry.is_empty:
        return ()
    labels: list[Label] = []
    for nth, words in _words_by_bar(entry, chart, notebook):
        labels += _spread(words, places[nth], meter, notebook)
    return tuple(labels)


def _words_by_bar(
    entry: Entry, chart: Sequence[ChartBar], notebook: Notebook
) -> Iterator[tuple[int, list[Span]]]:
    """The words of each bar. Where chart and words have as many lines, each line starts with its own."""
    lines = [line for line in entry.rows() if line.text.strip()]
    first_of = {bar.line: nth for nth, bar in reversed(list(enumerate(chart)))}
    by_line = len(lines) == len(first_of)
    nth = 0
    for number, line in enumerate(lines):
        nth = first_of[sorted(first_of)[number]] if by_line else nth
        last = first_of.get(sorted(first_of)[number] + 1, len(chart)) if by_line else len(chart)
        for words in _cells(line):
            if nth >= last:
                if words:
                    message = "There are more bars of words here than bars of chords."
                    mend = "Write one bar of words under each bar of chords, a dot under one without words."
                    notebook.error("row-does-not-fit", words[0], message, mend)
                return
            yield nth, words
            nth += 1


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


def _spread(words: Sequence[Span], place: BarPlace, meter: Meter, notebook: Notebook) -> Iterator[Label]:
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
            yield Label(place.start + meter.beat * index / parts, word.text, LabelKind.LYRIC)
