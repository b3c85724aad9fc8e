"""The head of an instrument, and tuning in words."""

import xml.etree.ElementTree as ET

import pytest

from fretwright.base.errors import RenderError
from fretwright.engrave.pegs import PegSide, order_words, peg_diagram
from fretwright.engrave.tuning_words import (
    fret_step_words,
    harmonic_step_words,
    harmonics_caution,
    left_out_words,
    reference_words,
)
from fretwright.fretboard.tuning import STANDARD, TUNINGS, Tuning
from fretwright.fretboard.tuning_steps import steps_by_frets, steps_by_harmonics

SVG = "{http://www.w3.org/2000/svg}"


def peg_places(svg: str) -> dict[str, tuple[float, float]]:
    """Where each peg's disc stands, by its id."""
    found = {}
    for group in ET.fromstring(svg).iter(f"{SVG}g"):  # noqa: S314 - our own drawing
        if group.get("class") == "peg":
            disc = group.findall(f"{SVG}circle")[1]
            found[group.get("id", "")] = (float(disc.get("cx", 0)), float(disc.get("cy", 0)))
    return found


def test_pegs_on_both_sides() -> None:
    """Thick strings left, the thickest nearest to the nut, which is below: common practice, no source."""
    places = peg_places(peg_diagram(STANDARD, id_prefix="p").svg)
    left = sorted((y, name) for name, (x, y) in places.items() if x < 33)
    right = sorted((y, name) for name, (x, y) in places.items() if x > 33)
    assert [name for _, name in left] == ["p-s4", "p-s5", "p-s6"]
    assert [name for _, name in right] == ["p-s3", "p-s2", "p-s1"]


def test_a_left_handed_head_is_the_mirror_image() -> None:
    plain = peg_diagram(STANDARD)
    mirrored = peg_diagram(STANDARD, left_handed=True)
    for name, (x, y) in peg_places(plain.svg).items():
        assert peg_places(mirrored.svg)[name] == pytest.approx((plain.width_mm - x, y), abs=0.02)


@pytest.mark.parametrize("name", sorted(TUNINGS))
def test_every_string_has_a_peg_of_its_own(name: str) -> None:
    tuning = TUNINGS[name]
    for side in PegSide:
        drawn = peg_diagram(tuning, side)
        places = peg_places(drawn.svg)
        assert len(set(places.values())) == tuning.string_count
        assert all(0 < x < drawn.width_mm and 0 < y < drawn.height_mm for x, y in places.values())
        assert drawn.description.count("string") == tuning.string_count


def test_all_pegs_in_a_row() -> None:
    places = peg_places(peg_diagram(STANDARD, PegSide.ROW).svg)
    assert len({x for x, _ in places.values()}) == 1


def test_ids_that_cannot_be() -> None:
    with pytest.raises(RenderError):
        peg_diagram(STANDARD, id_prefix="1 2")


def test_words() -> None:
    assert order_words(STANDARD) == "Six strings, from the thickest to the thinnest: E, A, D, G, B and E."
    assert reference_words(STANDARD.open_pitch(6), 6) == "Sixth string, E 2: 82.41 Hz"
    assert fret_step_words(steps_by_frets(STANDARD)[3]) == (
        "Press the third string at fret four and tune the open second string to it, until both sound alike."
    )
    told = [harmonic_step_words(step) for step in steps_by_harmonics(STANDARD)]
    assert told[1] == (
        "Touch the fifth string over fret five, and touch the fourth string over fret seven; tune until they "
        "stop beating. The string is then 1.96 cents flat, and 3.9 flat with the strings before it."
    )
    assert told[3].startswith("Touch the sixth string over fret seven, and play the open second string;")
    assert told[4].endswith("1.96 cents flat against its neighbour, which makes up for the one before.")


def test_what_harmonics_cannot_do() -> None:
    """1.955 cents, and three times as much on the third string: computed."""
    caution = harmonics_caution(STANDARD)
    assert "1.96 cents smaller" in caution
    assert "the third string ends 5.9 cents flat" in caution
    assert "once in 2.7 seconds" in caution
    assert left_out_words(STANDARD) == ""
    assert left_out_words(Tuning.parse("open G")) == (
        "No harmonics serve for the second string; tune it by frets."
    )
