"""Progress as pictures."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from fretwright.base.errors import RenderError
from fretwright.practice.chart import NARROW_MM, WIDE_MM, Chart, Level, Line, described, draw_chart

MONDAY = date(2031, 3, 3)
SVG = "{http://www.w3.org/2000/svg}"


def points(*values: float | None) -> tuple[tuple[date, float], ...]:
    return tuple(
        (MONDAY + timedelta(weeks=week), value) for week, value in enumerate(values) if value is not None
    )


def chart(*values: float | None, **more: bool) -> Chart:
    return Chart("Steps", "beats a minute", (Line("clean", points(*values)),), (Level("goal", 104),), **more)


def of_role(svg: str, role: str) -> list[etree._Element]:
    return [each for each in etree.fromstring(svg.encode()).iter(f"{SVG}g") if each.get("class") == role]


def test_every_week_has_its_mark_and_neighbours_are_joined() -> None:
    svg = draw_chart(chart(60, 64, 64, 69))

    assert len(of_role(svg, "mark")) == 4
    assert len(of_role(svg, "line")) == 3


def test_a_week_of_which_nothing_is_known_breaks_the_line() -> None:
    svg = draw_chart(chart(60, 64, None, 69))

    assert len(of_role(svg, "mark")) == 3
    assert len(of_role(svg, "line")) == 1


def test_more_is_higher_and_later_is_further_right() -> None:
    svg = draw_chart(chart(60, 80))
    (first, second) = (mark[0] for mark in of_role(svg, "mark"))

    assert float(second.get("cx")) > float(first.get("cx"))
    assert float(second.get("cy")) < float(first.get("cy"))


def test_two_lines_are_told_apart_by_shape_and_named() -> None:
    both = Chart("Slurs", "dB", (Line("plucks", points(0, 0)), Line("slurs", points(-6, -4), hollow=True)))
    svg = draw_chart(both)

    assert {mark[0].tag for mark in of_role(svg, "mark")} == {f"{SVG}circle", f"{SVG}path"}
    assert "stroke-dasharray" in svg
    marks = [mark[0].tag for mark in of_role(svg, "mark")[:4]]
    assert marks == [f"{SVG}path"] * 2 + [f"{SVG}circle"] * 2  # the disc lies over a ring of the same value


def test_it_is_told_in_words() -> None:
    assert described(chart(60, 64)) == (
        "clean: 60 beats a minute in the week of 3 March, 64 in the week of 10 March. goal: 104."
    )
    root = etree.fromstring(draw_chart(chart(60), id_prefix="one").encode())
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "one-title one-desc"


def test_nothing_is_no_chart() -> None:
    with pytest.raises(RenderError, match="nothing to draw"):
        draw_chart(chart())


values = st.lists(st.none() | st.floats(-40, 400), min_size=1, max_size=60).filter(
    lambda found: any(value is not None for value in found)
)


@settings(max_examples=40)
@given(values, st.sampled_from([WIDE_MM, NARROW_MM]), st.booleans())
def test_everything_stands_on_the_paper_and_no_two_words_meet(
    found: list[float | None], width_mm: float, from_zero: bool
) -> None:
    svg = draw_chart(chart(*found, from_zero=from_zero), width_mm=width_mm)

    root = etree.fromstring(svg.encode())
    _, _, width, height = map(float, root.get("viewBox", "").split())
    for mark in of_role(svg, "mark"):
        assert 0 <= float(mark[0].get("cx")) <= width
        assert 0 <= float(mark[0].get("cy")) <= height
    assert svg == draw_chart(chart(*found, from_zero=from_zero), width_mm=width_mm)
