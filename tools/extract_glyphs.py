"""Take the outlines that the plate needs from the Bravura data inside the verovio wheel.

    python tools/extract_glyphs.py

Writes src/fretwright/engrave/smufl/bravura.json: for each SMuFL name its code point, advance, bounding box,
anchors and outline. Lengths are in units of 1/250 staff space (1000 to the em, an em being a staff's
height), y downwards as in SVG. Verovio is needed here only; the extracted file is what ships.
"""

import json
import re
import sys
from pathlib import Path

import verovio
from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.svgLib.path import parse_path
from lxml import etree

TARGET = Path(__file__).parents[1] / "src" / "fretwright" / "engrave" / "smufl" / "bravura.json"
DATA = Path(verovio.__file__).parent / "data"

WANTED = (
    "gClef", "gClef8vb", "fClef8vb", "4stringTabClef", "6stringTabClef",
    "noteheadWhole", "noteheadHalf", "noteheadBlack", "noteheadXBlack", "augmentationDot",
    "flag8thUp", "flag8thDown", "flag16thUp", "flag16thDown",
    "flag32ndUp", "flag32ndDown", "flag64thUp", "flag64thDown",
    "restWhole", "restHalf", "restQuarter", "rest8th", "rest16th", "rest32nd", "rest64th",
    "accidentalFlat", "accidentalNatural", "accidentalSharp", "accidentalDoubleSharp", "accidentalDoubleFlat",
    *(f"timeSig{digit}" for digit in range(10)),
    *(f"tuplet{digit}" for digit in range(10)), "tupletColon",
    "stringsDownBow", "stringsUpBow", "metNoteQuarterUp", "metNote8thUp", "metAugmentationDot",
    "wiggleArpeggiatoUp", "fermataAbove",
    "articAccentAbove", "articAccentBelow", "articStaccatoAbove", "articStaccatoBelow",
    "noteheadCircleX", "noteheadDiamondBlack", "noteheadDiamondHalf", "noteheadDiamondWhite",
    "noteheadSlashHorizontalEnds", "noteheadSlashWhiteHalf", "noteheadSlashWhiteWhole",
    "tremolo1", "tremolo2", "tremolo3", "tremolo4",
    "ornamentTrill", "wiggleTrill", "dynamicNiente", "ottavaAlta", "quindicesimaAlta",
)  # fmt: skip


def main() -> None:
    """Write the file; complain of names that the data does not hold."""
    boxes = etree.parse(DATA / "Bravura.xml")
    glyphs = {}
    for entry in boxes.getroot().iter("g"):
        name = entry.get("n")
        if name not in WANTED:
            continue
        left, bottom, width, height = (float(entry.get(key)) for key in ("x", "y", "w", "h"))
        glyphs[name] = {
            "code": entry.get("c"),
            "advance": float(entry.get("h-a-x")),
            "box": [left, -bottom - height, left + width, -bottom],
            "anchors": {
                anchor.get("n"): [
                    round(250 * float(anchor.get("x")), 2),
                    round(-250 * float(anchor.get("y")), 2),
                ]
                for anchor in entry.iter("a")
            },
            "path": outline(DATA / "Bravura" / f"{entry.get('c')}.xml"),
        }
    missing = [name for name in WANTED if name not in glyphs]
    if missing:
        print("not in the data:", ", ".join(missing), file=sys.stderr)
    entries = [f"{json.dumps(name)}: {json.dumps(glyphs[name])}" for name in sorted(glyphs)]
    TARGET.write_text("{\n" + ",\n".join(entries) + "\n}\n", encoding="utf-8")
    print(f"{len(entries)} glyphs")


def outline(file: Path) -> str:
    """The outline with y downwards, in absolute commands and whole units."""
    path = re.sub(r"\s+", " ", etree.parse(file).find(".//path").get("d"))
    pen = SVGPathPen(None, ntos=lambda value: str(round(value)))
    parse_path(path, TransformPen(pen, (1, 0, 0, -1, 0, 0)))
    return str(pen.getCommands())


if __name__ == "__main__":
    main()
