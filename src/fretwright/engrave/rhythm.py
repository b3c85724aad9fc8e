"""Rhythm below a tab that stands alone: stems, flags, beams, rests, dots.

y counts from the line of string 1 downwards. A quarter or shorter is a stem without a head; a half or
whole note keeps its open head, small, so that no value is told by a stem's length alone.
"""

from collections.abc import Iterator
from typing import Final

from fretwright.engrave.beaming import beam_levels
from fretwright.engrave.chords import ColumnShape, head_name, rest_name
from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import Glyph, Ink, Line
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.staff import ColumnSpot, Drawing, beam_ink, dots
from fretwright.engrave.style import BEAM, STEM

RHYTHM_HEIGHT: Final = 2.6
"""From the top of a stem to the middle of the outer beam."""
FLAG_ROOM: Final = 1.15
"""From a stem to the first dot after its flag."""
_HEAD_SCALE: Final = 0.75
_REST_SCALE: Final = 0.85


def draw_rhythm(system: PlacedSystem, top: float) -> Drawing:
    """The rhythm of a system, its stems starting at ``top``."""
    drawing = Drawing()
    for bar in system.bars:
        beamed = {index for group in bar.plan.beams for index in group}
        for index, (shape, x) in enumerate(bar.columns):
            levels = max(0, shape.column.value.flags - 2)
            tip = top + RHYTHM_HEIGHT + 0.75 * levels
            drawing.columns[shape.column.at] = ColumnSpot(x, tip, up=False, beamed=index in beamed)
            if shape.column.is_rest:
                drawing.ink.extend(_rest(shape, x, top))
            else:
                drawing.ink.extend(_stem(shape, x, top, tip, flagged=index not in beamed))
        for group in bar.plan.beams:
            columns = [bar.plan.content.columns[index] for index in group]
            depth = top + RHYTHM_HEIGHT + 0.75 * max(0, max(column.value.flags for column in columns) - 2)
            xs = [bar.axes[index] for index in group]
            levels_of = beam_levels(columns, bar.plan.content.bar.meter.beat)
            drawing.ink.extend(Line(x, top, x, depth, STEM, role="stem", layer="tab") for x in xs)
            for each in beam_ink(xs, [depth] * len(xs), levels_of, up=False):
                drawing.ink.append(_in_tab(each))
    return drawing


def _in_tab(ink: Ink) -> Ink:
    assert isinstance(ink, Line)  # noqa: S101 - beams are lines
    return Line(ink.x0, ink.y0, ink.x1, ink.y1, BEAM, role="beam", layer="tab")


def _stem(shape: ColumnShape, x: float, top: float, tip: float, *, flagged: bool) -> Iterator[Ink]:
    value = shape.column.value
    note = shape.column.heads[0].note.id if len(shape.column.heads) == 1 else None
    if value.base.denominator <= 2:
        name = head_name(value)
        left, _, right, _ = glyph(name).box_sp
        half = (right - left) / 2 * _HEAD_SCALE
        yield Glyph(
            name,
            x - half - left * _HEAD_SCALE,
            top + 0.6,
            _HEAD_SCALE,
            role="rhythm-head",
            note=note,
            layer="tab",
        )
        if value.base.denominator == 2:
            at = x - half + STEM / 2
            yield Line(at, top + 0.7, at, tip, STEM, role="stem", layer="tab")
    elif flagged:
        yield Line(x, top, x, tip, STEM, role="stem", layer="tab")
        if value.flags:
            name = f"flag{('8th', '16th', '32nd', '64th')[value.flags - 1]}Down"
            yield Glyph(name, x - STEM / 2, tip, 0.8, role="flag", layer="tab")
    reach = 0.8 if value.base.denominator <= 2 else FLAG_ROOM if flagged and value.flags else 0.35
    for dot in dots(x + reach, top + 0.45, value.dots, note):
        assert isinstance(dot, Glyph)  # noqa: S101 - dots are glyphs
        yield Glyph(dot.name, dot.x, dot.y, role="dot", note=note, layer="tab")


def _rest(shape: ColumnShape, x: float, top: float) -> Iterator[Ink]:
    value = shape.column.value
    name = rest_name(value)
    left, up, right, down = (side * _REST_SCALE for side in glyph(name).box_sp)
    middle = top + RHYTHM_HEIGHT / 2
    yield Glyph(name, x - (left + right) / 2, middle - (up + down) / 2, _REST_SCALE, role="rest", layer="tab")
    if not shape.column.fills_bar:
        for dot in dots(x + (right - left) / 2 + 0.3, middle - 0.4, value.dots):
            assert isinstance(dot, Glyph)  # noqa: S101 - dots are glyphs
            yield Glyph(dot.name, dot.x, dot.y, role="dot", layer="tab")
