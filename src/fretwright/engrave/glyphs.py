"""Signs of music: SMuFL outlines with their measures.

The outlines are a subset of Bravura (SIL Open Font License, see ``smufl/``). Lengths are in units of which
250 make a staff space, y downwards; SMuFL 1.4 says what each name means and where its origin stands (a
note head's on its own line or space, a rest's on the middle line, a clef's on the line it names).
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final

from fretwright.base.errors import RenderError

UNITS_PER_SPACE: Final = 250.0
"""An em of 1000 units is the height of a five-line staff (SMuFL 1.4)."""


@dataclass(frozen=True, slots=True)
class GlyphShape:
    """One sign."""

    name: str
    """Canonical SMuFL name."""
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
def glyphs() -> Mapping[str, GlyphShape]:
    """Every sign that we carry, by SMuFL name."""
    text = (files("fretwright.engrave") / "smufl" / "bravura.json").read_text(encoding="utf-8")
    return MappingProxyType(
        {
            name: GlyphShape(
                name,
                entry["path"],
                entry["advance"],
                tuple(entry["box"]),
                MappingProxyType({key: tuple(at) for key, at in entry["anchors"].items()}),
            )
            for name, entry in json.loads(text).items()
        }
    )
