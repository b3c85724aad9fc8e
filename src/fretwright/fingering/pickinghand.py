"""Which finger of the picking hand plucks which string.

The thumb has the basses, from the fourth string down; index, middle and ring finger have strings 3, 2 and 1,
each its own, so that a chord falls under the hand. In a run that stays on a string no finger plucks twice in
a row: index and middle alternate. In two voices the thumb plays the lower one wherever it lies. All of this
is common practice, no source.

Fingers are given to scores that are played by fingers: where the teacher has written one, or where two voices
move against each other. All others are played with a pick.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from typing import Final

from fretwright.score.note import Attack, Note
from fretwright.score.score import Score
from fretwright.score.techniques import PickingFinger

_THUMB, _INDEX, _MIDDLE, _RING = PickingFinger
_OF_STRING: Final = {3: _INDEX, 2: _MIDDLE, 1: _RING}
_HANDS_ORDER: Final = (_INDEX, _MIDDLE, _RING)
"""From the fingers' lowest string to their highest."""


def is_fingerstyle(score: Score) -> bool:
    """Whether fingers pluck the strings, and no pick."""
    if any(note.picking_finger is not None for note in score.notes):
        return True
    return any(note.voice > 1 for note in score.notes) and all(note.stroke is None for note in score.notes)


def with_picking_fingers(score: Score) -> Score:
    """The score with a finger for each plucked note, where fingers play it; those that are written stay."""
    if not is_fingerstyle(score):
        return score
    row: dict[str, PickingFinger] = {}
    before: dict[PickingFinger, int] = {}
    for _, group in groupby(score.notes, key=lambda note: note.onset):
        chord = [note for note in group if note.attack is Attack.PLUCK and note.stroke is None]
        if not chord:
            continue
        taken = _of_chord(chord, before)
        row |= {note.id: finger for note, finger in zip(chord, taken, strict=True)}
        before = {finger: note.string for note, finger in zip(chord, taken, strict=True)}
    return score.with_notes(
        tuple(replace(note, picking_finger=row.get(note.id, note.picking_finger)) for note in score.notes)
    )


def _of_chord(chord: Sequence[Note], before: dict[PickingFinger, int]) -> list[PickingFinger]:
    """The fingers of what is plucked together, from the lowest string up."""
    if len(chord) == 1:
        (note,) = chord
        return [note.picking_finger or _alone(note, before)]
    trebles = [note for note in chord if not _is_bass(note)]
    spread = _spread(trebles)
    return [note.picking_finger or spread.get(note.string, _THUMB) for note in chord]


def _is_bass(note: Note) -> bool:
    return note.voice > 1 or note.string not in _OF_STRING


def _alone(note: Note, before: dict[PickingFinger, int]) -> PickingFinger:
    """The finger of a single note: another one than plucked just before on the same string."""
    if _is_bass(note):
        return _THUMB
    own = _OF_STRING[note.string]
    if before.get(_INDEX) == note.string:
        return _MIDDLE
    if before.get(_MIDDLE) == note.string or before.get(_RING) == note.string:
        return _INDEX
    return own if own not in before else _MIDDLE if own is _INDEX else _INDEX


def _spread(trebles: Sequence[Note]) -> dict[int, PickingFinger]:
    """Fingers by string for the upper notes of a chord: each on its own string where they fit."""
    strings = [note.string for note in trebles]
    if all(string in _OF_STRING for string in strings):
        return {string: _OF_STRING[string] for string in strings}
    return dict(zip(strings, _HANDS_ORDER, strict=False))
