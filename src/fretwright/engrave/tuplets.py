"""Tuplet numbers, with a bracket where no beam shows what belongs together."""

from collections.abc import Iterator
from typing import Final

from fretwright.engrave.bars import VoicePlan
from fretwright.engrave.beaming import TupletGroup
from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import Box, Glyph, Ink, Layer, Line
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.staff import Drawing
from fretwright.engrave.style import HEAD_WIDTH, TUPLET_BRACKET

_SCALE: Final = 0.82
_GAP: Final = 0.35
_HOOK: Final = 0.7


def tuplet_marks(
    system: PlacedSystem,
    drawing: Drawing,
    sky: dict[int, Skyline],
    layer: Layer = "staff",
    voices: tuple[int, ...] = (1, 2),
) -> list[Ink]:
    """The marks of a system, on the stems' side; in tab alone those of some voices."""
    drawn: list[Ink] = []
    for bar in system.bars:
        for voice in bar.plan.voices:
            if layer == "tab" and voice.content.voice not in voices:
                continue
            for group in voice.tuplets:
                marks = list(_mark(voice, group, drawing, sky, layer))
                drawn.extend(marks)
                for skyline in sky.values():
                    skyline.add_ink(marks)
    return drawn


def _mark(
    voice: VoicePlan, group: TupletGroup, drawing: Drawing, sky: dict[int, Skyline], layer: Layer
) -> Iterator[Ink]:
    columns = voice.content.columns[group.first : group.last + 1]
    spots = [drawing.columns[column.key] for column in columns]
    sounding = [spot for spot, column in zip(spots, columns, strict=True) if not column.is_rest]
    up = bool(sounding) and all(spot.up for spot in sounding) if layer == "staff" else False
    if layer == "staff" and sounding and any(spot.up for spot in sounding) and not up:
        up = True
    side = -1 if up or not sounding else 1
    side = spots[0].side or (1 if layer == "tab" else side)
    width = _number_width(group.number)
    members = tuple(range(group.first, group.last + 1))
    if any(set(members) == set(beam) for beam in voice.beams):
        middle = (
            (spots[0].stem_x + spots[-1].stem_x) / 2 if layer == "staff" else (spots[0].x + spots[-1].x) / 2
        )
        edge = sky[side].edge(middle - width / 2, middle + width / 2, _GAP, at_least=_outside(side, layer))
        yield from _number(group.number, middle, edge, side, layer)
        return
    left, right = spots[0].x - HEAD_WIDTH / 2, spots[-1].x + HEAD_WIDTH / 2
    edge = sky[side].edge(left, right, _GAP + _HOOK, at_least=_outside(side, layer) + side * _HOOK)
    middle = (left + right) / 2
    for x0, x1 in ((left, middle - width / 2 - 0.3), (middle + width / 2 + 0.3, right)):
        yield Line(x0, edge, x1, edge, TUPLET_BRACKET, role="tuplet", layer=layer)
    for x in (left + TUPLET_BRACKET / 2, right - TUPLET_BRACKET / 2):
        yield Line(x, edge, x, edge - side * _HOOK, TUPLET_BRACKET, role="tuplet", layer=layer)
    height = _number_height(group.number)
    yield from _number(group.number, middle, edge - side * height / 2, side, layer)


def _outside(side: int, layer: Layer) -> float:
    """The nearest that a mark may stand: clear of the staff's own lines."""
    return -0.45 if side < 0 else 4.45 if layer == "staff" else 0.0


def _number(number: str, middle: float, edge: float, side: int, layer: Layer) -> Iterator[Ink]:
    """Digits whose inner edge is at ``edge``."""
    x = middle - _number_width(number) / 2
    y = edge if side < 0 else edge + _number_height(number)
    for digit in number:
        shape = glyph(f"tuplet{digit}")
        yield Glyph(shape.name, x - shape.box_sp[0] * _SCALE, y, _SCALE, role="tuplet-number", layer=layer)
        x += (shape.width_sp + 0.05) * _SCALE


def _number_width(number: str) -> float:
    return sum(glyph(f"tuplet{digit}").width_sp * _SCALE for digit in number) + 0.05 * (len(number) - 1)


def _number_height(number: str) -> float:
    boxes = [Box(*glyph(f"tuplet{digit}").box_sp) for digit in number]
    return max(-box.top for box in boxes) * _SCALE
