"""The five lines and all that stands on them, one system at a time.

y counts from the top line downwards. Leaves the ink and, for arcs and marks, the places of heads and
columns.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from fretwright.engrave.beaming import beam_levels
from fretwright.engrave.beams import BEAM_STEP, beam_ends, single_tip
from fretwright.engrave.chords import DOT_WIDTH, ColumnShape, flag_name, head_name, rest_name
from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import Glyph, Ink, Line
from fretwright.engrave.pitches import y_of
from fretwright.engrave.placing import PlacedBar, PlacedSystem
from fretwright.engrave.style import BEAM, LEDGER, LEDGER_EXTENSION, STAFF_LINE, STEM

STAFF_HEIGHT: Final = 4.0
BEAMLET: Final = 1.1
"""Length of a beam that joins no other stem."""


@dataclass(frozen=True, slots=True)
class HeadSpot:
    """Where a head stands, for arcs."""

    left: float
    right: float
    clear_left: float
    """Left edge of all that belongs to its column."""
    clear_right: float
    """Right edge of all that belongs to its column."""
    y: float
    up: bool
    """Which way its stem points."""
    outer: int
    """1 for the highest head of its column, -1 for the lowest, 0 for one between; a lone head is 1."""
    alone: bool


@dataclass(frozen=True, slots=True)
class ColumnSpot:
    """Where a column stands, for tuplets and marks."""

    x: float
    tip: float
    """y of the free end of its stem, or of its middle where it has none."""
    up: bool
    beamed: bool


@dataclass(slots=True)
class Drawing:
    """What a layer of a system has drawn so far. Filled by the functions that draw."""

    ink: list[Ink] = field(default_factory=list)
    heads: dict[tuple[str, int], HeadSpot] = field(default_factory=dict)
    columns: dict[Fraction, ColumnSpot] = field(default_factory=dict)


def draw_staff(system: PlacedSystem) -> Drawing:
    """Heads, stems, beams, rests, dots and ledger lines of a system."""
    drawing = Drawing()
    for bar in system.bars:
        tips = _beam_bar(bar, drawing)
        beamed = {index for group in bar.plan.beams for index in group}
        for index, (shape, x) in enumerate(bar.columns):
            if shape.column.is_rest:
                drawing.ink.extend(_rest(shape, x))
                drawing.columns[shape.column.at] = ColumnSpot(x, 2.0, shape.up, beamed=False)
                continue
            drawing.ink.extend(_heads(shape, x))
            tip = tips.get(index)
            if tip is None:
                tip = single_tip(shape.low, shape.high, shape.column.value.flags, up=shape.up)
                if shape.up and shape.column.value.flags and any(head.dx > 0 for head in shape.heads):
                    tip -= 0.4  # clears the flag of a head on the far side of the stem
            if shape.column.value.base < 1:
                drawing.ink.extend(_stem(shape, x, tip, flagged=index not in beamed))
            else:
                tip = y_of(shape.high) - 0.5 if shape.up else y_of(shape.low) + 0.5
            drawing.columns[shape.column.at] = ColumnSpot(x, tip, shape.up, index in beamed)
            drawing.heads.update(_spots(shape, x))
    return drawing


def staff_lines(left: float, right: float) -> list[Ink]:
    """The five lines."""
    return [Line(left, float(y), right, float(y), STAFF_LINE, role="staff-line") for y in range(5)]


def stem_x(x: float, *, up: bool) -> float:
    """Where the stem of a column stands: right of its heads when up, left when down."""
    half = glyph("noteheadBlack").width_sp / 2 - STEM / 2
    return x + half if up else x - half


def _spots(shape: ColumnShape, x: float) -> Iterator[tuple[tuple[str, int], HeadSpot]]:
    width = glyph(head_name(shape.column.value)).width_sp
    last = len(shape.heads) - 1
    for index, head in enumerate(shape.heads):
        outer = 1 if index == last else -1 if index == 0 else 0
        left = x + head.dx
        spot = HeadSpot(
            left, left + width, x - shape.left, x + shape.right, y_of(head.step), shape.up, outer, last == 0
        )
        yield (head.head.note.id, head.head.index), spot


def _heads(shape: ColumnShape, x: float) -> Iterator[Ink]:
    name = head_name(shape.column.value)
    for head in shape.heads:
        note = head.head.note.id
        yield Glyph(name, x + head.dx, y_of(head.step), role="notehead", note=note)
        if head.accidental:
            yield Glyph(
                head.accidental, x + head.accidental_dx, y_of(head.step), role="accidental", note=note
            )
    note_of_dot = shape.heads[0].head.note.id if len(shape.heads) == 1 else None
    for step in shape.dot_steps:
        yield from dots(x + shape.dots_dx, y_of(step), shape.column.value.dots, note_of_dot)
    yield from _ledger_lines(shape, x, glyph(name).width_sp)


def dots(x: float, y: float, count: int, note: str | None = None) -> Iterator[Ink]:
    """Augmentation dots in a row."""
    for index in range(count):
        yield Glyph("augmentationDot", x + index * (DOT_WIDTH + 0.2), y, role="dot", note=note)


def _ledger_lines(shape: ColumnShape, x: float, width: float) -> Iterator[Ink]:
    for side in (1, -1):
        reach = shape.high if side > 0 else shape.low
        first = 10 if side > 0 else -2
        for step in range(first, reach + side, 2 * side):
            carried = [head.dx for head in shape.heads if (head.step - step) * side >= 0]
            left = x + min(carried) - LEDGER_EXTENSION
            right = x + max(carried) + width + LEDGER_EXTENSION
            yield Line(left, y_of(step), right, y_of(step), LEDGER, role="ledger")


def _stem(shape: ColumnShape, x: float, tip: float, *, flagged: bool) -> Iterator[Ink]:
    at = stem_x(x, up=shape.up)
    far = y_of(shape.low) - 0.17 if shape.up else y_of(shape.high) + 0.17
    yield Line(at, far, at, tip, STEM, role="stem")
    if flagged and shape.column.value.flags:
        name = flag_name(shape.column.value, up=shape.up)
        yield Glyph(name, at - STEM / 2, tip, role="flag")


def _rest(shape: ColumnShape, x: float) -> Iterator[Ink]:
    value = shape.column.value
    name = rest_name(value)
    left, _, right, _ = glyph(name).box_sp
    y = y_of(6) if value.base == 1 else y_of(4)
    yield Glyph(name, x - (left + right) / 2, y, role="rest")
    if not shape.column.fills_bar:
        for step in shape.dot_steps:
            yield from dots(x + shape.dots_dx, y_of(step), value.dots)


def _beam_bar(bar: PlacedBar, drawing: Drawing) -> dict[int, float]:
    """Draw the beams of a bar; leaves the stem tip of each beamed column."""
    tips: dict[int, float] = {}
    for group in bar.plan.beams:
        shapes = [bar.plan.shapes[index] for index in group]
        up = shapes[0].up
        xs = [stem_x(bar.axes[index], up=up) for index in group]
        near = [shape.high if up else shape.low for shape in shapes]
        flags = [shape.column.value.flags for shape in shapes]
        tall = [_accidental_reach(shape) for shape in shapes]
        left, right = beam_ends(xs, near, flags, tall, up=up)
        slope = (right - left) / (xs[-1] - xs[0])
        heights = [left + (x - xs[0]) * slope for x in xs]
        tips.update(zip(group, heights, strict=True))
        levels = beam_levels([shape.column for shape in shapes], bar.plan.content.bar.meter.beat)
        drawing.ink.extend(beam_ink(xs, heights, levels, up=up))
    return tips


def _accidental_reach(shape: ColumnShape) -> float:
    """How far accidentals reach from a column's head next to the beam towards the beam."""
    reach = 0.0
    for head in shape.heads:
        if head.accidental is not None:
            _, top, _, bottom = glyph(head.accidental).box_sp
            beyond = (head.step - shape.high) / 2 - top if shape.up else (shape.low - head.step) / 2 + bottom
            reach = max(reach, beyond)
    return reach


def beam_ink(
    xs: Sequence[float], heights: Sequence[float], levels: list[list[tuple[int, int, str]]], *, up: bool
) -> Iterator[Ink]:
    """Beams and beamlets between stems that end at the given heights."""
    slope = (heights[-1] - heights[0]) / (xs[-1] - xs[0])
    for level, runs in enumerate(levels):
        shift = level * BEAM_STEP * (1 if up else -1)
        for first, last, side in runs:
            left, right = xs[first] - STEM / 2, xs[last] + STEM / 2
            if side == "right":
                right = left + BEAMLET
            elif side == "left":
                left = right - BEAMLET
            y0 = heights[first] + (left - xs[first]) * slope + shift
            y1 = y0 + (right - left) * slope
            yield Line(left, y0, right, y1, BEAM, role="beam")
