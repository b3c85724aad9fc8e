"""Text as outlines, so that no renderer needs a font.

    text_outline("Am7", Face.SERIF, 4.0)   ->   Outline: SVG path data, advance and box

The faces are those of the ``fonts`` folder. Pairs are kerned by the font's own table; nothing else is
shaped, which suits the Latin script that the fonts carry. A character that a font lacks is drawn as the
font's box for missing ones, as a reader would see it anywhere else.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from importlib.resources import files
from io import BytesIO
from types import MappingProxyType
from typing import Any

from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

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
        x += outline.width + loaded.kerning.get((name, following), 0)
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
    kerning: Mapping[tuple[str, str], int]


@cache
def _font(face: Face) -> _LoadedFont:
    font = TTFont(BytesIO(font_bytes(face)))
    characters = font.getBestCmap()
    basic = frozenset(name for code, name in characters.items() if code < 0x250)
    return _LoadedFont(
        font["head"].unitsPerEm,
        MappingProxyType(characters),
        font.getGlyphSet(),
        MappingProxyType(_kerning(font, basic)),
    )


def _kerning(font: Any, wanted: frozenset[str]) -> dict[tuple[str, str], int]:  # noqa: ANN401 - fontTools is untyped
    """Pair adjustments of the first ``kern`` lookups between the wanted glyphs, in font units."""
    pairs: dict[tuple[str, str], int] = {}
    table = font["GPOS"].table
    indices = {
        index
        for record in table.FeatureList.FeatureRecord
        if record.FeatureTag == "kern"
        for index in record.Feature.LookupListIndex
    }
    for index in sorted(indices):
        for subtable in table.LookupList.Lookup[index].SubTable:
            actual = getattr(subtable, "ExtSubTable", subtable)
            if actual.LookupType == 2:
                for pair, adjustment in _pairs_of(actual, wanted):
                    pairs.setdefault(pair, adjustment)
    return pairs


def _pairs_of(subtable: Any, wanted: frozenset[str]) -> list[tuple[tuple[str, str], int]]:  # noqa: ANN401 - as above
    firsts = [name for name in subtable.Coverage.glyphs if name in wanted]
    if subtable.Format == 1:
        by_first = dict(zip(subtable.Coverage.glyphs, subtable.PairSet, strict=True))
        return [
            ((first, record.SecondGlyph), record.Value1.XAdvance)
            for first in firsts
            for record in by_first[first].PairValueRecord
            if _advance(record.Value1)
        ]
    rows = subtable.Class1Record
    classes1, classes2 = subtable.ClassDef1.classDefs, subtable.ClassDef2.classDefs
    found: list[tuple[tuple[str, str], int]] = []
    for first in firsts:
        row = rows[classes1.get(first, 0)].Class2Record
        for second in wanted:
            value = row[classes2.get(second, 0)].Value1
            if _advance(value):
                found.append(((first, second), value.XAdvance))
    return found


def _advance(value: Any) -> int:  # noqa: ANN401 - as above
    """What a pair's first value adds to the advance; 0 where it says nothing."""
    return int(value.XAdvance) if value is not None and hasattr(value, "XAdvance") else 0


def _number(value: float) -> str:
    """A coordinate in the fewest characters that keep a thousandth of the caller's unit."""
    return f"{round(value, 3):g}" if abs(value) < 1000 else f"{value:.3f}"
