"""Ink: the primitives that a plate is drawn with.

Lengths are in staff spaces, x to the right and y downwards. Every primitive knows its role ("stem",
"notehead"), the note it belongs to where it belongs to one, and the boxes that its ink fills; an arc
fills many small ones, so that what lies under it is not taken for covered.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from itertools import pairwise
from math import hypot
from typing import Final, Literal, NamedTuple

from fretwright.engrave.glyphs import glyph, glyph_bands
from fretwright.engrave.outlines import Face, text_outline
from fretwright.engrave.style import ARC_END

Layer = Literal["staff", "tab"]


@cache
def _pieces(count: int) -> tuple[tuple[float, float, float, float, float], ...]:
    """The end of each piece of a cubic curve: the four points' weights, and how far the arc has swollen."""
    ends = (i / count for i in range(1, count + 1))
    return tuple(
        ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3, 4 * t * (1 - t)) for t in ends
    )


_PIECES: Final = _pieces(14)
_MANY_PIECES: Final = _pieces(32)
_MOST_PIECES: Final = _pieces(96)
_STEEP_RISE: Final = 5.0
"""Arcs that rise further than this are cut into the most pieces."""
_LONG_ARC: Final = 6.0
_TALL_ARC: Final = 3.0
"""Wider and steeper arcs are cut into more pieces."""

_BANDED: Final = frozenset({"flag", "grace-flag", "accidental", "clef"})


_WHOLE: Final = frozenset({"vibrato", "diagram-mark", "roll"})


class Box(NamedTuple):
    """A rectangle."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Extent in x."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Extent in y."""
        return self.bottom - self.top

    def moved(self, dx: float, dy: float) -> "Box":
        """The same rectangle elsewhere."""
        return Box(self.left + dx, self.top + dy, self.right + dx, self.bottom + dy)

    def meets(self, other: "Box", by: float = 0.0) -> bool:
        """Whether the two share more than ``by`` in both directions."""
        return (
            self.left < other.right - by
            and other.left < self.right - by
            and self.top < other.bottom - by
            and other.top < self.bottom - by
        )


@dataclass(frozen=True, kw_only=True)
class _Ink:
    # Without slots, so that a primitive can keep its boxes: every stage that looks for room asks for them.
    role: str
    """What it is, in the words of the trade: ``notehead``, ``stem``, ``fret``, ``slur``."""
    note: str | None = None
    """Id of the note that it belongs to alone."""
    layer: Layer = "staff"
    """Whether it belongs to the staff or to the tab."""


@dataclass(frozen=True)
class Line(_Ink):
    """A straight stroke with blunt ends: horizontal, vertical or (cut upright) slanted."""

    x0: float
    y0: float
    x1: float
    y1: float
    thickness: float
    """Across a vertical stroke in x, across any other in y."""

    @cached_property
    def boxes(self) -> tuple[Box, ...]:
        """A slanted stroke is cut into pieces of about half a space."""
        half = self.thickness / 2
        if self.x0 == self.x1:
            return (Box(self.x0 - half, min(self.y0, self.y1), self.x0 + half, max(self.y0, self.y1)),)
        if self.y0 == self.y1:
            return (Box(min(self.x0, self.x1), self.y0 - half, max(self.x0, self.x1), self.y0 + half),)
        pieces = int(2 * abs(self.x1 - self.x0)) + 1
        step_x, step_y = (self.x1 - self.x0) / pieces, (self.y1 - self.y0) / pieces
        return tuple(
            Box(
                self.x0 + i * step_x,
                self.y0 + i * step_y + min(0.0, step_y) - half,
                self.x0 + (i + 1) * step_x,
                self.y0 + i * step_y + max(0.0, step_y) + half,
            )
            for i in range(pieces)
        )

    def moved(self, dx: float, dy: float) -> "Line":
        """The same stroke elsewhere."""
        return Line(
            self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy, self.thickness,
            role=self.role, note=self.note, layer=self.layer,
        )  # fmt: skip


@dataclass(frozen=True)
class Glyph(_Ink):
    """A SMuFL sign with its origin at (x, y)."""

    name: str
    x: float
    y: float
    scale: float = 1.0

    @property
    def box(self) -> Box:
        """Its ink."""
        left, top, right, bottom = glyph_box(self.name)
        scale = self.scale
        return Box(
            self.x + left * scale, self.y + top * scale, self.x + right * scale, self.y + bottom * scale
        )

    @cached_property
    def boxes(self) -> tuple[Box, ...]:
        """Its one box, or bands of it for a sign with much white in its box."""
        if self.role in _BANDED:
            scale = self.scale
            return tuple(
                Box(
                    self.x + left * scale,
                    self.y + top * scale,
                    self.x + right * scale,
                    self.y + bottom * scale,
                )
                for left, top, right, bottom in glyph_bands(self.name)
            )
        return (self.box,)

    def moved(self, dx: float, dy: float) -> "Glyph":
        """The same sign elsewhere."""
        return Glyph(
            self.name, self.x + dx, self.y + dy, self.scale, role=self.role, note=self.note, layer=self.layer
        )


@dataclass(frozen=True)
class Text(_Ink):
    """A line of letters, its left end at x and standing on the line y."""

    text: str
    face: Face
    size: float
    x: float
    y: float

    @property
    def box(self) -> Box:
        """Its ink."""
        return ink_of(self.text, self.face, self.size).moved(self.x, self.y)

    @cached_property
    def boxes(self) -> tuple[Box, ...]:
        """Its one box."""
        return (self.box,)

    def moved(self, dx: float, dy: float) -> "Text":
        """The same letters elsewhere."""
        return Text(
            self.text, self.face, self.size, self.x + dx, self.y + dy,
            role=self.role, note=self.note, layer=self.layer,
        )  # fmt: skip


@dataclass(frozen=True)
class Arc(_Ink):
    """A slur or tie: a crescent between two points, bulging to ``rise`` (upwards where below zero)."""

    x0: float
    y0: float
    x1: float
    y1: float
    rise: float
    """How far the middle of the crescent stands off its chord."""
    thickness: float
    """In its middle."""
    opens: Literal["", "left", "right"] = ""
    """The side on which it goes on in another system."""

    @property
    def control(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Control points of its middle line, a cubic curve."""
        dx, dy = self.x1 - self.x0, self.y1 - self.y0
        lift = self.rise * 4 / 3
        inset = arc_inset(abs(dx))
        return (
            (self.x0 + dx * inset, self.y0 + dy * inset + lift),
            (self.x1 - dx * inset, self.y1 - dy * inset + lift),
        )

    def points(self, count: int) -> list[tuple[float, float]]:
        """Points of the middle line: its left end and the ends of ``count`` pieces."""
        (bx, by), (cx, cy) = self.control
        x0, y0, x1, y1 = self.x0, self.y0, self.x1, self.y1
        return [
            (x0, y0),
            *(
                (a * x0 + b * bx + c * cx + d * x1, a * y0 + b * by + c * cy + d * y1)
                for a, b, c, d, _ in _pieces(count)
            ),
        ]

    @cached_property
    def boxes(self) -> tuple[Box, ...]:
        """One box for each of its pieces, thin at the tips as the ink is."""
        x0, y0, x1, y1 = self.x0, self.y0, self.x1, self.y1
        (bx, by), (cx, cy) = self.control
        tip, swell = ARC_END / 2, (self.thickness - ARC_END) / 2
        x, y = x0, y0
        pieces: list[Box] = []
        plain = x1 - x0 < _LONG_ARC and abs(y1 - y0) < _TALL_ARC
        steep = abs(self.rise) > _STEEP_RISE
        for a, b, c, d, bulge in _MOST_PIECES if steep else _PIECES if plain else _MANY_PIECES:
            next_x = a * x0 + b * bx + c * cx + d * x1
            next_y = a * y0 + b * by + c * cy + d * y1
            low, high = (y, next_y) if y < next_y else (next_y, y)
            half = tip + swell * bulge
            pieces.append(Box(x, low - half, next_x, high + half))
            x, y = next_x, next_y
        return tuple(pieces)

    def moved(self, dx: float, dy: float) -> "Arc":
        """The same crescent elsewhere."""
        return Arc(
            self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy, self.rise, self.thickness, self.opens,
            role=self.role, note=self.note, layer=self.layer,
        )  # fmt: skip


@dataclass(frozen=True)
class Trace(_Ink):
    """A stroke of even thickness along a row of points: waves, brackets, the curve of a bend."""

    points: tuple[tuple[float, float], ...]
    thickness: float

    @cached_property
    def boxes(self) -> tuple[Box, ...]:
        """One box for each piece between two points; one for all of a wave or a ring."""
        if self.role in _WHOLE:
            return (_hull(self.points, self.thickness / 2),)
        half = self.thickness / 2
        return tuple(
            Box(min(xa, xb) - half, min(ya, yb) - half, max(xa, xb) + half, max(ya, yb) + half)
            for (xa, ya), (xb, yb) in pairwise(self.points)
        )

    @property
    def outline(self) -> tuple[tuple[float, float], ...]:
        """The stroke as a closed polygon: out along one side, back along the other."""
        half = self.thickness / 2
        sides: list[tuple[tuple[float, float], tuple[float, float]]] = []
        last = len(self.points) - 1
        for index, (x, y) in enumerate(self.points):
            (xa, ya), (xb, yb) = self.points[max(0, index - 1)], self.points[min(last, index + 1)]
            dx, dy = xb - xa, yb - ya
            scale = half / (hypot(dx, dy) or 1.0)
            sides.append(((x - dy * scale, y + dx * scale), (x + dy * scale, y - dx * scale)))
        return (*(left for left, _ in sides), *(right for _, right in reversed(sides)))

    def moved(self, dx: float, dy: float) -> "Trace":
        """The same stroke elsewhere."""
        points = tuple((x + dx, y + dy) for x, y in self.points)
        return Trace(points, self.thickness, role=self.role, note=self.note, layer=self.layer)


@dataclass(frozen=True)
class Patch(_Ink):
    """A filled polygon: the head of an arrow."""

    points: tuple[tuple[float, float], ...]

    @cached_property
    def boxes(self) -> tuple[Box, ...]:
        """Its one box."""
        return (_hull(self.points, 0.0),)

    def moved(self, dx: float, dy: float) -> "Patch":
        """The same polygon elsewhere."""
        points = tuple((x + dx, y + dy) for x, y in self.points)
        return Patch(points, role=self.role, note=self.note, layer=self.layer)


def _hull(points: Sequence[tuple[float, float]], around: float) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs) - around, min(ys) - around, max(xs) + around, max(ys) + around)


Ink = Line | Glyph | Text | Arc | Trace | Patch


def arc_inset(width: float) -> float:
    """How far the control points stand in from the ends, as a share: long arcs are flat in the middle."""
    return 0.3 if width < 8 else 0.22 if width < 20 else 0.15


def centred(
    text: str, face: Face, size: float, x: float, y: float, *, role: str, note: str | None = None,
    layer: Layer = "staff",
) -> Text:  # fmt: skip
    """Letters whose ink has its middle at x and which stand on the line y."""
    left, _, right, _ = ink_of(text, face, size)
    return Text(text, face, size, x - (left + right) / 2, y, role=role, note=note, layer=layer)


@cache
def glyph_box(name: str) -> Box:
    """Box of a sign at its natural size, its origin at 0."""
    return Box(*glyph(name).box_sp)


@lru_cache(maxsize=4096)
def ink_of(text: str, face: Face, size: float) -> Box:
    """Box of a line of letters that starts at 0 and stands on 0."""
    return Box(*text_outline(text, face, size).bbox)
