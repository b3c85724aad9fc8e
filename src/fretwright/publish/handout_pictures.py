"""Drawings as the handout sets them: at their own size, and a long plate system by system.

A plate of more than two systems is cut between them, so that it can go on over the foot of a page as music
does in a book.
"""

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any, Final

from fretwright.base.errors import RenderError
from fretwright.engrave.plate import Plate
from fretwright.publish.handout_press import printable

FULL_WIDTH_MM: Final = 170.0
"""Width of a page's text; a wider drawing is made smaller."""
_TALLEST_MM: Final = 180.0
"""What a page holds besides a heading, a caption and a few lines; a taller drawing is made smaller."""
_SYSTEMS_IN_ONE: Final = 2

_SYSTEM: Final = re.compile(r'(?=<g class="system" data-system="\d+">)')
_ROOT: Final = re.compile(r"<svg\b[^>]*>")
_SIZES: Final = re.compile(r'\s(?:viewBox|width|height)="[^"]*"')


def whole(
    svg: str, width_mm: float, height_mm: float, alt: str, tallest_mm: float = _TALLEST_MM
) -> dict[str, Any]:
    """A drawing in one piece, made smaller where it is wider than a page's text or taller than it may be."""
    scale = min(1.0, FULL_WIDTH_MM / width_mm, tallest_mm / height_mm)
    return {
        "svg": svg,
        "width_mm": round(width_mm * scale, 3),
        "height_mm": round(height_mm * scale, 3),
        "alt": printable(alt),
    }


def plate_pieces(plate: Plate, alt: str) -> list[dict[str, Any]]:
    """A plate from top to bottom: whole, or system by system where it has many.

    The first piece carries ``alt``; of the others the words say which bars they hold.
    Raises :class:`~fretwright.base.errors.RenderError` where the plate does not hold its systems one by one.
    """
    if len(plate.systems) <= _SYSTEMS_IN_ONE:
        return [whole(plate.svg, plate.width_mm, plate.height_mm, alt)]
    head, *systems = _SYSTEM.split(plate.svg.removesuffix("\n").removesuffix("</svg>"))
    root = _ROOT.match(head)
    if root is None or len(systems) != len(plate.systems):
        raise RenderError("A plate's picture does not hold its systems one by one.")
    shared = head[root.end() :]
    pieces = []
    for index, (top, bottom) in enumerate(_stretches(plate)):
        opening = _seen(root[0], plate.width_mm, top, bottom)
        svg = f"{opening}{shared}{systems[index]}</svg>"
        words = alt if index == 0 else _bars(plate, index)
        pieces.append(whole(svg, plate.width_mm, bottom - top, words))
    return pieces


def _stretches(plate: Plate) -> Iterator[tuple[float, float]]:
    """Top and bottom of each piece: the cuts lie in the middle between the ink of two systems."""
    spans = [(system.ink_top, system.ink_bottom) for system in plate.systems]
    cuts = [(above[1] + below[0]) / 2 for above, below in pairwise(spans)]
    for (top, bottom), (low, high) in zip(pairwise([0.0, *cuts, plate.height_mm]), spans, strict=True):
        # Where the ink of two systems interlocks, each piece still shows all of its own.
        yield min(top, low), max(bottom, high)


def _seen(root: str, width_mm: float, top_mm: float, bottom_mm: float) -> str:
    """The root element, of whose picture only a stretch is seen."""
    height = f"{bottom_mm - top_mm:.3f}"
    kept = _SIZES.sub("", root).removesuffix(">")
    return (
        f'{kept} width="{width_mm:g}mm" height="{height}mm" viewBox="0 {top_mm:.3f} {width_mm:g} {height}">'
    )


def _bars(plate: Plate, system: int) -> str:
    numbers = [bar.number for bar in plate.bars if bar.system == system]
    bars = f"bar {numbers[0]}" if len(numbers) == 1 else f"bars {numbers[0]} to {numbers[-1]}"
    return f"Continued: {bars}."
