"""Exercises by rule: a scale laid on the neck, and the notes of it that are chosen."""

import re
from collections.abc import Sequence
from contextlib import suppress
from functools import lru_cache
from itertools import islice
from typing import Final

from fretwright.base.errors import FretboardError, FretwrightError, NotationError
from fretwright.course.entries import Entries, Entry
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.values import refuse
from fretwright.course.way import Way
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.shapes import Shape, ShapeNote, positions_of, shape_at, shape_by_strings
from fretwright.theory.interval import UNISON
from fretwright.theory.pitch import Pitch
from fretwright.theory.scale import Scale

MOST_NOTES: Final = 2000
_OCTAVE_FRETS: Final = 12

_PER_STRING = re.compile(
    r"(one|two|three|four|five|six|[1-6])\s+notes?\s+(?:per|on each|on every|a)\s+string"
)
_BOX = re.compile(r"box\s+([1-9])")
_COUNTS: Final = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6}
_STRINGS = re.compile(r"(?:from\s+)?(?:strings?\s+)?([1-9])(?:\s*(?:to|-|–)\s*(?:string\s+)?([1-9]))?")
_PLACE = re.compile(r"string\s+([1-9])\s*,?\s*fret\s+([0-9]{1,2})")
_ALONG = re.compile(r"(?:along\s+)?(?:one\s+)?string\s+([1-9])")

_shape_at = lru_cache(maxsize=512)(shape_at)
_shape_by_strings = lru_cache(maxsize=512)(shape_by_strings)
_positions_of = lru_cache(maxsize=128)(positions_of)


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
    if match := _ALONG.fullmatch(text):
        return _along_string(int(match[1]), scale, neck, position or 0)
    refuse(
        entry,
        'Write "three notes per string", "along string 3", or "box 1" to "box 5" for a minor pentatonic or '
        "blues scale.",
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


def _along_string(string: int, scale: Scale, neck: Neck, position: int) -> Shape:
    """An octave of the scale on one string, from ``position`` up, or as much as the neck has of it.

    The hand travels, so that the fingers are left to the search; those of the shape are a place holder.
    Raises :class:`~fretwright.base.errors.FretboardError` where the instrument has no such string.
    """
    open_midi = neck.midi_at(Place(string, 0))
    notes = []
    for fret in range(position, min(position + _OCTAVE_FRETS, neck.last_fret) + 1):
        if scale.contains(open_midi + fret):
            pitch = scale.spell(open_midi + fret)
            degree = scale.tonic.interval_to(pitch.name)
            notes.append(ShapeNote(Place(string, fret), min(fret, 1), pitch, degree))
    return Shape(scale, neck, position, tuple(notes))


def places_of_shape(entries: Entries, scale: Scale, neck: Neck) -> tuple[int, ...] | None:
    """Every position where the scale lies well, in the shape that is named; None for one with its own places.

    Raises :class:`~fretwright.base.errors.FretboardError` where there is none at all.
    """
    entry = entries.get("shape")
    if entry is None:
        return tuple(sorted({shape.position for shape in _positions_of(scale, neck)}))
    match = _PER_STRING.fullmatch(" ".join(entry.text.lower().split()))
    if match is None:
        return None
    per_string = _COUNTS.get(match[1]) or int(match[1])
    found = {_shape_by_strings(scale, neck, per_string).position}
    for hint in range(1, _OCTAVE_FRETS + 1):
        with suppress(FretboardError):  # too near the end of the neck
            found.add(_shape_by_strings(scale, neck, per_string, None, hint).position)
    return tuple(sorted(found))


def is_along_string(entries: Entries) -> bool:
    """Whether the exercise goes along one string, where no hand position holds its notes."""
    entry = entries.get("shape")
    return entry is not None and _ALONG.fullmatch(" ".join(entry.text.lower().split())) is not None


def has_printed_fingers(entries: Entries, shape: Shape) -> bool:
    """Whether the shape is one that the trade prints with its fingers: named by the teacher, or a box."""
    return ("shape" in entries and not is_along_string(entries)) or shape.box is not None


def notes_of(entries: Entries, shape: Shape, way: Way, notebook: Notebook) -> tuple[ShapeNote, ...] | None:
    """The notes in the order in which they are played, or None with findings."""
    chosen = _within(entries, shape, _on_strings(entries.get("strings"), shape, notebook), notebook)
    if notebook.is_broken or chosen is None:
        return None
    played = tuple(islice(way.along(chosen), MOST_NOTES + 1))
    span = (entries.get("path") or entries["scale"]).span
    if not played:
        notebook.error(
            "nothing-to-play", span, "No note of the shape is left to play.", "Choose more strings or notes."
        )
        return None
    if len(played) > MOST_NOTES:
        message = f"The exercise has more than {MOST_NOTES} notes, and no more are built."
        notebook.error("exercise-too-long", span, message, 'Shorten the path and use "repeat".')
        return None
    return played


def read_strings(entry: Entry | None, neck: Neck, notebook: Notebook) -> frozenset[int] | None:
    """The strings that are named, such as ``6 to 4``; None where nothing is said."""
    if entry is None or entry.is_empty:
        return None
    strings: set[int] = set()
    for part in entry.parts():
        match = _STRINGS.fullmatch(part.text.lower())
        first, last = (int(match[1]), int(match[2] or match[1])) if match else (0, 0)
        if not {first, last} <= set(neck.tuning.strings):
            count = neck.tuning.string_count
            message = f"{quoted(part.text)} cannot be read as strings."
            mend = (
                f'Write strings from 1, the highest, to {count}, such as "{count} to {count - 2}" or "3, 2".'
            )
            notebook.error("bad-value", part, message, mend)
            continue
        strings.update(range(min(first, last), max(first, last) + 1))
    return frozenset(strings)


def _on_strings(entry: Entry | None, shape: Shape, notebook: Notebook) -> tuple[ShapeNote, ...]:
    """The notes of the shape on the chosen strings, from the lowest up."""
    strings = read_strings(entry, shape.neck, notebook)
    if strings is None:
        return shape.notes
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
