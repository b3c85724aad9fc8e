"""Spacing, breaking and skylines: the numbers behind the line."""

from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.engrave.breaking import (
    TORN_ARC_COST,
    BarRoom,
    _badness,
    break_into_systems,
)
from fretwright.engrave.ink import Box
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.spacing import DOUBLING, Spring, force_to_fill, least_total, natural_width

lengths = st.floats(1.0, 9.0)
springs = st.builds(Spring, natural=lengths, least=lengths)


@given(st.lists(springs, min_size=1, max_size=40), st.floats(1.0, 5.0))
def test_the_force_fills_the_width_exactly(row: list[Spring], stretch: float) -> None:
    width = least_total(row) * stretch
    force = force_to_fill(row, width)
    assert sum(spring.length(force) for spring in row) == pytest.approx(width, rel=1e-9)


def test_springs_that_cannot_be_so_narrow_have_no_force() -> None:
    assert force_to_fill([Spring(2.0, 3.0)], 2.9) == 0.0


@given(st.fractions(Fraction(1, 64), Fraction(2), max_denominator=96))
def test_twice_the_time_is_wider_by_the_optical_factor(time: Fraction) -> None:
    assert natural_width(2 * time) == pytest.approx(DOUBLING * natural_width(time))
    assert 1 < DOUBLING < 2


rooms = st.builds(
    BarRoom,
    springs=st.lists(springs, min_size=1, max_size=6).map(tuple),
    fixed=st.floats(0.5, 3.0),
    at_start=st.floats(2.0, 8.0),
    at_end=st.sampled_from([0.0, 2.0]),
    torn_arcs=st.integers(0, 2),
)


@given(st.lists(rooms, min_size=1, max_size=8), st.floats(30.0, 90.0))
def test_breaks_are_the_best_of_all_there_are(bars: list[BarRoom], width: float) -> None:
    def cost(breaks: tuple[int, ...]) -> float:
        total = 0.0
        for first, last in zip((0, *breaks), (*breaks, len(bars)), strict=True):
            row = [spring for bar in bars[first:last] for spring in bar.springs]
            fixed = bars[first].at_start + sum(bar.fixed for bar in bars[first:last])
            if least_total(row) + fixed > width and last > first + 1:
                return float("inf")
            room = width - fixed - bars[last - 1].at_end
            total += _badness(row, room, last=last == len(bars))
            total += TORN_ARC_COST * bars[last - 1].torn_arcs if last < len(bars) else 0.0
        return total

    inner = range(1, len(bars))
    best = min(cost(chosen) for count in range(len(bars)) for chosen in combinations(inner, count))
    found = break_into_systems(bars, width)
    assert cost(tuple(first for first, _ in found[1:])) == pytest.approx(best)
    assert [first for first, _ in found[1:]] == [last for _, last in found[:-1]]
    assert (found[0][0], found[-1][1]) == (0, len(bars))


boxes = st.builds(
    lambda left, top, width, height: Box(left, top, left + width, top + height),
    st.floats(0, 40), st.floats(-10, 10), st.floats(0.1, 8), st.floats(0.1, 8),
)  # fmt: skip


@given(st.lists(boxes, min_size=1, max_size=12), boxes, st.sampled_from([-1, 1]))
def test_what_is_set_at_the_edge_of_a_skyline_touches_nothing(
    standing: list[Box], new: Box, sign: int
) -> None:
    sky = Skyline(50.0, sign)
    for box in standing:
        sky.add(box)
    edge = sky.edge(new.left, new.right, 0.2, at_least=sign * -100.0)
    placed = Box(new.left, edge - new.height, new.right, edge)
    if sign > 0:
        placed = Box(new.left, edge, new.right, edge + new.height)
    assert not any(placed.meets(box) for box in standing)


@given(st.lists(boxes, min_size=1, max_size=8), st.lists(boxes, min_size=1, max_size=8))
def test_two_skylines_at_their_distance_do_not_meet(above: list[Box], below: list[Box]) -> None:
    lower, upper = Skyline(50.0, 1), Skyline(50.0, -1)
    for box in above:
        lower.add(box)
    for box in below:
        upper.add(box)
    distance = lower.distance_to(upper)
    if distance > float("-inf"):
        moved = [box.moved(0, distance + 0.001) for box in below]
        assert not any(high.meets(low) for high in above for low in moved)
