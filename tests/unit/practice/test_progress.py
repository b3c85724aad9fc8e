"""Tempo, evenness and slurs over the weeks."""

import random
from dataclasses import replace
from datetime import UTC, date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.practice.history import History, Remark
from fretwright.practice.progress import progress_of, uneven_percent
from practising import COURSE, NOON, histories, run, take

WEEK = timedelta(days=7)


def test_each_week_has_its_quickest_clean_take() -> None:
    takes = [*run("+-"), *run("++", bpm=64, start=NOON + WEEK), *run("-", bpm=74, start=NOON + 3 * WEEK)]
    way = progress_of(COURSE, History(tuple(takes)), UTC).exercises[0]

    assert [(week.monday, week.takes, week.clean, week.clean_bpm, week.tried_bpm) for week in way.weeks] == [
        (date(2031, 3, 3), 2, 1, 60, 60),
        (date(2031, 3, 10), 2, 2, 64, 64),
        (date(2031, 3, 24), 1, 0, None, 74),
    ]
    assert way.sentence == "Clean at 60 beats a minute, 1 week later at 64; the goal is 104."


def test_a_tempo_that_stayed_is_told_as_that() -> None:
    takes = [*run("+"), *run("+", start=NOON + 2 * WEEK)]

    sentence = progress_of(COURSE, History(tuple(takes)), UTC).exercises[0].sentence
    assert sentence == "Clean at 60 beats a minute, and so 2 weeks before; the goal is 104."


def test_a_sunday_night_belongs_to_its_week() -> None:
    late = take(NOON - timedelta(hours=11))

    assert progress_of(COURSE, History((late,)), UTC).exercises[0].weeks[0].monday == date(2031, 2, 24)


def test_evenness_is_a_share_of_the_interval_and_never_finer_than_can_be_heard() -> None:
    """2.5 % of the interval, 6 ms below 240 ms (Friberg & Sundberg 1995)."""
    assert uneven_percent(replace(take(), spread_ms=50.0, interval_ms=500.0)) == 10
    assert uneven_percent(replace(take(), spread_ms=1.0, interval_ms=500.0)) == 2.5
    assert uneven_percent(replace(take(), spread_ms=1.0, interval_ms=100.0)) == 6
    assert uneven_percent(replace(take(), spread_ms=None)) is None
    assert uneven_percent(replace(take(), interval_ms=None)) is None


def test_what_the_teacher_said_stands_beside_it_newest_first() -> None:
    said = tuple(Remark(COURSE[0].name, None, text, NOON + timedelta(days=d)) for d, text in enumerate("abc"))
    way = progress_of(COURSE, History((), said[1:] + said[:2]), UTC).exercises[0]

    assert [one.text for one in way.remarks] == ["c", "b", "a"]
    assert way.weeks == ()
    assert way.sentence == "0 takes so far, none clean yet."


@settings(max_examples=40)
@given(histories(), st.randoms(use_true_random=False))
def test_the_order_of_arrival_does_not_matter(history: History, chance: random.Random) -> None:
    mixed = [*history.takes, *history.takes[:5]]
    chance.shuffle(mixed)

    assert progress_of(COURSE, replace(history, takes=tuple(mixed)), UTC) == progress_of(COURSE, history, UTC)


@settings(max_examples=40)
@given(histories())
def test_every_take_is_counted_once(history: History) -> None:
    made = progress_of(COURSE, history, UTC)

    assert sum(week.takes for way in made.exercises for week in way.weeks) == made.takes
    assert made.takes == len({one.id for one in history.takes})
    assert list(made.days) == sorted(set(made.days))
