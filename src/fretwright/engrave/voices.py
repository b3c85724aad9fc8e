"""Two voices at one moment: who stands aside, who shares a head, where accidentals and dots go.

The upper voice's stems point up, the lower one's down. Common practice, no source: voices a third or more
apart stand on one axis; a second or a unison that cannot be shared puts the lower voice to the right, so that
the two stems make one line; voices that cross put the upper one to the right. A unison in the same value has
one head with two stems.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from fretwright.engrave.chords import (
    BRACKET_WIDTH,
    DOT_WIDTH,
    ColumnShape,
    HeadShape,
    accidental_places,
    dot_steps,
)
from fretwright.engrave.pitches import SignKey
from fretwright.engrave.style import DOT_GAP, LEDGER_EXTENSION, STEM

_BRACKETED: Final = 2
"""Steps between two voices at which brackets around the one touch the other."""
_CROSSED: Final = 0.2
"""White between the heads of voices that cross."""


def set_together(shapes: Sequence[ColumnShape], signs: Mapping[SignKey, str]) -> tuple[ColumnShape, ...]:
    """The columns of one moment in their places beside each other, each shaped alone and without signs."""
    if len(shapes) < 2 or any(shape.column.is_rest for shape in shapes):
        return tuple(_with_signs([shape], signs)[0] for shape in shapes)
    upper, lower = shapes
    apart = upper.low - lower.high
    if apart == 0 and _shares(upper, lower):
        heads = (*lower.heads[:-1], replace(lower.heads[-1], is_shared=True))
        lower = replace(lower, heads=heads)
    elif apart in (0, 1) or (apart == _BRACKETED and (upper.brackets or lower.brackets)):
        joint = 0.15 if upper.brackets or lower.brackets else -STEM
        lower = _moved(lower, _reach(upper, 1) + _reach(lower, -1) + joint)
    elif apart < 0:
        on_ledger = upper.low < -1 or upper.high > 9
        room = _CROSSED + (LEDGER_EXTENSION if on_ledger and lower.column.value.flags else 0.0)
        upper = _moved(upper, _reach(lower, 1) + _reach(upper, -1) + room)
    return tuple(_with_dots(_with_signs([upper, lower], signs)))


def _shares(upper: ColumnShape, lower: ColumnShape) -> bool:
    high, low = lower.heads[-1], upper.heads[0]
    return (
        high.glyph == low.glyph
        and high.head.note.pitch == low.head.note.pitch
        and upper.column.value.dots == lower.column.value.dots
        and upper.column.value.base < 1
        and not upper.brackets
        and not lower.brackets
        and high.dx == low.dx
    )


def _reach(shape: ColumnShape, side: int) -> float:
    """How far heads and brackets reach to the right (1) or left (-1)."""
    if shape.brackets:
        foot = shape.bracket_dx[1 if side > 0 else 0]
        return side * foot + BRACKET_WIDTH
    stem = side * (shape.stem_dx - shape.dx) + STEM / 2  # where its stem stands on this side, no nearer
    if side > 0:
        return max(stem, *(head.dx + head.width for head in shape.heads))
    return max(stem, *(-head.dx for head in shape.heads))


def _moved(shape: ColumnShape, dx: float) -> ColumnShape:
    heads = tuple(replace(head, dx=head.dx + dx) for head in shape.heads)
    feet = (shape.bracket_dx[0] + dx, shape.bracket_dx[1] + dx)
    return replace(
        shape, heads=heads, dx=dx, dots_dx=shape.dots_dx + dx, left=shape.left - dx, right=shape.right + dx,
        bracket_dx=feet,
    )  # fmt: skip


def _with_signs(shapes: Sequence[ColumnShape], signs: Mapping[SignKey, str]) -> list[ColumnShape]:
    """Accidentals of all voices stacked as those of one chord."""
    placed = sorted(
        ((head.step, voice, place) for voice, shape in enumerate(shapes)
         for place, head in enumerate(shape.heads)),
    )  # fmt: skip
    heads = [shapes[voice].heads[place] for _, voice, place in placed]
    marks = [signs.get((head.head.note.id, head.head.index)) for head in heads]
    if not any(marks):
        return list(shapes)
    left = max(_left_of_signs(shape) for shape in shapes)
    at = accidental_places([head.step for head in heads], marks, left)
    signed: list[list[HeadShape]] = [list(shape.heads) for shape in shapes]
    reach = [shape.left for shape in shapes]
    for (_, voice, place), mark, dx in zip(placed, marks, at, strict=True):
        if mark:
            signed[voice][place] = replace(signed[voice][place], accidental=mark, accidental_dx=dx)
            reach[voice] = max(reach[voice], -dx)
    return [
        replace(shape, heads=tuple(own), left=left_of)
        for shape, own, left_of in zip(shapes, signed, reach, strict=True)
    ]


def _left_of_signs(shape: ColumnShape) -> float:
    if not shape.heads:
        return 0.0
    on_ledger = not shape.brackets and (shape.low < -1 or shape.high > 9)
    return _reach(shape, -1) + (LEDGER_EXTENSION - 0.1 if on_ledger else 0.0)


def _with_dots(shapes: Sequence[ColumnShape]) -> list[ColumnShape]:
    """Dots of both voices in one row of places, the lower voice's under their lines."""
    dotted = [shape for shape in shapes if shape.dot_steps]
    if not dotted:
        return list(shapes)
    aside = max([shape.dots_dx for shape in dotted] + [_reach(shape, 1) + DOT_GAP for shape in shapes])
    upper, lower = shapes
    steps = tuple(-step for step in dot_steps([-head.step for head in lower.heads]))
    below = tuple(step for step in sorted(steps) if step not in upper.dot_steps) if lower.dot_steps else ()
    right = [
        max(shape.right, aside + shape.column.value.dots * (DOT_WIDTH + 0.2))
        if shape.dot_steps
        else shape.right
        for shape in shapes
    ]
    return [
        replace(upper, dots_dx=aside, right=right[0]),
        replace(lower, dots_dx=aside, right=right[1], dot_steps=below),
    ]
