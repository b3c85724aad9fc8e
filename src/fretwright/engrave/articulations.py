"""Dots and accents: next to the head, on the side away from the stem; in two voices outside of both.

A staccato dot stands nearer to the head than an accent. Both keep clear of all ink under them, and of the
staff's lines.
"""

from collections.abc import Sequence
from typing import Final

from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import Glyph, Ink
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.staff import STAFF_HEIGHT, Drawing
from fretwright.score.heads import Head

_GAP: Final = 0.28
_ACCENT_GAP: Final = 0.35
_STAFF_WHITE: Final = 0.4
_TAB_SCALE: Final = 0.85


def articulations(system: PlacedSystem, drawing: Drawing, sky: dict[int, Skyline]) -> list[Ink]:
    """Those of a staff. Leaves them in the skylines, so that arcs stand outside of them."""
    drawn: list[Ink] = []
    for moment, _ in system.moments:
        for shape in moment.columns:
            wanted = _wanted(shape.column.heads)
            if not wanted:
                continue
            spot = drawing.columns[shape.column.key]
            side = spot.side or (1 if shape.up else -1)
            x = spot.x + shape.dx
            for name in wanted:
                mark = _mark(name, x, side, sky[side])
                drawn.append(mark)
                Skyline.add_to_all(sky.values(), (mark,))
    return drawn


def tab_articulations(system: PlacedSystem, sky: Skyline) -> list[Ink]:
    """Those of a tab that stands alone, in rows over it."""
    drawn: list[Ink] = []
    for name in ("articStaccato", "articAccent"):
        xs = [x for moment, x in system.moments if name in _wanted(moment.moment.heads)]
        if not xs:
            continue
        left, _, right, _ = glyph(f"{name}Above").box_sp
        half = (right - left) / 2 * _TAB_SCALE
        y = min(sky.edge(x - half, x + half, 0.4, at_least=-1.0) for x in xs)
        row: list[Ink] = [
            Glyph(f"{name}Above", x - half, y, _TAB_SCALE, role="articulation", layer="tab") for x in xs
        ]
        sky.add_ink(row)
        drawn += row
    return drawn


def _wanted(heads: Sequence[Head]) -> list[str]:
    """What is asked of the notes that are struck here, nearest first."""
    struck = [head.note.techniques for head in heads if not head.is_held]
    names = []
    if any(ways.staccato for ways in struck):
        names.append("articStaccato")
    if any(ways.accent for ways in struck):
        names.append("articAccent")
    return names


def _mark(name: str, x: float, side: int, sky: Skyline) -> Glyph:
    shape = glyph(f"{name}{'Above' if side < 0 else 'Below'}")
    left, top, right, bottom = shape.box_sp
    half, height = (right - left) / 2, bottom - top
    gap = _GAP if name == "articStaccato" else _ACCENT_GAP
    near = sky.edge(x - half, x + half, gap, at_least=-side * 99.0)
    if name == "articStaccato":
        near = _into_a_space(near, side, height)
    elif (
        near + min(0.0, side * height) < STAFF_HEIGHT + _STAFF_WHITE
        and near + max(0.0, side * height) > -_STAFF_WHITE
    ):
        near = -_STAFF_WHITE if side < 0 else STAFF_HEIGHT + _STAFF_WHITE
    y = near - bottom if side < 0 else near - top
    return Glyph(shape.name, x - half - left, y, role="articulation")


def _into_a_space(near: float, side: int, height: float) -> float:
    """Moved outwards to the middle of a space where it would touch a line of the staff."""
    middle = near + side * height / 2
    if not -_STAFF_WHITE < middle < STAFF_HEIGHT + _STAFF_WHITE:
        return near
    space = (middle - 0.5) * side
    moved = side * -(-space // 1) + 0.5
    if not 0 < moved < STAFF_HEIGHT:
        return -_STAFF_WHITE if side < 0 else STAFF_HEIGHT + _STAFF_WHITE
    return moved - side * height / 2
