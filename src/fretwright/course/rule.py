"""Exercises by rule: a scale laid on the neck, and a way through it.

The way is a row of legs, each up or down. Where a leg starts on the note the leg before ended on, that note
is not played twice.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from fretwright.base.errors import FretwrightError, NotationError
from fretwright.course.entries import Entries, Entry
from fretwright.course.notebook import Notebook, did_you_mean, nearest, quoted
from fretwright.course.values import refuse
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.shapes import Shape, ShapeNote, positions_of, shape_at, shape_by_strings
from fretwright.score.note import Attack
from fretwright.theory.interval import UNISON
from fretwright.theory.pitch import Pitch
from fretwright.theory.scale import Scale

MOST_NOTES: Final = 2000

_PER_STRING = re.compile(
    r"(one|two|three|four|five|six|[1-6])\s+notes?\s+(?:per|on each|on every|a)\s+string"
)
_BOX = re.compile(r"box\s+([1-9])")
_COUNTS: Final = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6}
_STRINGS = re.compile(r"(?:from\s+)?(?:strings?\s+)?([1-9])(?:\s*(?:to|-|–)\s*(?:string\s+)?([1-9]))?")
_PLACE = re.compile(r"string\s+([1-9])\s*,?\s*fret\s+([0-9]{1,2})")
_SLURS: Final = {"hammer-on": Attack.HAMMER_ON, "pull-off": Attack.PULL_OFF, "slide": Attack.SLIDE}
_LEGS: Final = ("up", "down")

_shape_at = lru_cache(maxsize=512)(shape_at)
_shape_by_strings = lru_cache(maxsize=512)(shape_by_strings)
_positions_of = lru_cache(maxsize=128)(positions_of)


@dataclass(frozen=True, slots=True)
class Way:
    """How a shape is gone through."""

    legs: tuple[str, ...]
    """``up`` or ``down``, one after the other."""
    pattern: tuple[int, ...]
    """Steps of one group, counted from 0; (0,) plays each note once."""
    slurs: frozenset[Attack]


def read_way(entries: Entries, notebook: Notebook) -> Way:
    """What ``path``, ``pattern`` and ``slur`` say."""
    return Way(
        _legs(entries.get("path"), notebook),
        _pattern(entries.get("pattern"), notebook),
        _slurs(entries.get("slur"), notebook),
    )


def read_shape(
    entries: Entries, scale: Scale, neck: Neck, position: int | None, notebook: Notebook
) -> Shape | None:
    """The shape that ``shape`` and ``position`` name, or None with a finding."""
    entry = entries.get("shape")
    if notebook.is_broken:
        return None
    if entry is None and position is None:
        notebook.error(
            "missing-key",
            entries["scale"].key,
            "The exercise does not say where on the neck it is played.",
            'Add "position: 5" with the fret of the first finger, or "shape: box 1".',
        )
        return None
    try:
        if entry is None:
            return _shape_at(scale, neck, position or 0)
        return _named_shape(entry, scale, neck, position, notebook)
    except FretwrightError as error:
        notebook.refused("no-such-shape", (entry or entries["position"]).span, error)
        return None


def _named_shape(
    entry: Entry, scale: Scale, neck: Neck, position: int | None, notebook: Notebook
) -> Shape | None:
    text = " ".join(entry.text.lower().split())
    if match := _PER_STRING.fullmatch(text):
        per_string = _COUNTS.get(match[1]) or int(match[1])
        return _shape_by_strings(scale, neck, per_string, None, position)
    if match := _BOX.fullmatch(text):
        return _box(entry, int(match[1]), scale, neck, position, notebook)
    refuse(
        entry,
        'Write "three notes per string", or "box 1" to "box 5" for a minor pentatonic or blues scale.',
        notebook,
    )
    return None


def _box(
    entry: Entry, number: int, scale: Scale, neck: Neck, position: int | None, notebook: Notebook
) -> Shape | None:
    boxes = {shape.position: shape for shape in _positions_of(scale, neck) if shape.box == number}
    if position is not None and position in boxes:
        return boxes[position]
    if position is None and boxes:
        return boxes[min(boxes)]
    where = f" at position {position}" if boxes else ""
    mend = f"It is at position {' or '.join(map(str, boxes))}." if boxes else "Say the position instead."
    message = f"{scale.name} has no box {number}{where} on this neck."
    notebook.error("no-such-shape", entry.span, message, mend)
    return None


def has_printed_fingers(entries: Entries, shape: Shape) -> bool:
    """Whether the shape is one that the trade prints with its fingers: named by the teacher, or a box."""
    return "shape" in entries or shape.box is not None


def notes_of(entries: Entries, shape: Shape, way: Way, notebook: Notebook) -> tuple[ShapeNote, ...] | None:
    """The notes in the order in which they are played, or None with findings."""
    chosen = _within(entries, shape, _on_strings(entries.get("strings"), shape, notebook), notebook)
    if notebook.is_broken or chosen is None:
        return None
    played = tuple(_along(chosen, way.legs, way.pattern))
    span = (entries.get("path") or entries["scale"]).span
    if not played:
        notebook.error(
            "nothing-to-play", span, "No note of the shape is left to play.", "Choose more strings or notes."
        )
        return None
    if len(played) > MOST_NOTES:
        message = f"The exercise has {len(played)} notes; no more than {MOST_NOTES} are built."
        notebook.error("exercise-too-long", span, message, 'Shorten the path and use "repeat".')
        return None
    return played


def _on_strings(entry: Entry | None, shape: Shape, notebook: Notebook) -> tuple[ShapeNote, ...]:
    """The notes of the shape on the chosen strings, from the lowest up."""
    if entry is None or entry.is_empty:
        return shape.notes
    strings: set[int] = set()
    for part in entry.parts():
        match = _STRINGS.fullmatch(part.text.lower())
        first, last = (int(match[1]), int(match[2] or match[1])) if match else (0, 0)
        if not {first, last} <= set(shape.neck.tuning.strings):
            count = shape.neck.tuning.string_count
            message = f"{quoted(part.text)} cannot be read as strings."
            mend = (
                f'Write strings from 1, the highest, to {count}, such as "{count} to {count - 2}" or "3, 2".'
            )
            notebook.error("bad-value", part, message, mend)
            continue
        strings.update(range(min(first, last), max(first, last) + 1))
    return tuple(note for note in shape.notes if note.place.string in strings)


def _within(
    entries: Entries, shape: Shape, notes: Sequence[ShapeNote], notebook: Notebook
) -> tuple[ShapeNote, ...] | None:
    """The notes from ``lowest`` to ``highest``, both included."""
    first = _limit(entries.get("lowest"), shape, notes, notebook)
    last = _limit(entries.get("highest"), shape, notes[::-1], notebook)
    if notebook.is_broken:
        return None
    start = notes.index(first) if first is not None else 0
    stop = notes.index(last) + 1 if last is not None else len(notes)
    return tuple(notes[start:stop])


def _limit(
    entry: Entry | None, shape: Shape, notes: Sequence[ShapeNote], notebook: Notebook
) -> ShapeNote | None:
    """The first of ``notes`` that the entry names: ``root``, a place, or a note such as ``D4`` or ``D``."""
    if entry is None or entry.is_empty:
        return None
    text = " ".join(entry.text.lower().split())
    found = next((note for note in notes if _names(text, note)), None)
    if found is None:
        there = ", ".join(str(note.pitch) for note in shape.notes if note in notes)
        message = f"{quoted(entry.text)} is none of the notes chosen."
        mend = f'Write "root", a place such as "string 5, fret 7", or one of {there}.'
        notebook.error("bad-value", entry.span, message, mend)
    return found


def _names(text: str, note: ShapeNote) -> bool:
    if text == "root":
        return note.degree == UNISON
    if match := _PLACE.fullmatch(text):
        return note.place == Place(int(match[1]), int(match[2]))
    try:
        return Pitch.parse(text).midi == note.pitch.midi
    except NotationError:
        return text == str(note.pitch.name).lower()


def _legs(entry: Entry | None, notebook: Notebook) -> tuple[str, ...]:
    if entry is None or entry.is_empty:
        return ("up",)
    legs = []
    for part in entry.parts():
        for word in re.split(r"\s+(?:and|then)\s+", part.text.lower()):
            if word in _LEGS:
                legs.append(word)
            else:
                message = f"{quoted(word)} is no way through a shape."
                near = nearest(word, _LEGS)
                mend = f'Did you mean "{near}"?' if near else 'Write up or down, or several: "up, down".'
                notebook.error("bad-value", part, message, mend)
    return tuple(legs)


def _pattern(entry: Entry | None, notebook: Notebook) -> tuple[int, ...]:
    """Steps of one group, counted from 0: ``1 2 3`` is three neighbours from every note, ``1 3`` thirds."""
    if entry is None or entry.is_empty:
        return (0,)
    words = [word.text.rstrip(",") for word in entry.words()]
    if len(words) <= 12 and all(re.fullmatch(r"[1-9]", word) for word in words) and "1" in words:
        return tuple(int(word) - 1 for word in words)
    refuse(
        entry,
        'Write the steps of one group, the note it starts from being 1, such as "1 2 3" or "1 3".',
        notebook,
    )
    return (0,)


def _slurs(entry: Entry | None, notebook: Notebook) -> frozenset[Attack]:
    if entry is None or entry.is_empty or entry.text.strip().lower() in {"none", "no"}:
        return frozenset()
    found = set()
    for part in entry.parts():
        for word in re.split(r"\s+and\s+", part.text.lower()):
            name = word.replace(" ", "-").removesuffix("s")
            if name in _SLURS:
                found.add(_SLURS[name])
            else:
                notebook.error("bad-value", part, f"{quoted(word)} is no slur.", did_you_mean(word, _SLURS))
    return frozenset(found)


def _along(notes: Sequence[ShapeNote], legs: Sequence[str], pattern: Sequence[int]) -> Iterator[ShapeNote]:
    groups = len(notes) - max(pattern)
    before: ShapeNote | None = None
    for leg in legs:
        ordered = notes if leg == "up" else notes[::-1]
        run = [ordered[start + step] for start in range(groups) for step in pattern]
        # Groups stay whole, so that accents fall where the pattern puts them; a plain run turns on one note.
        yield from run[1:] if run and run[0] is before and pattern == (0,) else run
        before = run[-1] if run else before
