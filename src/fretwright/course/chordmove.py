"""Chord names as they are written, moved into another key."""

import re
from dataclasses import replace
from typing import Final

from fretwright.base.errors import NotationError
from fretwright.course.entries import Entries, Entry
from fretwright.theory.chord import Chord
from fretwright.theory.interval import Interval

_CHORD_ROWS: Final = ("chords", "change")
_WORD = re.compile(r"(?<![^\s|:])[A-G][^\s|:]*(?![^\s|]*:(?!\|))")
"""A word that may be a chord: not the name of a section, which has a colon behind it."""


def moved_chords(entries: Entries, interval: Interval) -> dict[str, Entry]:
    """The rows of chords of an exercise, every name an interval higher; what is no chord stays as it is."""
    return {name: _moved(entries[name], interval) for name in _CHORD_ROWS if name in entries}


def _moved(entry: Entry, interval: Interval) -> Entry:
    texts = tuple(
        replace(text, value=_WORD.sub(lambda match: _moved_word(match[0], interval), text.value))
        for text in entry.texts
    )
    return replace(entry, texts=texts)


def _moved_word(word: str, interval: Interval) -> str:
    try:
        return Chord.parse(word).transposed(interval).symbol
    except NotationError:
        return word
