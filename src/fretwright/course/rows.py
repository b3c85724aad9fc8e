"""Rows that go along with the notes or the bars: fingers, strokes, chord names, words, endings."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from fretwright.base.spans import Span
from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook, quoted
from fretwright.fretboard.neck import Place
from fretwright.score.assemble import BarOfEvents
from fretwright.score.note import Finger
from fretwright.score.score import Label, LabelKind
from fretwright.score.techniques import Stroke

_FINGERS: Final = {
    "1": Finger.INDEX, "2": Finger.MIDDLE, "3": Finger.RING, "4": Finger.LITTLE,
    "t": Finger.THUMB, "0": Finger.OPEN, ".": None, "-": None,
}  # fmt: skip
STROKES: Final[dict[str, Stroke | None]] = {
    "d": Stroke.DOWN,
    "down": Stroke.DOWN,
    "u": Stroke.UP,
    "up": Stroke.UP,
    ".": None,
    "-": None,
}
_CHORD = re.compile(r"[A-G][#b♯♭]?[A-Za-z0-9#b♯♭+°øΔ()−\-]{0,12}(?:/[A-G][#b♯♭]?)?|N\.?C\.?")
_ENDING = re.compile(r"[1-9](?:[,.][1-9])*\.?")
_EMPTY: Final = "."
"""Nothing stands here; a dash will do as well where YAML lets it stand."""
_DASH: Final = "-"


def words_of(entry: Entry | None) -> list[Span]:
    """The words of a row, its bar lines left out."""
    return [word for word in entry.words() if word.text.strip("|")] if entry is not None else []


def fits(entry: Entry, words: Sequence[Span], count: int, what: str, notebook: Notebook) -> bool:
    """Whether a row has as many entries as there are notes or bars; a finding where it has not."""
    if len(words) == count:
        return True
    span = words[count] if len(words) > count else entry.span
    name = entry.key.text
    message = f'The row "{name}" has {len(words)} entries, and the exercise has {count} {what}.'
    notebook.error(
        "row-does-not-fit", span, message, "Write one for each of them, and a dot where none is meant."
    )
    return False


def read_fingers(
    entry: Entry | None, columns: Sequence[Sequence[Place]], notebook: Notebook
) -> tuple[tuple[Finger | None, ...], ...]:  # fmt: skip
    """Fingers for each column, in the order of its places (from the lowest string up); None where free."""
    free = tuple((None,) * len(places) for places in columns)
    words = words_of(entry)
    if entry is None or not words or not fits(entry, words, len(columns), "notes", notebook):
        return free
    return tuple(_fingers_of(word, places, notebook) for word, places in zip(words, columns, strict=True))


def _fingers_of(word: Span, places: Sequence[Place], notebook: Notebook) -> tuple[Finger | None, ...]:
    none = (None,) * len(places)
    signs = word.text.lower()
    if signs in {_EMPTY, _DASH}:
        return none
    if len(signs) != len(places) or not set(signs) <= set(_FINGERS):
        message = f"{quoted(word.text)} is no fingering of {len(places)} note{'s' * (len(places) > 1)}."
        notebook.error(
            "bad-fingers", word, message, "Write 1 to 4, T for the thumb, 0 for an open string, or a dot."
        )
        return none
    fingers = tuple(_FINGERS[sign] for sign in signs)
    for finger, place in zip(fingers, places, strict=True):
        if finger is not None and (finger is Finger.OPEN) != (place.fret == 0):
            what = "an open string takes no finger" if place.fret == 0 else "only an open string has finger 0"
            message = f"The finger {quoted(word.text)} does not go with {place}: {what}."
            notebook.error(
                "bad-fingers", word, message, "Write 0 for an open string, and 1 to 4 or T for a fret."
            )
            return none
    return fingers


def read_strokes(entry: Entry | None, count: int, notebook: Notebook) -> tuple[Stroke | None, ...]:
    """A stroke for each column of notes; None where free."""
    words = words_of(entry)
    if entry is None or not words or not fits(entry, words, count, "notes", notebook):
        return (None,) * count
    strokes = []
    for word in words:
        if word.text.lower() not in STROKES:
            mend = "Write d for down, u for up, or a dot under a slur."
            notebook.error("bad-value", word, f"{quoted(word.text)} is no stroke.", mend)
        strokes.append(STROKES.get(word.text.lower()))
    return tuple(strokes)


def read_labels(
    chords: Entry | None, text: Entry | None, bars: Sequence[BarOfEvents], notebook: Notebook
) -> tuple[Label, ...]:  # fmt: skip
    """Chord names and words above the bars, in order of time."""
    labels = [*_chords(chords, bars, notebook), *_texts(text, bars, notebook)]
    return tuple(sorted(labels, key=lambda label: label.at))


def _starts(bars: Sequence[BarOfEvents]) -> list[Fraction]:
    starts, at = [], Fraction(0)
    for bar in bars:
        starts.append(at)
        at += bar.length
    return starts


def _cells(entry: Entry, count: int, notebook: Notebook) -> list[list[Span]]:
    """The words of each bar. Bar lines stand between them; those at either end say nothing."""
    cells: list[list[Span]] = [[]]
    for word in entry.words():
        column = 0
        for index, piece in enumerate(word.text.split("|")):
            if index:
                cells.append([])
            if piece:
                cells[-1].append(word.moved(column, piece))
            column += len(piece) + 1
    text = entry.text.strip()
    if text.startswith("|"):
        cells.pop(0)
    if text.endswith("|") and len(cells) > 1:
        cells.pop()
    if len(cells) > count:
        extra = next((cell[0] for cell in cells[count:] if cell), entry.span)
        message = f'The row "{entry.key.text}" has {len(cells)} bars, and the exercise has {count}.'
        notebook.error("row-does-not-fit", extra, message, "Leave the bars out that are not there.")
    return cells[:count]


def _chords(entry: Entry | None, bars: Sequence[BarOfEvents], notebook: Notebook) -> Iterator[Label]:
    if entry is None or entry.is_empty:
        return
    for bar, start, cell in zip(bars, _starts(bars), _cells(entry, len(bars), notebook), strict=False):
        if cell and bar.meter.beats % len(cell) and len(cell) > 1:
            message = f"{len(cell)} chord names do not divide the {bar.meter.beats} beats of a bar."
            mend = f"Write one for each beat, and {_EMPTY} where the chord stays."
            notebook.error("row-does-not-fit", cell[0], message, mend)
            continue
        for index, word in enumerate(cell):
            if word.text in {_EMPTY, _DASH}:
                continue
            if not _CHORD.fullmatch(word.text):
                mend = "Write names such as Bm, F#7 or D/F#, bar lines between the bars, a dot for none."
                notebook.error("bad-value", word, f"{quoted(word.text)} is no chord name.", mend)
                continue
            yield Label(start + bar.length * index / len(cell), word.text, LabelKind.CHORD)


def _texts(entry: Entry | None, bars: Sequence[BarOfEvents], notebook: Notebook) -> Iterator[Label]:
    if entry is None or entry.is_empty:
        return
    for start, cell in zip(_starts(bars), _cells(entry, len(bars), notebook), strict=False):
        words = " ".join(word.text for word in cell)
        if words not in {"", _EMPTY, _DASH}:
            yield Label(start, words, LabelKind.TEXT)


def with_endings(
    entry: Entry | None, bars: Sequence[BarOfEvents], notebook: Notebook
) -> tuple[BarOfEvents, ...]:  # fmt: skip
    """The bars with their ending brackets: one entry for each bar, such as ``. . 1 2``."""
    words = words_of(entry)
    if entry is None or not words or not fits(entry, words, len(bars), "bars", notebook):
        return tuple(bars)
    marked = []
    for word, bar in zip(words, bars, strict=True):
        if word.text not in {_EMPTY, _DASH} and not _ENDING.fullmatch(word.text):
            mend = "Write on which times through the bar is played, such as 1 or 1,2; a dot for all."
            notebook.error("bad-value", word, f"{quoted(word.text)} is no ending.", mend)
            continue
        times = tuple(int(digit) for digit in word.text if digit.isdigit())
        marked.append(replace(bar, endings=times))
    return tuple(marked) if len(marked) == len(bars) else tuple(bars)


def with_repeat(bars: Sequence[BarOfEvents], times: int | None) -> tuple[BarOfEvents, ...]:
    """The bars between repeat signs, a pickup left outside."""
    if times is None or times < 2:
        return tuple(bars)
    first = 1 if bars[0].is_pickup and len(bars) > 1 else 0
    opened = [replace(bar, opens_repeat=True) if index == first else bar for index, bar in enumerate(bars)]
    return (*opened[:-1], replace(opened[-1], closes_repeat=times))
