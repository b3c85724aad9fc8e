from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.fretboard.hand import hold


@pytest.mark.parametrize(
    ("frets", "position", "fingers"),
    # One finger to a fret, and how the trade stretches; common practice, no source.
    [
        ((5, 7, 8), 5, (1, 3, 4)),
        ((5, 6, 8), 5, (1, 2, 4)),
        ((8, 10), 7, (2, 4)),
        ((8, 10), 8, (1, 3)),
        ((0, 2, 3), 0, (0, 2, 3)),
        ((0, 2, 4), 1, (0, 2, 4)),
        ((3, 5, 7), 3, (1, 2, 4)),
        ((4, 5, 8), 4, (1, 2, 4)),
        ((4, 7, 8), 4, (1, 3, 4)),
        ((5, 6, 7, 8, 9), 5, (1, 2, 3, 4, 4)),
        ((4, 5, 7), 5, (1, 2, 4)),
        ((10, 13), 10, (1, 4)),
        ((0,), 5, (0,)),
        ((), 5, ()),
    ],
)
def test_fingers_fall_as_a_teacher_would_place_them(
    frets: tuple[int, ...], position: int, fingers: tuple[int, ...]
) -> None:
    assert hold(frets, position).fingers == fingers


@pytest.mark.parametrize(
    ("easier", "harder"),
    [
        (((5, 8), 5), ((5, 9), 5)),  # a stretch costs more than none
        (((4, 7), 5), ((3, 6), 5)),  # two frets of moving cost more than one
        (((4, 7), 5), ((4, 8), 5)),  # moving is easier than stretching
        (((5, 7, 9), 5), ((5, 6, 7, 8, 9), 5)),  # a stretch is easier than a slide of one finger
        (((5, 7), 5), ((5, 8), 5)),  # the ring finger is stronger than the little one
    ],
)
def test_what_is_easier_costs_less(
    easier: tuple[tuple[int, ...], int], harder: tuple[tuple[int, ...], int]
) -> None:
    assert hold(*easier).cost < hold(*harder).cost


@given(st.sets(st.integers(0, 20), min_size=1, max_size=5), st.integers(0, 20))
def test_fingers_never_cross_and_only_open_strings_have_none(frets: set[int], position: int) -> None:
    rising = tuple(sorted(frets))
    taken = hold(rising, position)
    assert list(taken.fingers) == sorted(taken.fingers)
    assert [finger == 0 for finger in taken.fingers] == [fret == 0 for fret in rising]
    assert max(taken.fingers) <= 4


@given(st.integers(1, 20))
def test_the_hand_is_at_rest_over_its_own_four_frets_and_nowhere_else(position: int) -> None:
    for size in (1, 2, 3):
        for offsets in combinations(range(-2, 7), size):
            frets = tuple(position + offset for offset in offsets)
            if frets[0] > 0:
                assert hold(frets, position).at_rest == all(0 <= offset <= 3 for offset in offsets)
