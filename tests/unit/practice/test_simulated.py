"""Simulated students follow their plans for months: the rules lead somewhere and never swing to and fro."""

import math
from collections import Counter
from datetime import timedelta
from itertools import pairwise

import pytest

from fretwright.practice.history import History
from fretwright.practice.minutes import ItemKind
from fretwright.practice.standing import standing_of
from practising import COURSE, Learner, practise

SEEDS = range(1, 2)


def places(history: History, name: str) -> list[int]:
    """The rung of one exercise after each of its takes."""
    ladder = next(each.ladder for each in COURSE if each.name == name)
    own = history.of(name)
    return [standing_of(own[: count + 1], ladder).at for count in range(len(own))]


def falls(history: History, name: str) -> int:
    return sum(after < before for before, after in pairwise(places(history, name)))


@pytest.mark.parametrize("seed", SEEDS)
def test_whoever_learns_reaches_every_goal_of_the_course(seed: int) -> None:
    history, _ = practise(Learner(seed), 170)

    for each in COURSE:
        assert standing_of(history.of(each.name), each.ladder).at_goal, each.name


@pytest.mark.parametrize("seed", SEEDS)
def test_whoever_skips_every_third_day_gets_there_too(seed: int) -> None:
    history, _ = practise(Learner(seed), 240, skips=1 / 3)

    assert sum(standing_of(history.of(each.name), each.ladder).at_goal for each in COURSE) >= len(COURSE) - 1


@pytest.mark.parametrize(("seed", "limit_bpm"), [(0, 66.0), (1, 88.0)])
def test_whoever_stands_at_a_limit_comes_to_rest_below_it(seed: int, limit_bpm: float) -> None:
    history, _ = practise(Learner(seed, limit_bpm=limit_bpm, gain=0.1, width_bpm=2.0), 120)

    for each in COURSE:
        rungs = each.ladder.rungs
        track = places(history, each.name)
        last = [rungs[place] for place in track[-len(track) // 3 :]]
        within = [bpm for bpm in last if bpm <= limit_bpm * 1.09]
        assert len(within) >= 0.9 * len(last), (each.name, last)
        thrown = Counter(before for before, after in pairwise(track) if after < before)
        assert all(count <= math.log2(len(track) / 2 + 1) for count in thrown.values()), (each.name, thrown)


@pytest.mark.parametrize("seed", SEEDS)
def test_turns_are_rare_even_where_every_take_is_a_toss(seed: int) -> None:
    """A student whose edge is as wide as three rungs: the plain rule would turn every few takes."""
    history, _ = practise(Learner(seed, limit_bpm=80.0, gain=0.1, width_bpm=14.0), 120)

    for each in COURSE:
        track = places(history, each.name)
        assert falls(history, each.name) <= max(4, 0.16 * len(track)), each.name


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_that_was_begun_is_forgotten(seed: int) -> None:
    history, plans = practise(Learner(seed, gain=0.01), 120)

    last_day = plans[-1].day
    for each in COURSE:
        days = sorted({take.at.date() for take in history.of(each.name)})
        if days:
            gaps = [later - sooner for sooner, later in pairwise([*days, last_day])]
            assert max(gaps) <= timedelta(days=75), each.name


@pytest.mark.parametrize("seed", SEEDS)
def test_days_lie_between_two_times_at_a_new_rung(seed: int) -> None:
    """24 h gaps (Simmons 2012): no exercise is climbed on two days running while others wait."""
    _, plans = practise(Learner(seed), 60)

    climbs = [
        {one.exercise.name for one in plan.items if one.exercise and one.kind is ItemKind.CLIMB}
        for plan in plans
    ]
    assert all(not (one & two) for one, two in pairwise(climbs[3:40]))


@pytest.mark.parametrize("seed", SEEDS)
def test_most_days_hold_music_and_a_rung(seed: int) -> None:
    _, plans = practise(Learner(seed, gain=0.01), 120)

    counts = Counter(one.kind for plan in plans for one in plan.items)
    assert counts[ItemKind.MUSIC] >= 0.95 * len(plans)
    assert counts[ItemKind.CLIMB] >= 0.95 * len(plans)
    assert counts[ItemKind.FIX] >= 10
    assert counts[ItemKind.REVIEW] >= 10
