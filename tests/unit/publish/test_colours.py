"""Contrast of the pages' colours, by the formula of WCAG 2.2 (relative luminance and contrast ratio)."""

import re
from importlib.resources import files

import pytest

from fretwright.engrave.svg import INK_COLOUR

STYLE = (files("fretwright.publish") / "assets" / "site.css").read_text(encoding="utf-8")
COLOURS = dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", STYLE)) | {"plate": INK_COLOUR}


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_is_the_formulas_own_check() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(
        4.54, abs=0.01
    )  # the best-known grey that passes AA


@pytest.mark.parametrize(
    ("colour", "least"),
    [("ink", 7.0), ("soft", 4.5), ("rubric", 4.5), ("plate", 7.0), ("edge", 3.0)],
)
def test_what_is_read_or_pressed_stands_out_from_the_paper(colour: str, least: float) -> None:
    assert contrast(COLOURS[colour], COLOURS["paper"]) >= least
