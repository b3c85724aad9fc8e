"""Strokes through the stem of a note that is struck again and again.

They stand as near to the head as its accidental, its dots and its neighbours allow; the stem is then as long
as they need.
"""

from collections.abc import Sequence
from typing import Final

from fretwright.engrave.chords import ColumnShape
from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import Box, Glyph
from fretwright.engrave.pitches import y_of

_FOOT: Final = 0.85
"""Least distance from the middle of a head to the nearest stroke."""
_STEP: Final = 0.25
_MOST_STEPS: Final = 40


def tremolo(shape: ColumnShape, x: float, obstacles: Sequence[Box]) -> Glyph:
    """The strokes of a column that has some; over or under a head without a stem.

    ``obstacles`` is what else stands in the bar, with white around it.
    """
    name = f"tremolo{shape.tremolo}"
    _, top, _, bottom = glyph(name).box_sp
    side = -1 if shape.up else 1
    away = _foot(shape) + (bottom - top) / 2
    middle = y_of(shape.high if shape.up else shape.low) - (top + bottom) / 2
    at = x + (shape.stem_dx if shape.column.value.base < 1 else shape.dx)
    near = [box for box in obstacles if at - 1.0 < box.right and box.left < at + 1.0]
    strokes = Glyph(name, at, middle + side * away, role="tremolo")
    for _ in range(_MOST_STEPS):
        if not any(strokes.box.meets(box) for box in near):
            break
        strokes = strokes.moved(0.0, side * _STEP)
    return strokes


def tremolo_reach(shape: ColumnShape, strokes: Glyph) -> float:
    """From the head next to the stem's tip to the far edge of the strokes."""
    return y_of(shape.high) - strokes.box.top if shape.up else strokes.box.bottom - y_of(shape.low)


def _foot(shape: ColumnShape) -> float:
    """From the head next to the stem's tip to the nearest stroke, past its accidental and its dots."""
    dots_reach = 0.0
    if shape.dot_steps and shape.up:
        dots_reach = max(0.0, (shape.dot_steps[-1] - shape.high) / 2) + 0.5
    half = shape.heads[0].half_height
    return max(_FOOT + half - 0.5, accidental_reach(shape) + 0.25, dots_reach)


def accidental_reach(shape: ColumnShape) -> float:
    """How far accidentals reach from the head next to the stem's tip towards it."""
    reach = 0.0
    for head in shape.heads:
        if head.accidental is not None:
            _, top, _, bottom = glyph(head.accidental).box_sp
            beyond = (head.step - shape.high) / 2 - top if shape.up else (shape.low - head.step) / 2 + bottom
            reach = max(reach, beyond)
    return reach
