"""Lines of music, engraved for a slot of the screen and cut from their plate.

A plate is engraved as wide as its slot and as large as the slot's height lets its tallest line be. Each line
is a picture of its own, so that a long score need not be drawn, or held, all at once.
"""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from fretwright.base.errors import RenderError
from fretwright.engrave.boxes import NoteBox
from fretwright.engrave.plate import Plate, engrave
from fretwright.engrave.style import PlateStyle
from fretwright.film.raster import PAPER, Pixels, rasterise
from fretwright.score.score import Score

_SPACE_MM: Final = 4.0
"""Staff space of plates for films: the plate is scaled to the slot, so that any one would do."""
_FIRST_HEIGHT_SP: Final = {True: 27.0, False: 18.0}
"""What a line is guessed to be high, with and without its staff."""
_LEAST_WIDTH_SP: Final = 26.0
"""Room for one busy bar."""
_ROUNDS: Final = 4


@dataclass(frozen=True, slots=True)
class Strip:
    """A plate and how its lines lie in a slot of the screen."""

    plate: Plate
    width: int
    """Of the slot, in pixels."""
    height: int
    px_per_mm: float
    left_px: float
    """Where the plate's left edge lies in the slot."""
    above_mm: float
    """From the top of the slot to the uppermost line of any system."""

    @property
    def lines(self) -> int:
        """How many lines there are."""
        return len(self.plate.systems)

    def x_px(self, x_mm: float) -> float:
        """A place on the plate, in pixels from the slot's left edge."""
        return self.left_px + x_mm * self.px_per_mm

    def box_px(self, box: NoteBox) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of a note's box in its slot."""
        top_mm = self.plate.systems[box.system].y - self.above_mm
        top = (box.y - top_mm) * self.px_per_mm
        return self.x_px(box.x), top, self.x_px(box.x + box.width), top + box.height * self.px_per_mm

    @property
    def space_px(self) -> float:
        """A staff space on the screen."""
        return self.plate.staff_space_mm * self.px_per_mm

    def picture(self, line: int) -> Pixels:
        """A line on paper, of the slot's size."""
        definitions, groups = _parts(self.plate.svg)
        left_mm = -self.left_px / self.px_per_mm
        top_mm = self.plate.systems[line].y - self.above_mm
        view = (left_mm, top_mm, self.width / self.px_per_mm, self.height / self.px_per_mm)
        body = f'{definitions}<g fill="#1b1a17">{groups[line]}</g>'
        return rasterise(body, view, self.width, self.height, PAPER)


@lru_cache(maxsize=2)
def _parts(svg: str) -> tuple[str, tuple[str, ...]]:
    """The definitions of a plate and the group of each of its systems."""
    definitions = re.search(r"<defs>.*?</defs>", svg, re.DOTALL)
    starts = [found.start() for found in re.finditer(r'<g class="system" data-system="\d+">', svg)]
    ends = [*starts[1:], svg.rindex("</svg>")]
    groups = tuple(svg[start:end] for start, end in zip(starts, ends, strict=True))
    return definitions.group() if definitions else "", groups


def strip_for(score: Score, width: int, height: int, *, staff: bool) -> Strip:
    """Engrave a score for a slot of that size in pixels, as large as it can stand there.

    Raises :class:`~fretwright.base.errors.RenderError` if the slot is too small to read anything in.
    """
    space_px = min(height / _FIRST_HEIGHT_SP[staff], width / _LEAST_WIDTH_SP)
    plate = _engraved(score, width, space_px, staff=staff)
    for _ in range(_ROUNDS):
        tall_px = _extent(plate)[1] * width / plate.width_mm
        if tall_px <= height:
            break
        space_px *= 0.995 * height / tall_px
        plate = _engraved(score, width, space_px, staff=staff)
    above_mm, extent_mm = _extent(plate)
    px_per_mm = min(width / plate.width_mm, height / extent_mm)
    left_px = (width - plate.width_mm * px_per_mm) / 2
    spare_mm = height / px_per_mm - extent_mm
    return Strip(plate, width, height, px_per_mm, left_px, above_mm + spare_mm / 2)


def _engraved(score: Score, width: int, space_px: float, *, staff: bool) -> Plate:
    if space_px <= 1:
        raise RenderError(f"Nothing can be read {width} pixels wide.", "Choose a larger film.")
    style = PlateStyle(
        width_mm=width / space_px * _SPACE_MM, staff_space_mm=_SPACE_MM, staff=staff, bar_numbers=True
    )
    return engrave(score, style, id_prefix="film")


def _extent(plate: Plate) -> tuple[float, float]:
    """How far any system's ink reaches over its uppermost line, and how high all of them are together."""
    above = max(system.y - system.ink_top for system in plate.systems)
    below = max(max(system.ink_bottom, system.y + system.height) - system.y for system in plate.systems)
    return above, above + below
