"""Text as outlines, held against the fonts' own tables."""

import pytest
from fontTools.ttLib import TTFont

from fretwright.engrave.outlines import Face, font_bytes, text_outline

FOLDER_LIMIT_BYTES = 1_500_000


def font_of(face: Face) -> TTFont:
    from io import BytesIO

    return TTFont(BytesIO(font_bytes(face)))


@pytest.mark.parametrize("face", list(Face))
def test_a_lone_letter_is_as_wide_as_its_font_says(face: Face) -> None:
    font = font_of(face)
    name = font.getBestCmap()[ord("m")]
    outline = text_outline("m", face, float(font["head"].unitsPerEm))
    assert outline.advance == font["hmtx"][name][0]
    glyph = font["glyf"][name]
    assert outline.bbox == pytest.approx((glyph.xMin, -glyph.yMax, glyph.xMax, -glyph.yMin), abs=1.0)


def test_pairs_are_kerned() -> None:
    pair = text_outline("AV", Face.SERIF, 10.0).advance
    apart = text_outline("A", Face.SERIF, 10.0).advance + text_outline("V", Face.SERIF, 10.0).advance
    assert pair < apart - 0.2


def test_twice_the_size_is_twice_the_outline() -> None:
    small, large = (text_outline("Fret 12", Face.SANS, size) for size in (3.0, 6.0))
    assert large.advance == pytest.approx(2 * small.advance)
    assert large.bbox == pytest.approx(tuple(2 * side for side in small.bbox))


@pytest.mark.parametrize("face", list(Face))
def test_every_face_has_the_signs_a_guitar_course_needs(face: Face) -> None:
    characters = font_of(face).getBestCmap()
    assert [sign for sign in "♭♮♯×½–—’“”…éüßłřčñøœ°·" if ord(sign) not in characters] == []


def test_accidentals_sit_as_high_as_capitals() -> None:
    _, top, _, bottom = text_outline("♯", Face.SERIF, 10.0).bbox
    _, capital, _, _ = text_outline("H", Face.SERIF, 10.0).bbox
    assert top == pytest.approx(capital, abs=0.8)
    assert bottom == pytest.approx(0.0, abs=0.8)


def test_blank_text_has_no_ink() -> None:
    outline = text_outline(" ", Face.SERIF, 10.0)
    assert (outline.path, outline.bbox) == ("", (0.0, 0.0, 0.0, 0.0))
    assert outline.advance > 0


def test_an_unknown_character_is_drawn_as_the_box_for_missing_ones() -> None:
    assert (
        text_outline("\u0f40", Face.SERIF, 10.0).path == text_outline("\u0f41", Face.SERIF, 10.0).path != ""
    )


def test_names_and_weights_are_those_that_pages_ask_for() -> None:
    named = {face: font_of(face) for face in Face}
    families = {face: str(font["name"].getDebugName(16)) for face, font in named.items()}
    assert set(families.values()) == {"Literata", "Libre Franklin"}
    assert named[Face.SERIF_BOLD]["OS/2"].usWeightClass == 700
    assert named[Face.SANS_SEMIBOLD]["OS/2"].usWeightClass == 600
    assert sum(len(font_bytes(face)) for face in Face) < FOLDER_LIMIT_BYTES
