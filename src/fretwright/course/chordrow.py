"""Chords in bars: the rows of a chart, and forms by name.

A chart stands on one line or on several; the end of a line is a bar line. Bars may be repeated (``|:``,
``:|`` and ``x3`` behind it), stand under a bracket (``1.``, ``2.``) and belong to a section, whose name
and a colon open its line.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from fretwright.base.errors import NotationError
from fretwright.base.spans import Span
from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook, nearest, quoted
from fretwright.score.meter import Meter
from fretwright.theory.chord import Chord
from fretwright.theory.chord_step import chord_on_step
from fretwright.theory.form import FORM_NAMES, form_named
from fretwright.theory.pitch import NoteName

MOST_BARS: Final = 400

_TOKEN = re.compile(r"(?P<bar>:?\|+:?)|(?P<word>[^\s|:]+)|(?P<odd>:)")
_SECTION = re.compile(r"\s*([^|:]*[^|:\s])\s*:(?!\|)")
_ENDING = re.compile(r"[1-9](?:,[1-9])*\.")
_TIMES = re.compile(r"x([2-9]|[12][0-9])")
_SILENT: Final = frozenset({"N.C.", "NC", "N.C"})
_STAYS: Final = frozenset({".", "-"})


@dataclass(frozen=True, slots=True)
class Named:
    """A chord from its place in a bar on."""

    at: Fraction
    """From the start of its bar, in whole notes."""
    chord: Chord | None
    """None where nothing is to be held (``N.C.``)."""
    text: str
    """As it is printed."""
    span: Span
    is_printed: bool = True


@dataclass(frozen=True, slots=True)
class ChartBar:
    """One bar of a chart."""

    names: tuple[Named, ...] = ()
    """In order of time; empty where the chord before goes on."""
    opens_repeat: bool = False
    closes_repeat: int = 0
    endings: tuple[int, ...] = ()
    section: str = ""
    """Name of the section that starts here."""
    line: int = 0
    """Which line of the chart it stands on, from 0."""


@dataclass(frozen=True, slots=True)
class _Cell:
    """One bar as its words stand in the text."""

    words: tuple[Span, ...]
    opens: bool
    closes: int
    is_double: bool
    """Whether a double bar line or the end of its line comes after it."""
    section: str
    line: int


def read_chart(
    entry: Entry, meter: Meter, tonic: NoteName | None, notebook: Notebook
) -> tuple[ChartBar, ...]:
    """The bars of a row of chords, with findings for what cannot be read.

    With a ``tonic`` chords may be written as steps of its major scale too.
    """
    bars: list[ChartBar] = []
    bracket: tuple[int, ...] = ()
    for cell in _cells(entry, notebook):
        words = list(cell.words)
        if words and _ENDING.fullmatch(words[0].text):
            bracket = tuple(int(digit) for digit in words.pop(0).text if digit.isdigit())
        names = tuple(_named(words, meter, tonic, notebook))
        bars.append(ChartBar(names, cell.opens, cell.closes, bracket, cell.section, cell.line))
        if cell.closes or cell.is_double:
            bracket = ()
    if len(bars) > MOST_BARS:
        message = f"The chart has more than {MOST_BARS} bars."
        notebook.error("exercise-too-long", entry.span, message, 'Shorten it and use "repeat".')
        return ()
    if bars and not bars[0].names and not notebook.is_broken:
        message = "The first bar has no chord that could go on."
        notebook.error("bad-value", entry.span, message, "Start with a chord, or with N.C. for none.")
    return tuple(bars)


def _cells(entry: Entry, notebook: Notebook) -> Iterator[_Cell]:
    for number, line in enumerate(line for line in entry.rows() if line.text.strip()):
        section = _SECTION.match(line.text)
        start = section.end() if section else 0
        cells = list(_cells_of_line(line, start, notebook))
        for nth, cell in enumerate(cells):
            name = section[1] if section and nth == 0 else ""
            ends = nth == len(cells) - 1
            yield replace(cell, section=name, line=number, is_double=cell.is_double or ends)


def _cells_of_line(line: Span, start: int, notebook: Notebook) -> Iterator[_Cell]:
    """The bars of one line; bar lines at either end of it say nothing."""
    cells: list[_Cell] = []
    words: list[Span] = []
    last_sign = ""
    opens = False
    for match in _TOKEN.finditer(line.text, start):
        span = line.moved(match.start(), match[0])
        if match["odd"]:
            mend = (
                "Write |: and :| for repeats, and a section's name and a colon only at the start of a line."
            )
            notebook.error("bad-value", span, "A colon stands alone between the chords.", mend)
        elif match["word"]:
            times = _TIMES.fullmatch(match[0])
            if times and last_sign.startswith(":") and not words:
                cells[-1] = replace(cells[-1], closes=int(times[1]))
            else:
                words.append(span)
        else:
            sign = match["bar"]
            # An empty bar stands between two plain bar lines alone, not between the signs of two repeats.
            if words or (last_sign.endswith("|") and sign.startswith("|") and ":" not in last_sign + sign):
                cells.append(_Cell(tuple(words), opens, 0, is_double="||" in sign, section="", line=0))
                words, opens = [], False
            if sign.startswith(":") and cells:
                cells[-1] = replace(cells[-1], closes=2)
            opens = opens or sign.endswith(":")
            last_sign = sign
    if words:
        cells.append(_Cell(tuple(words), opens, 0, is_double=False, section="", line=0))
    return iter(cells)


def _named(
    words: Sequence[Span], meter: Meter, tonic: NoteName | None, notebook: Notebook
) -> Iterator[Named]:
    """The chords of a bar, which divide its beats evenly."""
    if len(words) > 1 and meter.beats % len(words):
        message = f"{len(words)} chords do not divide the {meter.beats} beats of a bar."
        mend = "Write one for each beat, and a dot where the chord stays."
        notebook.error("row-does-not-fit", words[0], message, mend)
        return
    for index, word in enumerate(words):
        if word.text in _STAYS:
            continue
        at = meter.length * index / len(words)
        if word.text in _SILENT:
            yield Named(at, None, "N.C.", word)
            continue
        step = chord_on_step(word.text, tonic) if tonic is not None else None
        try:
            yield Named(at, step or Chord.parse(word.text), step.symbol if step else word.text, word)
        except NotationError as error:
            notebook.refused("unknown-chord", word, error)


def read_form(entry: Entry, tonic: NoteName, meter: Meter, notebook: Notebook) -> tuple[ChartBar, ...]:
    """The bars of a form by name; chords are printed where they change and where four bars start."""
    try:
        form = form_named(entry.text)
    except NotationError as error:
        near = nearest(entry.text.strip(), FORM_NAMES)
        notebook.refused("unknown-form", entry.span, error, f'Did you mean "{near}"?' if near else "")
        return ()
    bars: list[ChartBar] = []
    last: Chord | None = None
    for number, chords in enumerate(form.chords_on(tonic)):
        if meter.beats % len(chords):
            message = f"A bar of {form.name} has {len(chords)} chords, which do not divide {meter}."
            notebook.error("bad-value", entry.span, message, "Write the chords out, or choose another meter.")
            return ()
        names = []
        for index, chord in enumerate(chords):
            is_printed = chord != last or (number % 4 == 0 and index == 0)
            at = meter.length * index / len(chords)
            names.append(Named(at, chord, chord.symbol, entry.span, is_printed))
            last = chord
        bars.append(ChartBar(tuple(names), line=number // 4))
    return tuple(bars)


_CHANGE = re.compile(r"(\S+)\s+(?:to|and)\s+(\S+)")


def read_change(entry: Entry, meter: Meter, notebook: Notebook) -> tuple[ChartBar, ...]:
    """The drill of one change: a bar for each chord, then half a bar, then a beat, and home.

    Where the beats of a bar cannot be halved, the drill stays with a bar for each chord.
    """
    match = _CHANGE.fullmatch(" ".join(entry.text.split()))
    if match is None:
        message = f"{quoted(entry.text)} names no change."
        notebook.error("bad-value", entry.span, message, 'Write two chords, such as "G to C".')
        return ()
    pair: list[Chord] = []
    for text in (match[1], match[2]):
        try:
            pair.append(Chord.parse(text))
        except NotationError as error:
            notebook.refused("unknown-chord", entry.span, error)
            return ()
    if pair[0] == pair[1]:
        message = f"{quoted(entry.text)} changes nothing."
        notebook.error("bad-value", entry.span, message, "Name two different chords.")
        return ()
    counts = [1, 1, 1, 1]
    counts += [2, 2] if meter.beats % 2 == 0 else [1, 1]
    counts += [4] if meter.beats % 4 == 0 else []
    bars: list[ChartBar] = []
    turn = 0
    for count in (*counts, 1):
        names = []
        for index in range(count):
            chord = pair[turn % 2] if len(bars) < len(counts) else pair[0]
            names.append(Named(meter.length * index / count, chord, chord.symbol, entry.span))
            turn += 1
        bars.append(ChartBar(tuple(names), line=len(bars) // 4))
    return tuple(bars)
