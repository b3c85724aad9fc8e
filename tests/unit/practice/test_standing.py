"""The success rule on the ladder."""

import math
import random
from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.practice.standing import standing_of
from practising import LADDER, NOON, exercise, run, take, takes_of

RUNGS = LADDER.rungs


def stand(results: list[tuple[float, bool]]) -> tuple[int, ...]:
    """Tempo of the rung after each take."""
    takes = [
        take(NOON + timedelta(minutes=i), bpm=bpm, clean=clean) for i, (bpm, clean) in enumerate(results)
    ]
    return tuple(standing_of(takes[: i + 1], LADDER).bpm for i in range(len(takes)))


def test_whoever_has_played_nothing_stands_at_the_start() -> None:
    standing = standing_of([], LADDER)

    assert (standing.bpm, standing.next_bpm, standing.takes) == (60, 64, 0)
    assert not standing.is_known
    assert not standing.at_goal


def test_clean_twice_opens_the_next_rung() -> None:
    assert stand([(60, True), (60, True), (64, True)]) == (60, 64, 64)


def test_clean_means_twice_in_a_row() -> None:
    assert stand([(60, True), (60, False), (60, True)]) == (60, 60, 60)
    assert stand([(60, True), (60, False), (60, True), (60, True)])[-1] == 64


def test_two_failures_lead_back_one_rung() -> None:
    climbed = [(60, True), (60, True), (64, True), (64, True)]

    assert stand([*climbed, (69, False)])[-1] == 69
    assert stand([*climbed, (69, False), (69, False)])[-1] == 64
    assert stand([*climbed, (69, False), (69, True), (69, False)])[-1] == 69
    assert stand([(60, False)] * 5)[-1] == 60


def test_a_rung_that_threw_a_student_back_asks_twice_as_much() -> None:
    fallen = [(60, True), (60, True), (64, False), (64, False)]

    assert stand([*fallen, *[(60, True)] * 3])[-1] == 60
    assert stand([*fallen, *[(60, True)] * 4])[-1] == 64
    again = [*fallen, *[(60, True)] * 4, (64, False), (64, False)]
    assert stand([*again, *[(60, True)] * 7])[-1] == 60
    assert stand([*again, *[(60, True)] * 8])[-1] == 64


def test_slow_practice_neither_opens_nor_takes_away() -> None:
    climbed = [(60, True), (60, True), (64, True)]

    assert stand([*climbed, *[(60, True)] * 6])[-1] == 64
    assert stand([*climbed, (60, True), (64, True)])[-1] == 69


def test_a_try_above_the_rung_counts_if_it_comes_and_costs_nothing_if_not() -> None:
    assert stand([(74, False)] * 4)[-1] == 60
    assert stand([(74, True), (74, True)])[-1] == 79
    assert stand([(74, True), (60, True)])[-1] == 64


def test_the_goal_is_reached_by_two_clean_takes_there_and_lost_by_two_failures() -> None:
    reached = standing_of(run("++", bpm=104), LADDER)
    assert reached.at_goal
    assert reached.next_bpm is None

    lost = standing_of([*run("++", bpm=104), *run("--", bpm=104, start=NOON + timedelta(days=1))], LADDER)
    assert (lost.bpm, lost.at_goal, lost.last_move) == (97, False, -1)


def test_a_little_too_slow_still_counts_and_clearly_too_slow_does_not() -> None:
    assert stand([(58.5, True), (58.5, True)])[-1] == 64
    assert stand([(57.5, True), (57.5, True)])[-1] == 60


def test_a_ladder_of_one_rung_has_a_goal_and_no_way_down() -> None:
    one = exercise(goal=60).ladder

    assert standing_of(run("++"), one).at_goal
    assert standing_of(run("++--"), one).bpm == 60


@settings(max_examples=40)
@given(st.lists(takes_of([exercise()]), max_size=40), st.randoms(use_true_random=False))
def test_order_and_repetition_of_what_arrives_do_not_matter(takes: list, chance: random.Random) -> None:  # type: ignore[type-arg]  # shuffled in place
    mixed = takes + chance.sample(takes, len(takes) // 2)
    chance.shuffle(mixed)

    assert standing_of(mixed, LADDER) == standing_of(takes, LADDER)


@settings(max_examples=40)
@given(st.lists(takes_of([exercise()]), max_size=40))
def test_one_take_moves_at_most_one_rung_back(takes: list) -> None:  # type: ignore[type-arg]  # as above
    ordered = sorted(takes, key=lambda one: (one.at, one.id))
    places = [standing_of(ordered[:count], LADDER).at for count in range(len(ordered) + 1)]

    assert all(after >= before - 1 for before, after in pairwise(places))
    assert all(0 <= place < len(RUNGS) for place in places)


@given(st.lists(st.tuples(st.integers(0, len(RUNGS) - 1), st.booleans()), max_size=300))
def test_no_rung_throws_anybody_back_more_often_than_the_logarithm_of_the_takes(
    results: list[tuple[int, bool]],
) -> None:
    takes = [
        take(NOON + timedelta(minutes=i), bpm=RUNGS[rung], clean=clean)
        for i, (rung, clean) in enumerate(results)
    ]

    assert_seldom_thrown_back([standing_of(takes[: i + 1], LADDER).at for i in range(len(takes))])


@pytest.mark.parametrize("seed", range(20))
def test_whoever_always_records_at_the_rung_and_stands_at_an_edge_comes_to_rest(seed: int) -> None:
    """The worst case: below an edge everything comes clean, above it nothing does, and nothing is learned."""
    chance = random.Random(seed)
    edge = chance.uniform(61, 110)
    takes: list = []  # type: ignore[type-arg]  # of takes
    places: list[int] = []
    for index in range(400):
        bpm = standing_of(takes, LADDER).bpm
        takes.append(take(NOON + timedelta(minutes=index), bpm=bpm, clean=bpm <= edge))
        places.append(standing_of(takes, LADDER).at)

    assert_seldom_thrown_back(places)
    best = max(index for index, rung in enumerate(RUNGS) if rung <= edge)
    assert places[-200:].count(best) >= 0.9 * 200


def assert_seldom_thrown_back(places: list[int]) -> None:
    for rung in range(1, len(RUNGS)):
        falls = sum(before == rung and after < rung for before, after in pairwise(places))
        assert falls <= math.log2(len(places) / 2 + 1), rung
