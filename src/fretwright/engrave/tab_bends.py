"""Bends in the tab: an arrow from the fret number over the tab, how far it goes at its tip.

A rising stroke is a curve that ends upright, a release falls back to the string, a note that is bent before
it is struck has a straight arrow. All tips of a system stand on one line (common practice, no source).
"""

from collections.abc import Iterator
from typing import Final

from fretwright.engrave.beside import TabBend
from fretwright.engrave.ink import Box, Ink, Patch, Trace, centred, ink_of
from fretwright.engrave.marks import BEND_FACE, BEND_SIZE
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.style import DIGIT_HEIGHT, TAB_SPACE

_LINE: Final = 0.13
_HEAD: Final = 0.55
"""Length of an arrow's head."""
_HEAD_HALF: Final = 0.24
_AMOUNT_GAP: Final = 0.3
_TIP_GAP: Final = 0.35
_NEAREST: Final = -1.9
_FOOT: Final = 0.2
"""How far over its string a bend starts, so that it does not run along the line."""
_STEPS: Final = 12


def bend_tip(system: PlacedSystem, sky: Skyline) -> float:
    """The height of the arrows' tips, over all that stands under them and their amounts."""
    edges = [_NEAREST]
    for shape, x in system.moments:
        for bend in shape.beside.bends:
            for move in bend.moves:
                half = max(_HEAD_HALF, ink_of(move.amount, BEND_FACE, BEND_SIZE).width / 2)
                at = x + move.dx
                edges.append(sky.edge(at - half, at + half, _TIP_GAP, at_least=_NEAREST))
    return min(edges)


def bend_ink(system: PlacedSystem, tip: float, sky: Skyline | None = None) -> list[Ink]:
    """The arrows of a system, their tips at the height ``tip``; leaves them in the skyline."""
    drawn = [
        each for shape, x in system.moments for bend in shape.beside.bends for each in _bend(bend, x, tip)
    ]
    if sky is not None:
        sky.add_ink(drawn)
    return drawn


def bend_corridors(system: PlacedSystem) -> list[Box]:
    """All that the arrows of a system may pass through, wherever their tips will be."""
    return [
        Box(x + bend.dx - 0.1, -99.0, x + bend.moves[-1].dx + 0.4, (bend.note.string - 1) * TAB_SPACE)
        for shape, x in system.moments
        for bend in shape.beside.bends
    ]


def _bend(bend: TabBend, x: float, tip: float) -> Iterator[Ink]:
    string = (bend.note.string - 1) * TAB_SPACE
    at, y = x + bend.dx, string - _FOOT
    for move in bend.moves:
        end = x + move.dx
        if move.kind == "down":
            foot = string - DIGIT_HEIGHT / 2
            yield _curve(bend, (at + 0.12, tip + 0.1), (end, foot - _HEAD + 0.1))
            yield _head(bend, end, foot, up=False)
            at, y = end, foot
        else:
            start = (at, y) if move.kind == "up" else (end, string)
            yield _curve(bend, start, (end, tip + _HEAD - 0.1))
            yield _head(bend, end, tip, up=True)
            at, y = end, tip
        if move.amount:
            yield centred(
                move.amount, BEND_FACE, BEND_SIZE, end, tip - _AMOUNT_GAP,
                role="bend-amount", note=bend.note.id, layer="tab",
            )  # fmt: skip


def _curve(bend: TabBend, start: tuple[float, float], end: tuple[float, float]) -> Trace:
    """A quarter of an oval that leaves level and arrives upright; a straight line where it only rises."""
    (x0, y0), (x1, y1) = start, end
    points = []
    for step in range(_STEPS + 1):
        t = step / _STEPS
        u = 1 - t
        points.append((u * u * x0 + (2 * u * t + t * t) * x1, (u * u + 2 * u * t) * y0 + t * t * y1))
    return Trace(tuple(points), _LINE, role="bend", note=bend.note.id, layer="tab")


def _head(bend: TabBend, x: float, y: float, *, up: bool) -> Patch:
    base = y + (_HEAD if up else -_HEAD)
    points = ((x, y), (x + _HEAD_HALF, base), (x - _HEAD_HALF, base))
    return Patch(points, role="bend", note=bend.note.id, layer="tab")
