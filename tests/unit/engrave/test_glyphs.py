"""Signs of music: names, code points and measures."""

import pytest

from fretwright.base.errors import RenderError
from fretwright.engrave.glyphs import BAND_SP, glyph, glyph_bands, glyphs

# SMuFL 1.4 (W3C Music Notation Community Group), glyphnames.json.
CODE_POINTS = {
    "stringsDownBow": 0xE610,
    "stringsUpBow": 0xE612,
    "accidentalFlat": 0xE260,
    "accidentalNatural": 0xE261,
    "accidentalSharp": 0xE262,
    "accidentalDoubleSharp": 0xE263,
    "accidentalDoubleFlat": 0xE264,
    "6stringTabClef": 0xE06D,
    "4stringTabClef": 0xE06E,
    "gClef": 0xE050,
    "gClef8vb": 0xE052,
    "noteheadXBlack": 0xE0A9,
    # the same standard, from memory
    "noteheadCircleX": 0xE0B3,
    "noteheadDiamondBlack": 0xE0DB,
    "noteheadDiamondHalf": 0xE0D9,
    "noteheadDiamondWhite": 0xE0DD,
    "noteheadSlashHorizontalEnds": 0xE101,
    "noteheadSlashWhiteHalf": 0xE103,
    "noteheadSlashWhiteWhole": 0xE102,
    "tremolo1": 0xE220,
    "tremolo3": 0xE222,
    "ornamentTrill": 0xE566,
    "wiggleTrill": 0xEAA4,
    "articAccentAbove": 0xE4A0,
    "articStaccatoBelow": 0xE4A3,
    "ottavaAlta": 0xE511,
    "quindicesimaAlta": 0xE515,
}


def test_code_points_are_smufls() -> None:
    assert {name: glyph(name).code for name in CODE_POINTS} == CODE_POINTS


def test_a_black_note_head_is_a_space_high_and_its_stems_meet_it() -> None:
    """Bravura's metadata has the anchors in staff spaces: stemUpSE (1.18, 0.168), stemDownNW (0, -0.168)."""
    head = glyph("noteheadBlack")
    left, top, right, bottom = head.box_sp
    assert (bottom - top, left) == (1.0, 0.0)
    assert head.anchors["stemUpSE"] == pytest.approx((1.18 * 250, -0.17 * 250), abs=1)
    assert head.anchors["stemDownNW"] == pytest.approx((0.0, 0.17 * 250), abs=1)
    assert right == pytest.approx(1.18)


@pytest.mark.parametrize("name", sorted(glyphs()))
def test_bands_lie_inside_the_box_and_touch_its_sides(name: str) -> None:
    left, top, right, bottom = glyph(name).box_sp
    bands = glyph_bands(name)
    assert min(band[0] for band in bands) == pytest.approx(left, abs=0.06)
    assert max(band[2] for band in bands) == pytest.approx(right, abs=0.06)
    assert bands[0][1] == pytest.approx(top, abs=0.06)
    assert bands[-1][3] == pytest.approx(bottom, abs=0.06)
    assert all(0 <= band[3] - band[1] <= BAND_SP for band in bands)


def test_an_unknown_sign_is_refused() -> None:
    with pytest.raises(RenderError, match="no outline"):
        glyph("kazooClef")
