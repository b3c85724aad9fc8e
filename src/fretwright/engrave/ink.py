"""Ink: the primitives that a plate is drawn with.

Lengths are in staff spaces, x to the right and y downwards. Every primitive knows its role ("stem",
"notehead"), the note it belongs to where it belongs to one, and the boxes that its ink fills; an arc
fills many small ones, so that what lies under it is not taken for covered.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, Literal, NamedTuple

from fretwright.engrave.glyphs import glyph
from fretwright.engrave.outlines import Face, text_outline

Layer = Literal["staff", "tab"]

ARC_SAMPLES: Final = 12
"""Pieces into which an arc is cut for its boxes."""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ink:
    role: str
    """What it is, in the words of the trade: ``notehead``, ``stem``, ``fret``, ``slur``."""
    note: str | None = None
    """Id of the note that it belongs to alone."""
    layer: Layer = "staff"
    """Whether it belongs to the staff or to the tab."""


@dataclass(frozen=True, slots=True)
class Line(_Ink):
    """A straight stroke with blunt ends: horizontal, vertical or (cut upright) slanted."""

    x0: float
    y0: float
    x1: float
    y1: float
    thickness: float
    """Across a vertical stroke in x, across any other in y."""

    @property
    def boxes(self) -> tuple[Box, ...]:
        """A slanted stroke is cut into pieces of about a space."""
        half = self.thickness / 2
        if self.x0 == self.x1:
            return (Box(self.x0 - half, min(self.y0, self.y1), self.x0 + half, max(self.y0, self.y1)),)
        if self.y0 == self.y1:
            return (Box(min(self.x0, self.x1), self.y0 - half, max(self.x0, self.x1), self.y0 + half),)
        pieces = max(1, int(abs(self.x1 - self.x0)) + 1)
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
        return replace(self, x0=self.x0 + dx, x1=self.x1 + dx, y0=self.y0 + dy, y1=self.y1 + dy)


@dataclass(frozen=True, slots=True)
class Glyph(_Ink):
    """A SMuFL sign with its origin at (x, y)."""

    name: str
    x: float
    y: float
    scale: float = 1.0

    @property
    def box(self) -> Box:
        """Its ink."""
        left, top, right, bottom = glyph(self.name).box_sp
        scale = self.scale
        return Box(
            self.x + left * scale, self.y + top * scale, self.x + right * scale, self.y + bottom * scale
        )

    @property
    def boxes(self) -> tuple[Box, ...]:
        """Its one box."""
        return (self.box,)

    def moved(self, dx: float, dy: float) -> "Glyph":
        """The same sign elsewhere."""
        return replace(self, x=self.x + dx, y=self.y + dy)


@dataclass(frozen=True, slots=True)
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
        return Box(*text_outline(self.text, self.face, self.size).bbox).moved(self.x, self.y)

    @property
    def boxes(self) -> tuple[Box, ...]:
        """Its one box."""
        return (self.box,)

    def moved(self, dx: float, dy: float) -> "Text":
        """The same letters elsewhere."""
        return replace(self, x=self.x + dx, y=self.y + dy)


@dataclass(frozen=True, slots=True)
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

    def point(self, t: float) -> tuple[float, float]:
        """A point of the middle line, ``t`` from 0 to 1."""
        (cx0, cy0), (cx1, cy1) = self.control
        u = 1 - t
        a, b, c, d = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
        return a * self.x0 + b * cx0 + c * cx1 + d * self.x1, a * self.y0 + b * cy0 + c * cy1 + d * self.y1

    @property
    def boxes(self) -> tuple[Box, ...]:
        """One box for each of its pieces."""
        half = self.thickness / 2
        points = [self.point(i / ARC_SAMPLES) for i in range(ARC_SAMPLES + 1)]
        return tuple(
            Box(xa, min(ya, yb) - half, xb, max(ya, yb) + half)
            for (xa, ya), (xb, yb) in zip(points, points[1:], strict=False)
        )

    def moved(self, dx: float, dy: float) -> "Arc":
        """The same crescent elsewhere."""
        return replace(self, x0=self.x0 + dx, x1=self.x1 + dx, y0=self.y0 + dy, y1=self.y1 + dy)


Ink = Line | Glyph | Text | Arc


def arc_inset(width: float) -> float:
    """How far the control points stand in from the ends, as a share: long arcs are flat in the middle."""
    return 0.3 if width < 8 else 0.22 if width < 20 else 0.15


def moved(ink: Iterator[Ink] | list[Ink] | tuple[Ink, ...], dx: float, dy: float) -> list[Ink]:
    """Every primitive moved by the same step."""
    return [each.moved(dx, dy) for each in ink]


def centred(
    text: str, face: Face, size: float, x: float, y: float, *, role: str, note: str | None = None,
    layer: Layer = "staff",
) -> Text:  # fmt: skip
    """Letters whose ink has its middle at x and which stand on the line y."""
    left, _, right, _ = ink_of(text, face, size)
    return Text(text, face, size, x - (left + right) / 2, y, role=role, note=note, layer=layer)


@lru_cache(maxsize=4096)
def ink_of(text: str, face: Face, size: float) -> Box:
    """Box of a line of letters that starts at 0 and stands on 0."""
    return Box(*text_outline(text, face, size).bbox)
