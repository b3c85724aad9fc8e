"""Make the font files of src/fretwright/engrave/fonts from the npm packages that carry them.

    npm pack @fontsource/literata @fontsource/libre-franklin     (version 5.3.0 of each; unpack both)
    python tools/vendor_fonts.py literata/package libre-franklin/package

Each style comes as two WOFF2 subsets (latin, latin-ext). They are merged into one TTF, and the sharp,
flat and natural signs that both families lack are added from Bravura. All three are under the SIL Open
Font License; neither family reserves its name, and the name that Bravura reserves is not used.
"""

import sys
import tempfile
from io import BytesIO
from pathlib import Path

from fontTools.merge import Merger, Options
from fontTools.misc.transform import Transform
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.svgLib.path import parse_path
from fontTools.ttLib import TTFont

from fretwright.engrave.glyphs import glyph

FONTS = Path(__file__).parents[1] / "src" / "fretwright" / "engrave" / "fonts"
STYLES = (
    ("literata", "Literata", 400, "normal", "Regular"),
    ("literata", "Literata", 400, "italic", "Italic"),
    ("literata", "Literata", 700, "normal", "Bold"),
    ("literata", "Literata", 700, "italic", "Bold Italic"),
    ("libre-franklin", "Libre Franklin", 400, "normal", "Regular"),
    ("libre-franklin", "Libre Franklin", 600, "normal", "SemiBold"),
)
"""Package, family, weight and slant as the package names them, style as the file names it."""

SIGNS = (
    ("♭", "uni266D", "accidentalFlat"),
    ("♮", "uni266E", "accidentalNatural"),
    ("♯", "uni266F", "accidentalSharp"),
)
"""Character, its name in the font, its outline in Bravura."""

FIXED_TIME = 3_786_912_000
"""Seconds from 1904 to the start of 2024, so that the same fonts come out every time."""


def main(packages: list[Path]) -> None:
    """Write every style."""
    by_name = {path.resolve().parent.name: path for path in packages}
    for package, family, weight, slant, style in STYLES:
        font = merged(by_name[package] / "files", f"{package}-{{}}-{weight}-{slant}.woff2")
        add_signs(font)
        rename(font, family, style, weight)
        target = FONTS / f"{family.replace(' ', '')}-{style.replace(' ', '')}.ttf"
        font.save(target)
        print(f"{target.name}: {len(font.getGlyphOrder())} glyphs, {target.stat().st_size} bytes")


def merged(folder: Path, pattern: str) -> TTFont:
    """Both subsets of a style as one font."""
    with tempfile.TemporaryDirectory() as place:
        parts = []
        for subset in ("latin", "latin-ext"):
            font = TTFont(folder / pattern.format(subset), recalcTimestamp=False)
            font.flavor = None
            parts.append(str(Path(place) / f"{subset}.ttf"))
            font.save(parts[-1])
        whole = BytesIO()
        Merger(Options(drop_tables=["DSIG", "vhea", "vmtx"])).merge(parts).save(whole)
        return TTFont(BytesIO(whole.getvalue()), recalcTimestamp=False, lazy=False)


def add_signs(font: TTFont) -> None:
    """Add the three accidentals at the height of the font's capitals; the flat sits on the line."""
    units = font["head"].unitsPerEm
    capital = getattr(font["OS/2"], "sCapHeight", 0) or 0.7 * units
    for character, name, outline in SIGNS:
        shape = glyph(outline)
        left, top, right, bottom = shape.box
        scale = 1.12 * capital / (bottom - top)
        foot = -0.02 * capital if character == "♭" else (capital - scale * (bottom - top)) / 2
        rise = foot + bottom * scale
        side = 0.06 * units
        pen = TTGlyphPen(None)
        quadratic = Cu2QuPen(pen, max_err=units / 1000, reverse_direction=True)
        place = Transform(scale, 0, 0, -scale, side - left * scale, rise)
        parse_path(shape.path, TransformPen(quadratic, place))
        font["glyf"][name] = pen.glyph()
        font["hmtx"][name] = (round((right - left) * scale + 2 * side), round(side))
        for table in font["cmap"].tables:
            if table.isUnicode():
                table.cmap[ord(character)] = name


def rename(font: TTFont, family: str, style: str, weight: int) -> None:
    """Give the static style its plain family and style names."""
    names = font["name"]
    postscript = f"{family.replace(' ', '')}-{style.replace(' ', '')}"
    in_family_of_four = style in {"Regular", "Italic", "Bold", "Bold Italic"}
    short = (family, style) if in_family_of_four else (f"{family} {style}", "Regular")
    texts = {
        1: short[0],
        2: short[1],
        3: postscript,
        4: f"{family} {style}",
        6: postscript,
        16: family,
        17: style,
    }
    names.names = [record for record in names.names if record.nameID not in {*texts, 21, 22, 25}]
    for number, text in texts.items():
        names.setName(text, number, 3, 1, 0x409)
    bold, italic = "Bold" in style and in_family_of_four, "Italic" in style
    font["OS/2"].usWeightClass = weight
    font["OS/2"].fsSelection = (
        (font["OS/2"].fsSelection & ~0x61) | italic | bold << 5 | (not (bold or italic)) << 6
    )
    font["head"].macStyle = bold | italic << 1
    font["head"].created = font["head"].modified = FIXED_TIME


if __name__ == "__main__":
    main([Path(argument) for argument in sys.argv[1:]])
