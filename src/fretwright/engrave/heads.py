"""Which head a note is written with, and which number or letter it has in the tab.

Common practice, no source: a diamond is a harmonic, a cross a string that is only touched, brackets are a
note that is hardly heard; in the tab ``<12>`` is a string touched over fret 12, ``5<17>`` one that is stopped
besides, ``X`` a dead one.
"""

from functools import lru_cache
from typing import Final

from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import ink_of
from fretwright.engrave.outlines import Face
from fretwright.engrave.style import DIGIT_HEIGHT
from fretwright.score.heads import Head
from fretwright.score.techniques import HarmonicKind
from fretwright.score.values import Value

GRACE_SCALE: Final = 0.64
"""Size of grace notes and of the goals of bends."""
SMALL_FRET_SHARE: Final = 0.72
"""Size of the small numbers in the tab beside the usual ones."""


def head_name(value: Value) -> str:
    """SMuFL name of the plain note head that a value is written with."""
    denominator = value.base.denominator
    return "noteheadWhole" if denominator == 1 else "noteheadHalf" if denominator == 2 else "noteheadBlack"


def head_glyph(head: Head) -> str:
    """SMuFL name of the note head of a note, technique and value considered."""
    denominator = head.value.base.denominator
    if head.note.techniques.dead:
        return "noteheadXBlack" if denominator > 2 else "noteheadCircleX"
    if head.note.techniques.harmonic is not None:
        names = {1: "noteheadDiamondWhite", 2: "noteheadDiamondHalf"}
        return names.get(denominator, "noteheadDiamondBlack")
    return head_name(head.value)


def slash_glyph(value: Value | None, *, muted: bool) -> str:
    """SMuFL name of a rhythm slash; ``None`` for a beat that is left to the player."""
    if muted:
        return "noteheadXBlack" if value is None or value.base.denominator > 2 else "noteheadCircleX"
    names = {1: "noteheadSlashWhiteWhole", 2: "noteheadSlashWhiteHalf"}
    denominator = 4 if value is None else value.base.denominator
    return names.get(denominator, "noteheadSlashHorizontalEnds")


@lru_cache(maxsize=64)
def head_width(name: str) -> float:
    """Width of a note head."""
    return glyph(name).width_sp


def stem_start(name: str, *, up: bool) -> float:
    """How far over or under the middle of a head its stem starts; y runs downwards."""
    anchor = glyph(name).anchors.get("stemUpSE" if up else "stemDownNW")
    if name in {"noteheadBlack", "noteheadHalf"} or anchor is None:
        return -0.17 if up else 0.17
    return anchor[1] / 250.0


def fret_text(head: Head) -> str:
    """What the tab prints for a head: in brackets where it is held over or hardly struck."""
    note = head.note
    harmonic = note.techniques.harmonic
    if note.techniques.dead:
        text = "X"
    elif harmonic is None:
        text = str(note.fret)
    elif harmonic.kind is HarmonicKind.NATURAL:
        text = f"<{harmonic.touched}>"
    else:
        text = f"{harmonic.stopped}<{harmonic.touched}>"
    return f"({text})" if head.is_held or note.techniques.ghost else text


def fret_size() -> float:
    """Font size of fret numbers, from the height of a digit."""
    return DIGIT_HEIGHT / -ink_of("0", Face.SANS_SEMIBOLD, 1.0).top


FRET_SIZE: Final = fret_size()
SMALL_FRET_SIZE: Final = FRET_SIZE * SMALL_FRET_SHARE


def fret_width(head: Head) -> float:
    """Width of a printed fret number."""
    return ink_of(fret_text(head), Face.SANS_SEMIBOLD, FRET_SIZE).width


def small_fret_width(text: str) -> float:
    """Width of a small number in the tab."""
    return ink_of(text, Face.SANS_SEMIBOLD, SMALL_FRET_SIZE).width
