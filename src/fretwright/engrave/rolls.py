"""Rolled chords: an upright wave before the heads and before the fret numbers, on the staff and in the tab.

A roll goes from the lowest string up; one that goes down says so by an arrow at its foot (common practice, no
source). y counts from the top line of the staff, or from the line of string 1 in the tab.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import pi, sin
from typing import Final

from fretwright.engrave.beside import Beside, RollSign
from fretwright.engrave.chords import ColumnShape
from fretwright.engrave.ink import Ink, Layer, Patch, Trace
from fretwright.engrave.pitches import y_of
from fretwright.engrave.style import TAB_SPACE
from fretwright.score.note import Note
from fretwright.score.techniques import Roll

_GAP: Final = 0.3
"""White on either side of the wave."""
_SWING: Final = 0.2
"""From the middle of the wave to its side."""
_LINE: Final = 0.14
_PERIOD: Final = 1.0
_POINTS: Final = 8
"""Of a period."""
_BEYOND: Final = 0.55
"""How far the wave reaches past the outermost heads."""
_SLASH_REACH: Final = 1.5
"""The same for a slash, which stands for the whole chord."""
_TAB_BEYOND: Final = 0.75
_ARROW: Final = (0.38, 0.8)
"""Half the width and the height of an arrow's head."""
_WIDTH: Final = 2 * max(_SWING + _LINE / 2, _ARROW[0])


def with_rolls(notes: Sequence[Note], room: Beside) -> Beside:
    """A column with the room for its waves: one, or one for each way that notes are rolled."""
    for roll in Roll:
        rolled = tuple(note for note in notes if note.techniques.roll is roll)
        if rolled:
            left, tab_left = room.left + _GAP + _WIDTH / 2, room.tab_left + _GAP + _WIDTH / 2
            room = replace(
                room,
                rolls=(*room.rolls, RollSign(roll, rolled, -left, -tab_left)),
                left=left + _WIDTH / 2,
                tab_left=tab_left + _WIDTH / 2,
            )
    return room


def staff_rolls(room: Beside, columns: Sequence[ColumnShape], x: float) -> Iterator[Ink]:
    """The waves of a moment on the staff, from the highest to the lowest head that is rolled."""
    steps = {head.head.note.id: y_of(head.step) for column in columns for head in column.heads}
    is_slash = any(column.is_slash for column in columns)
    reach = _SLASH_REACH if is_slash else _BEYOND
    for sign in room.rolls:
        heights = _heights(sign.notes, steps)
        yield from _wave(sign, x + sign.dx, min(heights) - reach, max(heights) + reach, "staff")


def _heights(notes: Sequence[Note], steps: Mapping[str, float]) -> list[float]:
    """Where the heads of notes stand; of strings that share a slash only one has a head."""
    return [steps[note.id] for note in notes if note.id in steps] or list(steps.values())


def tab_rolls(room: Beside, x: float) -> Iterator[Ink]:
    """The waves of a moment in the tab."""
    for sign in room.rolls:
        heights = [(note.string - 1) * TAB_SPACE for note in sign.notes]
        top, bottom = min(heights) - _TAB_BEYOND, max(heights) + _TAB_BEYOND
        yield from _wave(sign, x + sign.tab_dx, top, bottom, "tab")


def _wave(sign: RollSign, x: float, top: float, bottom: float, layer: Layer) -> Iterator[Ink]:
    note = sign.notes[0].id
    wide, high = _ARROW
    if sign.roll is Roll.DOWN:
        tip = ((x - wide, bottom - high), (x + wide, bottom - high), (x, bottom))
        yield Patch(tip, role="roll", note=note, layer=layer)
        bottom -= high
    count = max(1, round((bottom - top) / _PERIOD)) * _POINTS
    points = tuple(
        (x + _SWING * sin(2 * pi * nth / _POINTS), top + (bottom - top) * nth / count)
        for nth in range(count + 1)
    )
    yield Trace(points, _LINE, role="roll", note=note, layer=layer)
