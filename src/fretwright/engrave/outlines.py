"""Text as outlines, so that no renderer needs a font.

    text_outline("Am7", Face.SERIF, 4.0)   ->   Outline: SVG path data, advance and box

The faces are those of the ``fonts`` folder. Pairs are kerned by the font's own table; nothing else is
shaped, which suits the Latin script that the fonts carry. A character that a font lacks is drawn as the
font's box for missing ones, as a reader would see it anywhere else.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from importlib.resources import files
from io import BytesIO
from types import MappingProxyType
from typing import Any, Final

from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

_PAIRS: Final = 2
"""OpenType lookup type of pair adjustment."""

Box = tuple[float, float, float, float]
"""Left, top, right, bottom; y runs downwards."""


class Face(StrEnum):
    """The faces that plates, pages and handouts share, by the name of their file."""

    SERIF = "Literata-Regular"
    SERIF_ITALIC = "Literata-Italic"
    SERIF_BOLD = "Literata-Bold"
    SERIF_BOLD_ITALIC = "Literata-BoldItalic"
    SANS = "LibreFranklin-Regular"
    SANS_SEMIBOLD = "LibreFranklin-SemiBold"


@dataclass(frozen=True, slots=True)
class Outline:
    """A row of letters as one path, standing on the line y = 0 and starting at x = 0."""

    path: str
    """SVG path data in the unit of the size asked for, y downwards; empty for blank text."""
    advance: float
    """How far the next letter would start to the right."""
    bbox: Box
    """Left, top, right and bottom of the ink; all 0 for blank text."""


@lru_cache(maxsize=4096)
def text_outline(text: str, font: Face, size: float) -> Outline:
    """Set a line of text: ``size`` is the font size (the em) in the caller's unit."""
    loaded = _font(font)
    scale = size / loaded.units_per_em
    names = [loaded.characters.get(ord(character), ".notdef") for character in text]
    pen = SVGPathPen(loaded.glyphs, ntos=_number)
    bounds = BoundsPen(loaded.glyphs)
    x = 0.0
    for name, following in zip(names, [*names, ""][1:], strict=True):
        outline = loaded.glyphs[name]
        place = (scale, 0, 0, -scale, x * scale, 0)
        outline.draw(TransformPen(pen, place))
        outline.draw(TransformPen(bounds, place))
        x += outline.width + _kern(loaded.kern_subtables, name, following)
    return Outline(str(pen.getCommands()), x * scale, bounds.bounds or (0.0, 0.0, 0.0, 0.0))


def font_bytes(font: Face) -> bytes:
    """The font file itself, for a renderer that takes fonts."""
    return (files("fretwright.engrave") / "fonts" / f"{font.value}.ttf").read_bytes()


@dataclass(frozen=True, slots=True)
class _LoadedFont:
    units_per_em: int
    characters: Mapping[int, str]
    glyphs: Any
    """fontTools glyph set: name to drawable outline."""
    kern_subtables: tuple[Any, ...]


@cache
def _font(face: Face) -> _LoadedFont:
    font = TTFont(BytesIO(font_bytes(face)))
    characters = font.getBestCmap()
    return _LoadedFont(
        font["head"].unitsPerEm,
        MappingProxyType(characters),
        font.getGlyphSet(),
        _kern_subtables(font),
    )


def _kern_subtables(font: Any) -> tuple[Any, ...]:  # noqa: ANN401 - fontTools is untyped
    """The pair subtables of the ``kern`` feature, in the order in which they apply."""
    table = font["GPOS"].table
    indices = {
        index
        for record in table.FeatureList.FeatureRecord
        if record.FeatureTag == "kern"
        for index in record.Feature.LookupListIndex
    }
    found = [
        getattr(subtable, "ExtSubTable", subtable)
        for index in sorted(indices)
        for subtable in table.LookupList.Lookup[index].SubTable
    ]
    return tuple(subtable for subtable in found if subtable.LookupType == _PAIRS)


def _kern(subtables: Sequence[Any], first: str, second: str) -> int:
    """Adjustment between two glyphs in font units, by the first subtable that knows the pair."""
    for subtable in subtables:
        if first not in subtable.Coverage.glyphs:
            continue
        if subtable.Format == 1:
            pairs = subtable.PairSet[subtable.Coverage.glyphs.index(first)].PairValueRecord
            match = next((record for record in pairs if record.SecondGlyph == second), None)
            if match is not None:
                return _advance(match.Value1)
            continue
        row = subtable.Class1Record[subtable.ClassDef1.classDefs.get(first, 0)].Class2Record
        return _advance(row[subtable.ClassDef2.classDefs.get(second, 0)].Value1)
    return 0


def _advance(value: Any) -> int:  # noqa: ANN401 - as above
    """What a pair's first value adds to the advance; 0 where it says nothing."""
    return int(value.XAdvance) if value is not None and hasattr(value, "XAdvance") else 0


def _number(value: float) -> str:
    """A coordinate in the fewest characters that keep a thousandth of the caller's unit."""
    return f"{round(value, 3):g}" if abs(value) < 1000 else f"{value:.3f}"
