"""Rhythm beside a tab that stands alone: stems, flags, beams, rests, dots.

One voice has its rhythm below the tab; of two the upper has it above. y counts from the line of string 1
downwards. A quarter or shorter is a stem without a head; a half or
whole note keeps its open head, small, so that no value is told by a stem's length alone.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from fretwright.engrave.bars import VoicePlan
from fretwright.engrave.beaming import beam_levels
from fretwright.engrave.chords import ColumnShape, flag_name, rest_name
from fretwright.engrave.glyphs import glyph
from fretwright.engrave.heads import head_name
from fretwright.engrave.ink import Glyph, Ink, Line
from fretwright.engrave.placing import PlacedBar, PlacedSystem
from fretwright.engrave.staff import ColumnSpot, Drawing, beam_ink, dots
from fretwright.engrave.style import BEAM, STEM

RHYTHM_HEIGHT: Final = 2.6
"""From the top of a stem to the middle of the outer beam."""
FLAG_ROOM: Final = 1.15
"""From a stem to the first dot after its flag."""
_HEAD_SCALE: Final = 0.75
_REST_SCALE: Final = 0.85
_TREMOLO_SCALE: Final = 0.75


def draw_rhythm(system: PlacedSystem, voice: int, foot: float, *, up: bool) -> Drawing:
    """The rhythm of one voice of a system: stems that start at ``foot`` and point up or down."""
    drawing = Drawing()
    for bar in system.bars:
        for plan in bar.plan.voices:
            if plan.content.voice == voice:
                _draw_voice(bar, plan, foot, drawing, up=up)
    return drawing


def _draw_voice(bar: PlacedBar, plan: VoicePlan, foot: float, drawing: Drawing, *, up: bool) -> None:
    away = -1 if up else 1
    columns = list(bar.columns(plan))
    for index, (_, shape, x) in enumerate(columns):
        column = shape.column
        tip = _tip(foot, away, [column.value.flags], shape.tremolo)
        drawing.columns[column.key] = ColumnSpot(
            x, tip, up, beamed=index in plan.beamed, stem_x=x, side=-1 if up else 0
        )
        if column.is_rest:
            drawing.ink.extend(_rest(shape, x, foot, up=up))
        else:
            drawing.ink.extend(_stem(shape, x, foot, tip, flagged=index not in plan.beamed))
    for group in plan.beams:
        members = [columns[index] for index in group]
        strokes = max(shape.tremolo for _, shape, _ in members)
        depth = _tip(foot, away, [shape.column.value.flags for _, shape, _ in members], strokes)
        xs = [x for _, _, x in members]
        levels_of = beam_levels([shape.column for _, shape, _ in members], bar.plan.content.bar.meter.beat)
        drawing.ink.extend(Line(x, foot, x, depth, STEM, role="stem", layer="tab") for x in xs)
        for each in beam_ink(xs, [depth] * len(xs), levels_of, up=up):
            drawing.ink.append(_in_tab(each))


def _tip(foot: float, away: int, flags: Sequence[int], tremolo: int) -> float:
    """Where stems end, or the middle of their outer beam is."""
    levels = max(0, *(count - 2 for count in flags))
    return foot + away * RHYTHM_HEIGHT + away * (0.75 * levels + 0.6 * tremolo)


def _in_tab(ink: Ink) -> Ink:
    assert isinstance(ink, Line)  # noqa: S101 - beams are lines
    return Line(ink.x0, ink.y0, ink.x1, ink.y1, BEAM, role="beam", layer="tab")


def _stem(shape: ColumnShape, x: float, foot: float, tip: float, *, flagged: bool) -> Iterator[Ink]:
    value = shape.column.value
    away = -1 if tip < foot else 1
    note = shape.column.heads[0].note.id if len(shape.column.heads) == 1 else None
    if value.base.denominator <= 2:
        name = head_name(value)
        left, _, right, _ = glyph(name).box_sp
        half = (right - left) / 2 * _HEAD_SCALE
        yield Glyph(
            name,
            x - half - left * _HEAD_SCALE,
            foot + 0.6 * away,
            _HEAD_SCALE,
            role="rhythm-head",
            note=note,
            layer="tab",
        )
        if value.base.denominator == 2:
            at = x - half + STEM / 2 if away > 0 else x + half - STEM / 2
            yield Line(at, foot + 0.7 * away, at, tip, STEM, role="stem", layer="tab")
    elif flagged:
        yield Line(x, foot, x, tip, STEM, role="stem", layer="tab")
        if value.flags:
            name = flag_name(value, up=away < 0)
            yield Glyph(name, x - STEM / 2, tip, 0.8, role="flag", layer="tab")
    yield from _strokes(shape, x, foot, away)
    reach = 0.8 if value.base.denominator <= 2 else FLAG_ROOM if flagged and value.flags else 0.35
    if shape.tremolo:
        reach = max(reach, 0.75)
    for dot in dots(x + reach, foot + 0.45 * away, value.dots, note):
        assert isinstance(dot, Glyph)  # noqa: S101 - dots are glyphs
        yield Glyph(dot.name, dot.x, dot.y, role="dot", note=note, layer="tab")


def _strokes(shape: ColumnShape, x: float, foot: float, away: int) -> Iterator[Ink]:
    """Strokes through the stem of a note that is plucked again and again."""
    if shape.tremolo:
        name = f"tremolo{shape.tremolo}"
        _, top, _, bottom = glyph(name).box_sp
        half = (bottom - top) / 2 * _TREMOLO_SCALE
        clear = 1.25 if shape.column.value.base.denominator <= 2 else 0.2
        y = foot + away * (half + clear)
        yield Glyph(name, x, y, _TREMOLO_SCALE, role="tremolo", layer="tab")


def _rest(shape: ColumnShape, x: float, foot: float, *, up: bool) -> Iterator[Ink]:
    value = shape.column.value
    name = rest_name(value)
    left, top, right, down = (side * _REST_SCALE for side in glyph(name).box_sp)
    middle = foot + RHYTHM_HEIGHT / 2 * (-1 if up else 1)
    yield Glyph(
        name, x - (left + right) / 2, middle - (top + down) / 2, _REST_SCALE, role="rest", layer="tab"
    )
    if not shape.column.fills_bar:
        for dot in dots(x + (right - left) / 2 + 0.3, middle - 0.4, value.dots):
            assert isinstance(dot, Glyph)  # noqa: S101 - dots are glyphs
            yield Glyph(dot.name, dot.x, dot.y, role="dot", layer="tab")
