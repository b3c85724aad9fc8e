"""When something known is due again."""

from datetime import UTC, date, timedelta
from zoneinfo import ZoneInfo

from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.practice.recall import LONGEST_DAYS, memory_of
from practising import NOON, exercise, run, take, takes_of

TODAY = date(2031, 3, 3)


def days_until_due(*results: tuple[int, str]) -> int:
    """Days from the last day of practice to the next look; results as (day, takes of that day)."""
    takes = [one for day, signs in results for one in run(signs, start=NOON + timedelta(days=day))]
    memory = memory_of(takes, UTC, TODAY + timedelta(days=results[-1][0]))
    assert memory is not None
    return (memory.due - memory.last).days


def test_what_was_never_played_has_no_memory() -> None:
    assert memory_of([], UTC, TODAY) is None


def test_what_keeps_coming_clean_comes_back_at_longer_and_longer_intervals() -> None:
    first = days_until_due((0, "+"))
    second = days_until_due((0, "+"), (first, "+"))
    third = days_until_due((0, "+"), (first, "+"), (first + second, "+"))

    assert 1 <= first < second <= third <= LONGEST_DAYS


def test_what_did_not_come_is_looked_at_sooner_than_what_came_after_a_slip_or_at_once() -> None:
    failed, slipped, came = (days_until_due((0, "+"), (3, signs)) for signs in ("--", "-+", "+"))

    assert failed < slipped < came


def test_more_takes_on_the_same_day_add_nothing() -> None:
    assert days_until_due((0, "+")) == days_until_due((0, "++++++"))


def test_recall_falls_with_the_days() -> None:
    takes = run("+")
    recalls = [memory_of(takes, UTC, TODAY + timedelta(days=days)) for days in (0, 5, 20, 90)]
    values = [memory.recall for memory in recalls if memory is not None]

    assert values == sorted(values, reverse=True)
    assert 0 < values[-1] < values[0] <= 1


def test_daylight_saving_moves_no_day() -> None:
    """The last Sunday of March has 23 hours in Oslo (Directive 2000/84/EC)."""
    oslo = ZoneInfo("Europe/Oslo")
    start = NOON.replace(month=3, day=29, year=2031, hour=17)
    for zone in (oslo, UTC):
        takes = [take(start), take(start + timedelta(days=3, hours=-1), name="later")]
        memory = memory_of(takes, zone, date(2031, 4, 1))
        assert memory is not None
        assert memory.last == date(2031, 4, 1)


@settings(max_examples=40)
@given(st.lists(takes_of([exercise()]), min_size=1, max_size=30), st.permutations(range(30)))
def test_the_order_of_arrival_does_not_matter(takes: list, order: list[int]) -> None:  # type: ignore[type-arg]  # of takes
    mixed = [takes[index] for index in order if index < len(takes)]

    assert memory_of(mixed, UTC, date(2031, 7, 1)) == memory_of(takes, UTC, date(2031, 7, 1))
