"""Room among the notes themselves: beams over neighbours, flags beside crowded heads, rests of two voices.

One voice with nothing beside its columns needs none of this. Where voices share a bar, or grace notes and the
goals of bends stand between columns, beams, flags and rests give way outwards, step by step.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from fretwright.engrave.beams import BEAM_STEP
from fretwright.engrave.chords import ColumnShape, flag_name, rest_name
from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import Box, Glyph, Ink, Line
from fretwright.engrave.pitches import y_of
from fretwright.engrave.style import BEAM, LEDGER, STEM

_WHITE: Final = 0.2
"""Least white between a beam, flag or rest and what it gives way to."""
_STEP: Final = 0.25
_MOST_STEPS: Final = 60
_REST_SHIFT: Final = 2
"""Spaces by which the rests of two voices stand apart from the middle."""


def solid_boxes(ink: Sequence[Ink]) -> list[Box]:
    """The boxes of primitives, each with a little white around it."""
    return [
        Box(box.left - _WHITE, box.top - _WHITE, box.right + _WHITE, box.bottom + _WHITE)
        for each in ink
        for box in each.boxes
    ]


def clear_beam(
    xs: Sequence[float], heights: Sequence[float], levels: int, obstacles: Sequence[Box], *, up: bool
) -> float:
    """By how much a beam has to move outwards (signed) to be clear of everything between its ends."""
    side = -1 if up else 1
    depth = (levels - 1) * BEAM_STEP + BEAM / 2
    shift = 0.0
    for box in obstacles:
        if box.right <= xs[0] or box.left >= xs[-1]:
            continue
        left, right = max(box.left, xs[0]), min(box.right, xs[-1])
        inner = min(side * _height_at(xs, heights, x) for x in (left, right)) - depth
        reach = side * (box.top if up else box.bottom)
        shift = max(shift, reach - inner)
    return side * -(-shift // _STEP) * _STEP


def _height_at(xs: Sequence[float], heights: Sequence[float], x: float) -> float:
    for (xa, xb), (ya, yb) in zip(pairwise(xs), pairwise(heights), strict=True):
        if x <= xb:
            return ya + (x - xa) / (xb - xa) * (yb - ya)
    return heights[-1]


def clear_stem(shape: ColumnShape, x: float, tip: float, obstacles: Sequence[Box]) -> float:
    """The tip of a flagged stem, moved outwards until its flag is clear of what stands beside it."""
    name = flag_name(shape.column.value, up=shape.up)
    side = -1 if shape.up else 1
    near = [box for box in obstacles if x - 2.5 < box.right and box.left < x + 2.5]
    for _ in range(_MOST_STEPS):
        flag = Glyph(name, x + shape.stem_dx - STEM / 2, tip, role="flag")
        if not any(piece.meets(box) for piece in flag.boxes for box in near):
            break
        tip += side * _STEP
    return tip


def rest_ink(shape: ColumnShape, x: float, side: int, obstacles: Sequence[Box]) -> Iterator[Ink]:
    """A rest of one of two voices: over (-1) or under (1) the middle, or in it (0), as near as it can be."""
    value = shape.column.value
    name = rest_name(value)
    left, _, right, _ = glyph(name).box_sp
    at = x - (left + right) / 2
    y = y_of(6) if value.base == 1 else y_of(4)
    # A whole rest hangs from the line above the middle already.
    y += side * (_REST_SHIFT if value.base < 1 or side > 0 else _REST_SHIFT - 1)
    pieces = _pieces(shape, x, Glyph(name, at, y, role="rest"))
    for _ in range(_MOST_STEPS):
        if not side or not any(
            box.meets(other) for each in pieces for box in each.boxes for other in obstacles
        ):
            break
        y += side
        pieces = _pieces(shape, x, Glyph(name, at, y, role="rest"))
    yield from pieces


_ON_A_LINE: Final = 0.5
"""Whole and half rests hang from a line or lie on it."""
_STAFF_BOTTOM: Final = 4.0
_OWN_LINE: Final = 0.95
"""Half of the line that a rest outside the staff hangs from or lies on."""


def _pieces(shape: ColumnShape, x: float, sign: Glyph) -> list[Ink]:
    """A rest with its dots, and with a line of its own where it needs one outside the staff."""
    value = shape.column.value
    ink: list[Ink] = [sign]
    if not shape.column.fills_bar:
        ink += [
            Glyph("augmentationDot", x + shape.dots_dx + index * 0.6, _dot_y(shape, sign.y), role="dot")
            for index in range(value.dots)
        ]
    if value.base >= _ON_A_LINE and not 0 <= sign.y <= _STAFF_BOTTOM:
        ink.append(Line(x - _OWN_LINE, sign.y, x + _OWN_LINE, sign.y, LEDGER, role="ledger"))
    return ink


def _dot_y(shape: ColumnShape, y: float) -> float:
    """In the space over the line that the rest is centred on."""
    return y + 0.5 if shape.column.value.base == 1 else y - 0.5
