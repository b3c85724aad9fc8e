"""The pieces of which what was heard is drawn: shapes, letters, rules and bands, in millimetres."""

from dataclasses import dataclass
from typing import Final

from fretwright.engrave.diagram import PAPER
from fretwright.engrave.ink import Box, ink_of
from fretwright.engrave.lettering import Letters, mm, xml_text
from fretwright.engrave.outlines import Face
from fretwright.score.marks import MarkShape

RADIUS_MM: Final = 0.95
"""Of a shape: as large as a note head."""
_LINE_MM: Final = 0.36
WORD_MM: Final = 2.2
"""Size of words and figures: capitals 1.5 mm high, the size of fingering digits."""

_POINTS: Final = {
    MarkShape.LEFT: (-1, 0),
    MarkShape.RIGHT: (1, 0),
    MarkShape.UP: (0, -1),
    MarkShape.DOWN: (0, 1),
}
"""Where the tip of each triangle points, on a page that counts downwards."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Something drawn, and the room it takes."""

    role: str
    """``shape``, ``word``, ``label`` and ``dot`` may cover nothing of each other; ``band``, ``rule`` and
    ``stem`` lie beneath."""
    box: Box
    svg: str
    note_id: str | None = None
    """The note in whose column it stands."""

    def element(self) -> str:
        """The piece with its role and its note, for a page to find."""
        note = "" if self.note_id is None else f' data-note="{xml_text(self.note_id)}"'
        return f'<g class="{self.role}"{note}>{self.svg}</g>'


def shape(kind: MarkShape, x: float, y: float, note_id: str | None = None) -> Piece:
    """A shape with its middle at (x, y)."""
    r = RADIUS_MM
    return Piece("shape", Box(x - r, y - r, x + r, y + r), _form(kind, x, y), note_id)


def _form(kind: MarkShape, x: float, y: float) -> str:
    r, inside = RADIUS_MM, RADIUS_MM - _LINE_MM / 2
    hollow = f'fill="none" stroke="currentColor" stroke-width="{_LINE_MM}"'
    match kind:
        case MarkShape.RING:
            return f'<circle cx="{mm(x)}" cy="{mm(y)}" r="{mm(inside)}" {hollow}/>'
        case MarkShape.CROSS:
            return f'<path d="{_stroke(x, y, inside, inside)}{_stroke(x, y, inside, -inside)}" {hollow}/>'
        case MarkShape.PLUS:
            return f'<path d="{_stroke(x, y, r, 0)}{_stroke(x, y, 0, r)}" {hollow}/>'
        case MarkShape.DIAMOND:
            i = r - _LINE_MM * 0.71
            points = ((x - i, y), (x, y - i), (x + i, y), (x, y + i))
            return f'<path d="{polygon(points)}" {hollow}/>'
        case MarkShape.SQUARE:
            i = inside * 0.85
            points = ((x - i, y - i), (x + i, y - i), (x + i, y + i), (x - i, y + i))
            return f'<path d="{polygon(points)}" {hollow}/>'
        case _:
            dx, dy = _POINTS[kind]
            tail = ((x - dx * r + dy * r, y - dy * r + dx * r), (x - dx * r - dy * r, y - dy * r - dx * r))
            return f'<path d="{polygon(((x + dx * r, y + dy * r), *tail))}"/>'


def dot(x: float, y: float, radius: float, note_id: str, *, hollow: bool = False) -> Piece:
    """A disc, or a ring filled with paper."""
    ink = f' fill="{PAPER}" stroke="currentColor" stroke-width="{_LINE_MM}"' if hollow else ""
    inside = radius - _LINE_MM / 2 if hollow else radius
    svg = f'<circle cx="{mm(x)}" cy="{mm(y)}" r="{mm(inside)}"{ink}/>'
    return Piece("dot", Box(x - radius, y - radius, x + radius, y + radius), svg, note_id)


def letters(
    role: str, text: str, x: float, y: float, *, face: Face = Face.SANS, note_id: str | None = None
) -> Piece:
    """Letters whose ink starts at x and which stand on the line y."""
    placed = Letters(role, text, face, WORD_MM, x - ink_of(text, face, WORD_MM).left, y)
    return Piece(role, placed.box, placed.svg(), note_id)


def width_of(text: str, face: Face = Face.SANS) -> float:
    """Of the ink of such letters."""
    return ink_of(text, face, WORD_MM).width


def block(role: str, box: Box, ink: str, note_id: str | None = None) -> Piece:
    """A rectangle filled with ``ink``."""
    svg = (
        f'<rect x="{mm(box.left)}" y="{mm(box.top)}" width="{mm(box.width)}" height="{mm(box.height)}" '
        f'fill="{ink}"/>'
    )
    return Piece(role, box, svg, note_id)


def polygon(points: tuple[tuple[float, float], ...]) -> str:
    """Path data of a closed outline."""
    return "M" + "L".join(f"{mm(x)} {mm(y)}" for x, y in points) + "Z"


def _stroke(x: float, y: float, dx: float, dy: float) -> str:
    return f"M{mm(x - dx)} {mm(y - dy)}L{mm(x + dx)} {mm(y + dy)}"
