"""Signs of music: SMuFL outlines with their measures.

The outlines are a subset of Bravura (SIL Open Font License, see ``smufl/``). Lengths are in units of which
250 make a staff space, y downwards; SMuFL 1.4 says what each name means and where its origin stands (a
note head's on its own line or space, a rest's on the middle line, a clef's on the line it names).
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import pairwise
from math import floor
from types import MappingProxyType
from typing import Final

from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path

from fretwright.base.errors import RenderError

UNITS_PER_SPACE: Final = 250.0
"""An em of 1000 units is the height of a five-line staff (SMuFL 1.4)."""

BAND_SP: Final = 0.25
"""Height of a band of :func:`glyph_bands`."""


@dataclass(frozen=True, slots=True)
class GlyphShape:
    """One sign."""

    name: str
    """Canonical SMuFL name."""
    code: int
    """Its code point in SMuFL's private area."""
    path: str
    """SVG path data in units, y downwards."""
    advance: float
    """Width it takes in a row, in units."""
    box: tuple[float, float, float, float]
    """Left, top, right and bottom of its ink, in units."""
    anchors: Mapping[str, tuple[float, float]]
    """SMuFL anchors such as ``stemUpSE``, as (x, y) in units."""

    @property
    def width_sp(self) -> float:
        """Width of the ink in staff spaces."""
        return (self.box[2] - self.box[0]) / UNITS_PER_SPACE

    @property
    def box_sp(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the ink in staff spaces."""
        left, top, right, bottom = self.box
        scale = 1.0 / UNITS_PER_SPACE
        return left * scale, top * scale, right * scale, bottom * scale


def glyph(name: str) -> GlyphShape:
    """The sign with that SMuFL name. Raises :class:`RenderError` where we carry no outline for it."""
    shape = glyphs().get(name)
    if shape is None:
        raise RenderError(f"There is no outline for the sign {name!r}.")
    return shape


@cache
def glyph_bands(name: str) -> tuple[tuple[float, float, float, float], ...]:
    """The ink of a sign as flat bands, a truer outline than its one box: for signs with much white in it.

    Each band is (left, top, right, bottom) in staff spaces, its height :data:`BAND_SP` or less.
    """
    bands: dict[int, tuple[float, float]] = {}
    for contour in _contours(name):
        for (xa, ya), (xb, yb) in pairwise(contour):
            for band in range(floor(min(ya, yb) / BAND_SP), floor(max(ya, yb) / BAND_SP) + 1):
                left, right = bands.get(band, (xa, xa))
                bands[band] = min(left, xa, xb), max(right, xa, xb)
    _, top, _, bottom = glyph(name).box_sp
    return tuple(
        (left, max(top, band * BAND_SP), right, min(bottom, (band + 1) * BAND_SP))
        for band, (left, right) in sorted(bands.items())
    )


def _contours(name: str) -> Iterator[list[tuple[float, float]]]:
    """The outline as closed rows of points so close together that each lies in the band of its neighbour."""
    pen = RecordingPen()
    parse_path(glyph(name).path, pen)
    points: list[tuple[float, float]] = []
    for command, arguments in pen.value:
        if command == "moveTo":
            points = [arguments[0]]
        elif command in {"lineTo", "curveTo"}:
            start, steps = points[-1], 16
            points.extend(_bezier((start, *arguments), i / steps) for i in range(1, steps + 1))
        else:
            yield [(x / UNITS_PER_SPACE, y / UNITS_PER_SPACE) for x, y in (*points, points[0])]


def _bezier(points: Sequence[tuple[float, float]], t: float) -> tuple[float, float]:
    """A point of a straight line or curve, by de Casteljau's construction."""
    while len(points) > 1:
        points = [(xa + (xb - xa) * t, ya + (yb - ya) * t) for (xa, ya), (xb, yb) in pairwise(points)]
    return points[0]


@cache
def glyphs() -> Mapping[str, GlyphShape]:
    """Every sign that we carry, by SMuFL name."""
    text = (files("fretwright.engrave") / "smufl" / "bravura.json").read_text(encoding="utf-8")
    return MappingProxyType(
        {
            name: GlyphShape(
                name,
                int(entry["code"], 16),
                entry["path"],
                entry["advance"],
                tuple(entry["box"]),
                MappingProxyType({key: tuple(at) for key, at in entry["anchors"].items()}),
            )
            for name, entry in json.loads(text).items()
        }
    )
