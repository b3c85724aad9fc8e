"""The picking hand: strokes in one row, T over a tapped note, letters of the fingers that pluck.

A stroke in brackets passes through the air: the hand keeps its time and touches nothing. Letters follow the
trade's initials: p thumb, i index, m middle, a ring (common practice, no source).
"""

from collections.abc import Iterator, Sequence
from typing import Final

from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import Glyph, Ink, Layer, centred, ink_of
from fretwright.engrave.marks import LETTER_SIZE, PICKING_FACE, PICKING_SIZE
from fretwright.engrave.outlines import Face
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.rows import x_at
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.staff import bracket
from fretwright.engrave.style import ROW_GAP
from fretwright.score.note import Attack
from fretwright.score.score import AirStroke
from fretwright.score.techniques import Stroke

_BESIDE: Final = 2.5
"""A stroke stands over the letters beside it as well, so that the two do not read as one row."""
_STROKE_SCALE: Final = 0.72
_FAR: Final = 99.0
_BRACKET_GAP: Final = 0.16
_PICKING_GAP: Final = 0.25
_NEAREST: Final = -1.1

_Mark = tuple[float, float, str | Stroke, str | None]
"""x, width, what is printed, and the note it belongs to: none for a stroke in the air."""


def stroke_row(
    system: PlacedSystem,
    sky: Skyline,
    in_the_air: Sequence[AirStroke],
    *,
    strokes: bool,
    layer: Layer = "tab",
) -> list[Ink]:
    """Pick strokes over the tab, and T over a tapped note."""
    marks = [*_struck(system, strokes=strokes), *_in_the_air(system, in_the_air)]
    if not marks:
        return []
    y = min(
        sky.edge(x - width / 2 - _BESIDE, x + width / 2 + _BESIDE, 0.5, at_least=_NEAREST)
        for x, width, _, _ in marks
    )
    drawn: list[Ink] = []
    for x, _, mark, owner in marks:
        if not isinstance(mark, Stroke):
            drawn.append(
                centred(mark, Face.SANS_SEMIBOLD, LETTER_SIZE, x, y, role="stroke", note=owner, layer=layer)
            )
            continue
        name = _stroke_name(mark)
        left, top, right, _ = glyph(name).box_sp
        at = x - (left + right) / 2 * _STROKE_SCALE
        drawn.append(Glyph(name, at, y, _STROKE_SCALE, role="stroke", note=owner, layer=layer))
        if owner is None:
            foot = (right - left) / 2 * _STROKE_SCALE + _BRACKET_GAP
            ends = y + top * _STROKE_SCALE, y
            drawn += [bracket(x + side * foot, *ends, 0.75 * side, layer=layer) for side in (-1, 1)]
    sky.add_ink(drawn)
    return drawn


def _struck(system: PlacedSystem, *, strokes: bool) -> Iterator[_Mark]:
    for shape, x in system.moments:
        struck = [head.note for head in shape.moment.heads if not head.is_held]
        for note in struck[:1]:
            if any(each.attack is Attack.TAP for each in struck):
                yield x, ink_of("T", Face.SANS_SEMIBOLD, LETTER_SIZE).width, "T", note.id
            elif note.stroke is not None and strokes:
                yield x, glyph(_stroke_name(note.stroke)).width_sp * _STROKE_SCALE, note.stroke, note.id


def _in_the_air(system: PlacedSystem, strokes: Sequence[AirStroke]) -> Iterator[_Mark]:
    taken = {shape.moment.at for shape, _ in system.moments if not shape.moment.is_rest}
    for each in strokes:
        if each.at not in taken:
            yield x_at(system, each.at), glyph(_stroke_name(each.stroke)).width_sp, each.stroke, None


def _stroke_name(stroke: Stroke) -> str:
    return "stringsDownBow" if stroke is Stroke.DOWN else "stringsUpBow"


def picking_row(system: PlacedSystem, sky: Skyline, layer: Layer) -> list[Ink]:
    """Letters of the plucking fingers, one above the other (string 1 on top) where notes sound together."""
    columns = [
        (x, [head.note for head in shape.moment.heads if head.note.picking_finger and not head.is_held])
        for shape, x in system.moments
    ]
    columns = [(x, notes) for x, notes in columns if notes]
    if not columns:
        return []
    below = max(0.0, ink_of("p", PICKING_FACE, PICKING_SIZE).bottom)
    step = -ink_of("i", PICKING_FACE, PICKING_SIZE).top + below + _PICKING_GAP
    y = min(sky.edge(x - 0.6, x + 0.6, ROW_GAP, at_least=-0.6) for x, _ in columns) - below
    drawn: list[Ink] = [
        centred(
            note.picking_finger.value, PICKING_FACE, PICKING_SIZE, x, y - place * step,
            role="picking", note=note.id, layer=layer,
        )
        for x, notes in columns
        for place, note in enumerate(notes)
        if note.picking_finger is not None
    ]  # fmt: skip
    sky.add_ink(drawn)
    return drawn
