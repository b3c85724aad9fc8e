"""Stems, beams and who shares them."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.engrave.beaming import beam_groups, beam_levels, tuplet_groups
from fretwright.engrave.beams import beam_ends, points_up, single_tip
from fretwright.engrave.ink import Line
from fretwright.engrave.pitches import y_of
from fretwright.engrave.plate import engrave
from fretwright.engrave.reading import BarOfColumns, read
from fretwright.score.meter import COMMON_TIME, Meter
from plate_reading import ink, staff_top
from plate_scores import written

EIGHTHS = "e3/0 e3/2 e2/0 e2/1 e2/3 e1/0 e1/1 e1/3"


def first_bar(text: str, meter: Meter = COMMON_TIME, pickup: Fraction = Fraction(0)) -> BarOfColumns:
    return read(written(text, meter=meter, pickup=pickup))[0].voices[0]


# Common practice, no source.
@pytest.mark.parametrize(
    ("text", "meter", "groups"),
    [
        (EIGHTHS, COMMON_TIME, [(0, 1, 2, 3), (4, 5, 6, 7)]),
        ("q3/0 e3/0 e3/0 e3/0 e3/0 e3/0 e3/0", COMMON_TIME, [(1, 2), (3, 4, 5, 6)]),
        ("e3/0 q3/0 e3/0 e3/0 e3/0 e3/0 e3/0", COMMON_TIME, [(3, 4, 5, 6)]),
        ("s3/0 s3/0 e3/0 e3/0 e3/0 h3/0", COMMON_TIME, [(0, 1, 2), (3, 4)]),
        ("e3/0 e3/0 er e3/0 h3/0", COMMON_TIME, [(0, 1)]),
        ("ex3/0 ex3/0 ex3/0 ex3/0 ex3/0 ex3/0 h3/0", COMMON_TIME, [(0, 1, 2), (3, 4, 5)]),
        ("e3/0 e3/0 e3/0 e3/0", Meter(2, 4), [(0, 1, 2, 3)]),
        ("e3/0 e3/0 e3/0 e3/0 e3/0 e3/0", Meter(3, 4), [(0, 1), (2, 3), (4, 5)]),
        ("e3/0 e3/0 e3/0 e3/0 e3/0 e3/0", Meter(6, 8), [(0, 1, 2), (3, 4, 5)]),
        ("e3/0 e3/0 e3/0", Meter(3, 8), [(0, 1, 2)]),
        ("e3/0 e3/0 e3/0 e3/0 e3/0", Meter(5, 8), [(0, 1, 2), (3, 4)]),
        ("e3/0 e3/0 e3/0 e3/0 e3/0 e3/0 e3/0", Meter(7, 8), [(0, 1), (2, 3), (4, 5, 6)]),
    ],
)
def test_beams_show_the_beats(text: str, meter: Meter, groups: list[tuple[int, ...]]) -> None:
    assert list(beam_groups(first_bar(text, meter))) == groups


def test_a_pickup_is_beamed_as_the_end_of_its_bar() -> None:
    assert beam_groups(first_bar("e3/0 e3/2 w1/0", pickup=Fraction(1, 4))) == ((0, 1),)
    three = first_bar("e3/0 s3/2 s2/0 e2/1 w1/0", pickup=Fraction(3, 8))
    assert beam_groups(three) == ((1, 2, 3),)


@pytest.mark.parametrize(
    ("text", "second"),
    [
        ("e.3/0 s3/0 h.3/0", [(1, 1, "left")]),
        ("s3/0 e.3/0 h.3/0", [(0, 0, "right")]),
        ("s3/0 e3/0 s3/0 h.3/0", [(0, 0, "right"), (2, 2, "left")]),
        ("s3/0 s3/0 e3/0 h.3/0", [(0, 1, "")]),
        ("e3/0 s3/0 s3/0 h.3/0", [(1, 2, "")]),
    ],
)
def test_beamlets_point_into_their_group(text: str, second: list[tuple[int, int, str]]) -> None:
    bar = first_bar(text)
    (group,) = beam_groups(bar)
    assert beam_levels([bar.columns[index] for index in group], Fraction(1, 4))[1] == second


def test_thirty_seconds_show_their_half_beats() -> None:
    bar = first_bar(" ".join(["t3/0"] * 8) + " h.3/0")
    levels = beam_levels(bar.columns[:8], Fraction(1, 4))
    assert [len(level) for level in levels] == [1, 2, 2]


@pytest.mark.parametrize(
    ("text", "groups"),
    [
        ("ex3/0 ex3/0 ex3/0 ex3/0 ex3/0 ex3/0 h3/0", [(0, 2), (3, 5)]),
        ("qx3/0 ex3/0 ex3/0 qx3/0 h3/0", [(0, 1), (2, 3)]),
        ("qx3/0 qx3/0 qx3/0 h3/0", [(0, 2)]),
        ("ex3/0 exr ex3/0 h.3/0", [(0, 2)]),
    ],
)
def test_tuplets_are_as_long_as_their_number_says(text: str, groups: list[tuple[int, int]]) -> None:
    assert [(group.first, group.last) for group in tuplet_groups(first_bar(text))] == groups


def test_stems_point_towards_the_middle_line() -> None:
    assert points_up([[3]])
    assert not points_up([[4]])  # the middle line itself: down
    assert points_up([[5], [1]])
    assert not points_up([[2], [6]])  # as far on both sides, no majority: down
    assert points_up([[2], [6], [3]])


def test_a_stem_is_an_octave_long_and_reaches_the_middle_line() -> None:
    assert single_tip(2, 2, 0, up=True) == y_of(2) - 3.5
    assert single_tip(6, 6, 0, up=False) == y_of(6) + 3.5
    assert single_tip(-7, -7, 0, up=True) == 2.0
    assert single_tip(16, 16, 0, up=False) == 2.0


notes = st.lists(st.integers(-7, 14), min_size=2, max_size=6)


@given(notes, st.integers(1, 3), st.booleans(), st.floats(2.2, 6.0))
def test_a_beam_clears_every_head_and_never_slants_too_far(
    steps: list[int], flags: int, up: bool, gap: float
) -> None:
    xs = [gap * index for index in range(len(steps))]
    left, right = beam_ends(xs, steps, [flags] * len(steps), [0.0] * len(steps), up=up)
    assert abs(right - left) <= 1.25
    assert abs(right - left) <= 0.2 * xs[-1] + 0.25
    for x, step in zip(xs, steps, strict=True):
        y = left + (right - left) * x / xs[-1]
        away = y_of(step) - y if up else y - y_of(step)
        assert away >= 2.5 + 0.75 * max(0, flags - 2)


@given(notes)
def test_beams_above_and_below_are_mirror_images(steps: list[int]) -> None:
    xs = [3.0 * index for index in range(len(steps))]
    row, none = [1] * len(steps), [0.0] * len(steps)
    above = beam_ends(xs, steps, row, none, up=True)
    below = beam_ends(xs, [8 - step for step in steps], row, none, up=False)
    assert below == tuple(4.0 - y for y in above)


def test_a_level_line_has_a_level_beam() -> None:
    left, right = beam_ends([0, 3, 6, 9], [2, 3, 4, 2], [1] * 4, [0.0] * 4, up=True)
    assert left == right


def test_stems_of_a_beam_end_on_it() -> None:
    plate = engrave(written(EIGHTHS))
    beams = [each for each in ink(plate, "beam") if isinstance(each, Line)]
    for stem in ink(plate, "stem"):
        assert isinstance(stem, Line)
        ends = [
            beam.y0 + (beam.y1 - beam.y0) * (stem.x0 - beam.x0) / (beam.x1 - beam.x0)
            for beam in beams
            if beam.x0 <= stem.x0 <= beam.x1
        ]
        assert any(abs(stem.y1 - y) < 1e-6 for y in ends)
    assert staff_top(plate, 0) > 0
