"""Bar lines and repeat signs."""

from collections.abc import Iterator
from typing import Final

from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import Glyph, Ink, Layer, Line
from fretwright.engrave.openings import meter_ink
from fretwright.engrave.placing import PlacedBar, PlacedSystem
from fretwright.engrave.style import BAR_LINE_GAP, REPEAT_DOT_GAP, STAFF_LINE, THICK_BAR, THIN_BAR
from fretwright.score.meter import Meter

_INTO_PAD: Final = 0.3
"""A time signature inside a line stands this much into the white before the first column."""


def bar_lines(system: PlacedSystem, height: float, spaces: int, layer: Layer) -> Iterator[Ink]:
    """All bar lines of a system over lines that are ``height`` high and leave so many ``spaces``."""
    for index, bar in enumerate(system.bars):
        joined = index > 0 and system.bars[index - 1].plan.bar_line == "repeat"
        yield from _start(bar, height, spaces, layer, joined=joined)
        yield from _end(bar, height, spaces, layer)


def meter_changes(
    system: PlacedSystem, following: Meter | None, middle: float, scale: float, layer: Layer
) -> Iterator[Ink]:
    """Time signatures inside the score, their figures meeting at the height ``middle``.

    ``following`` is the meter of the next system's first bar where it is new: a player is warned of it.
    """
    if following is not None:
        yield from meter_ink(following, system.bars[-1].right, middle, scale, layer)
    for bar in system.bars:
        if bar.plan.meter_room:
            x = bar.left + bar.plan.start_width - bar.plan.meter_room + _INTO_PAD
            yield from meter_ink(bar.plan.content.bar.meter, x, middle, scale, layer)


def _start(bar: PlacedBar, height: float, spaces: int, layer: Layer, *, joined: bool) -> Iterator[Ink]:
    if not bar.plan.opens_repeat:
        return
    x = bar.left
    if joined:
        x -= THICK_BAR
    else:
        yield _line(x + THICK_BAR / 2, THICK_BAR, height, layer)
    x += THICK_BAR + BAR_LINE_GAP
    yield _line(x + THIN_BAR / 2, THIN_BAR, height, layer)
    yield from _repeat_dots(x + THIN_BAR + REPEAT_DOT_GAP, height, spaces, layer)


def _end(bar: PlacedBar, height: float, spaces: int, layer: Layer) -> Iterator[Ink]:
    x = bar.right
    if bar.plan.bar_line == "thin":
        yield _line(x - THIN_BAR / 2, THIN_BAR, height, layer)
        return
    yield _line(x - THICK_BAR / 2, THICK_BAR, height, layer)
    x -= THICK_BAR + BAR_LINE_GAP
    yield _line(x - THIN_BAR / 2, THIN_BAR, height, layer)
    if bar.plan.bar_line == "repeat":
        width = glyph("augmentationDot").width_sp
        yield from _repeat_dots(x - THIN_BAR - REPEAT_DOT_GAP - width, height, spaces, layer)


def _line(x: float, thickness: float, height: float, layer: Layer) -> Line:
    half = STAFF_LINE / 2
    return Line(x, -half, x, height + half, thickness, role="bar-line", layer=layer)


def _repeat_dots(x: float, height: float, spaces: int, layer: Layer) -> Iterator[Ink]:
    """Two dots in the spaces next to the middle."""
    space = height / spaces
    away = space if spaces % 2 else space / 2
    for y in (height / 2 - away, height / 2 + away):
        yield Glyph("augmentationDot", x, y, role="repeat-dot", layer=layer)
