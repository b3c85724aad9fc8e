"""What stands still: paper, title, fretboard; each drawn once at the film's own size."""

import re
from dataclasses import dataclass
from typing import Final

import numpy as np

from fretwright.engrave.diagram import Diagram
from fretwright.engrave.outlines import Face
from fretwright.film.canvas import Plane, Rect
from fretwright.film.layout import Screen
from fretwright.film.raster import INK, PAPER, RULE, SOFT, Pixels, rasterise, text, wrapped
from fretwright.film.scene import Scene, Words

CORNER: Final = 10.0
"""How far the corners of an overlay's card are rounded, in units."""
_COUNT_ROOM: Final = 420.0
"""Beside the title, for the visual count."""


@dataclass(frozen=True, slots=True)
class NeckPlace:
    """How a fretboard diagram lies on the screen."""

    x: float
    y: float
    px_per_mm: float


def neck_place(screen: Screen, room: Rect, diagram: Diagram) -> NeckPlace:
    """The fretboard as large as its room allows: to the left of it, on an overlay's card in its middle."""
    scale = min(room.width / diagram.width_mm, room.height / diagram.height_mm)
    spare_x = 0.0 if screen.card is None else (room.width - diagram.width_mm * scale) / 2
    return NeckPlace(room.x + spare_x, room.y + (room.height - diagram.height_mm * scale) / 2, scale)


def stage_picture(scene: Scene) -> Pixels:
    """The whole screen without lines of music, playhead and count."""
    screen = scene.screen
    size = screen.size
    parts = [_card(screen.card, screen.unit)] if screen.card else []
    parts += _heading(screen, scene.words)
    if scene.slot_count == 2 and screen.side_by_side:
        parts.append(_divider(screen, scene.slots))
    if scene.diagram is not None and screen.neck is not None:
        place = neck_place(screen, screen.neck, scene.diagram)
        parts.append(_neck(place, scene.diagram))
        if screen.card is None:
            parts += _legend(screen, screen.neck, place, scene.diagram)
    paper = "" if screen.card else PAPER
    return rasterise("".join(parts), (0, 0, size.width, size.height), size.width, size.height, paper)


def title_picture(screen: Screen, words: Words) -> Pixels:
    """The card that opens a complete film."""
    size, unit = screen.size, screen.unit
    middle, width = size.width / 2, 0.8 * size.width
    lines = wrapped(words.title, Face.SERIF_BOLD, 92 * unit, width, 3)
    y = size.height / 2 - (len(lines) - 1) * 55 * unit
    parts = _centred(words.lesson, Face.SERIF_ITALIC, 40 * unit, middle, y - 130 * unit, SOFT, width)
    for line in lines:
        parts.append(text(line, Face.SERIF_BOLD, 92 * unit, middle, y, INK, 0.5))
        y += 110 * unit
    rule = f'<path d="M{middle - 90 * unit:.2f} {y - 50 * unit:.2f}h{180 * unit:.2f}" '
    parts.append(f'{rule} stroke="{INK}" stroke-width="{3 * unit:.2f}"/>')
    parts += _centred(words.tempo, Face.SANS, 36 * unit, middle, y + 22 * unit, INK, width)
    parts += _centred(words.course, Face.SANS, 30 * unit, middle, y + 84 * unit, SOFT, width)
    return rasterise("".join(parts), (0, 0, size.width, size.height), size.width, size.height, PAPER)


def _centred(words: str, face: Face, size: float, x: float, y: float, colour: str, width: float) -> list[str]:
    return [text(line, face, size, x, y, colour, 0.5) for line in wrapped(words, face, size, width, 1)]


def card_cover(screen: Screen) -> Plane:
    """How far an overlay's card covers each pixel of its rectangle, 0 to 255; shape (height, width)."""
    card = screen.card
    if card is None:
        return np.zeros((0, 0), np.uint8)
    view = (card.x, card.y, card.width, card.height)
    return rasterise(_card(card, screen.unit), view, card.width, card.height)[..., 3]


def _card(card: Rect, unit: float) -> str:
    """Opaque paper with an edge of ink: readable over any picture, whatever moves behind it."""
    edge = max(1.0, 2 * unit)
    return (
        f'<rect x="{card.x + edge / 2:.2f}" y="{card.y + edge / 2:.2f}" width="{card.width - edge:.2f}" '
        f'height="{card.height - edge:.2f}" rx="{CORNER * unit:.2f}" fill="{PAPER}" stroke="{INK}" '
        f'stroke-width="{edge:.2f}"/>'
    )


def _heading(screen: Screen, words: Words) -> list[str]:
    x, y = screen.title_at
    size, unit = screen.title_size, screen.unit
    room = screen.count_at[0] - x - _COUNT_ROOM * unit
    face = Face.SERIF_BOLD
    parts = [text(line, face, size, x, y, INK) for line in wrapped(words.title, face, size, room, 1)]
    if screen.card is None:
        small = 0.6 * size
        below = f"{words.lesson} · {words.tempo}" if words.lesson else words.tempo
        width = room if screen.side_by_side else screen.count_at[0] - x
        lines = wrapped(below, Face.SANS, small, width, 1)
        parts += [text(line, Face.SANS, small, x, y + 1.5 * small, SOFT) for line in lines]
    return parts


def _divider(screen: Screen, slots: tuple[Rect, ...]) -> str:
    left, right = slots
    x = (left.right + right.x) / 2
    inset = 0.12 * left.height
    return (
        f'<path d="M{x:.2f} {left.y + inset:.2f}V{left.bottom - inset:.2f}" '
        f'stroke="{RULE}" stroke-width="{2 * screen.unit:.2f}"/>'
    )


def _neck(place: NeckPlace, diagram: Diagram) -> str:
    inner = re.sub(r"^<svg[^>]*>|</svg>\s*$", "", diagram.svg.strip())
    return f'<g transform="translate({place.x:.3f} {place.y:.3f}) scale({place.px_per_mm:.5f})">{inner}</g>'


def _legend(screen: Screen, room: Rect, place: NeckPlace, diagram: Diagram) -> list[str]:
    """How to read the fretboard, to its right."""
    left = place.x + diagram.width_mm * place.px_per_mm + 40 * screen.unit
    size = 26 * screen.unit
    width = room.right - left
    if not diagram.legend or width < 8 * size:
        return []
    lines = wrapped(diagram.legend, Face.SANS, size, min(width, 30 * size), 4)
    top = room.y + room.height / 2 - (len(lines) - 1) * 0.7 * size
    return [text(line, Face.SANS, size, left, top + row * 1.4 * size, SOFT) for row, line in enumerate(lines)]


def count_room(screen: Screen) -> Rect:
    """Where the visual count changes."""
    right, middle = screen.count_at
    width, height = _COUNT_ROOM * screen.unit, 1.4 * screen.count_size
    even = [2 * round(value / 2) for value in (right - width, middle - height / 2, width, height)]
    return Rect(*even)
