"""Make the web fonts of src/fretwright/publish/assets/fonts from the fonts of the plates.

    python tools/web_fonts.py

The glyphs stay as they are; the files become WOFF2 without hints, which browsers do not use at the
sizes of our pages. The licences (SIL OFL) go with them.
"""

import shutil
from pathlib import Path

from fontTools.subset import Options, Subsetter, load_font, save_font

PACKAGE = Path(__file__).parents[1] / "src" / "fretwright"
FROM, TO = PACKAGE / "engrave" / "fonts", PACKAGE / "publish" / "assets" / "fonts"
STYLES = (
    "Literata-Regular",
    "Literata-Italic",
    "Literata-Bold",
    "LibreFranklin-Regular",
    "LibreFranklin-SemiBold",
)


def main() -> None:
    """Write every style and its licence."""
    for style in STYLES:
        options = Options(flavor="woff2", hinting=False, layout_features=["*"], notdef_outline=True)
        font = load_font(str(FROM / f"{style}.ttf"), options)
        font.recalcTimestamp = False
        subsetter = Subsetter(options)
        subsetter.populate(unicodes=font.getBestCmap())
        subsetter.subset(font)
        target = TO / f"{style}.woff2"
        save_font(font, str(target), options)
        print(f"{target.name}: {target.stat().st_size} bytes")
    for licence in FROM.glob("OFL-*.txt"):
        shutil.copy(licence, TO)


if __name__ == "__main__":
    main()
