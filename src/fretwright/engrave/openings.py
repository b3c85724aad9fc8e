"""What opens a system: clefs, key signature, time signature; and their widths."""

from typing import Final

from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import Glyph, Ink, Layer
from fretwright.engrave.pitches import clef_of, signature, y_of
from fretwright.engrave.shapes import Layout
from fretwright.engrave.style import TAB_SPACE
from fretwright.score.meter import Meter
from fretwright.score.score import Score

CLEF_X: Final = 0.7
_AFTER_CLEF: Final = 0.8
_AFTER_SIGNATURE: Final = 0.75
_BETWEEN_SIGNS: Final = 0.12
_METER_PAD: Final = 0.5
_TAB_CLEF_SHARE: Final = 0.86
"""Height of the word TAB as a share of the tab's height."""
TAB_METER_SCALE: Final = 1.3
"""A time signature in tab alone is larger, as the tab is higher than a staff."""
_BEFORE_TAB_METER: Final = 0.3
AFTER_TAB_METER: Final = 0.7
"""More white behind it there, so that no figure of it is taken for a fret."""


def tab_height(strings: int) -> float:
    """Height of a tab of that many strings."""
    return (strings - 1) * TAB_SPACE


def meter_width(meter: Meter, scale: float = 1.0) -> float:
    """Room for a time signature with the white around it."""
    return max(_digits_width(meter.count), _digits_width(meter.unit)) * scale + 2 * _METER_PAD


def opening_width(score: Score, layout: Layout, *, first: bool) -> float:
    """Width of all that stands before the first bar of a system."""
    if layout == "tab":
        meter = meter_width(score.bars[0].meter, TAB_METER_SCALE) if first else 0.0
        return (
            CLEF_X + _tab_clef_width(score) + (meter + _BEFORE_TAB_METER + AFTER_TAB_METER if first else 0.8)
        )
    meter = meter_width(score.bars[0].meter) if first else 0.0
    clef = clef_of(score.neck)
    signs = signature(score.key, clef)
    width = CLEF_X + _clefs_width(score, layout)
    if signs:
        width += _AFTER_CLEF + sum(glyph(name).width_sp + _BETWEEN_SIGNS for name, _ in signs)
    return width + meter + (_AFTER_SIGNATURE - _METER_PAD if first else 0.7)


def _clefs_width(score: Score, layout: Layout) -> float:
    """The wider of the clefs that stand under each other."""
    own = glyph(clef_of(score.neck).glyph).width_sp
    return own if layout == "slashes" else max(own, _tab_clef_width(score))


def staff_opening(score: Score, layout: Layout, *, first: bool) -> list[Ink]:
    """Clef, key signature and, in the first system, the time signature of the staff."""
    clef = clef_of(score.neck)
    ink: list[Ink] = [Glyph(clef.glyph, CLEF_X, y_of(clef.step), role="clef")]
    x = CLEF_X + _clefs_width(score, layout)
    signs = signature(score.key, clef)
    if signs:
        x += _AFTER_CLEF
        for name, step in signs:
            ink.append(Glyph(name, x, y_of(step), role="key"))
            x += glyph(name).width_sp + _BETWEEN_SIGNS
    if first:
        ink.extend(meter_ink(score.bars[0].meter, x + _AFTER_SIGNATURE - _METER_PAD, 2.0))
    return ink


def tab_opening(score: Score, *, meter: bool) -> list[Ink]:
    """The word TAB and, in tab alone, the time signature."""
    height = tab_height(score.neck.tuning.string_count)
    scale = _tab_clef_scale(score)
    ink: list[Ink] = [Glyph("6stringTabClef", CLEF_X, height / 2, scale, role="tab-clef", layer="tab")]
    if meter:
        x = CLEF_X + _tab_clef_width(score) + _BEFORE_TAB_METER
        ink.extend(meter_ink(score.bars[0].meter, x, height / 2, TAB_METER_SCALE, layer="tab"))
    return ink


def meter_ink(meter: Meter, x: float, middle: float, scale: float = 1.0, layer: Layer = "staff") -> list[Ink]:
    """A time signature whose room starts at x and whose two figures meet at ``middle``."""
    width = meter_width(meter, scale)
    ink: list[Ink] = []
    for number, y in ((meter.count, middle - scale), (meter.unit, middle + scale)):
        at = x + (width - _digits_width(number) * scale) / 2
        for digit in str(number):
            shape = glyph(f"timeSig{digit}")
            ink.append(Glyph(shape.name, at - shape.box_sp[0] * scale, y, scale, role="meter", layer=layer))
            at += (shape.width_sp + 0.12) * scale
    return ink


def _digits_width(number: int) -> float:
    digits = str(number)
    return sum(glyph(f"timeSig{digit}").width_sp for digit in digits) + 0.12 * (len(digits) - 1)


def _tab_clef_scale(score: Score) -> float:
    _, top, _, bottom = glyph("6stringTabClef").box_sp
    return _TAB_CLEF_SHARE * tab_height(score.neck.tuning.string_count) / (bottom - top)


def _tab_clef_width(score: Score) -> float:
    return glyph("6stringTabClef").width_sp * _tab_clef_scale(score)
