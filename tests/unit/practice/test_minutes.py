"""What fits into the time there is."""

from hypothesis import given
from hypothesis import strategies as st

from fretwright.practice.minutes import LONGEST_STRETCH_MINUTES, REST_MINUTES, ItemKind, Slot, timetable

PARTS = [kind for kind in ItemKind if kind is not ItemKind.REST]
DAY = [ItemKind.WARM_UP, ItemKind.FIX, ItemKind.REVIEW, ItemKind.CLIMB, ItemKind.MUSIC]


def length(slots: tuple[Slot, ...]) -> int:
    return sum(slot.minutes + REST_MINUTES * slot.rest_before for slot in slots)


@given(st.lists(st.sampled_from(PARTS), max_size=12), st.integers(5, 120))
def test_a_day_never_takes_longer_than_there_is_time(wanted: list[ItemKind], minutes: int) -> None:
    slots = timetable(wanted, minutes)

    assert length(slots) <= minutes
    assert [slot.wanted for slot in slots] == sorted({slot.wanted for slot in slots})
    assert all(slot.minutes >= 1 for slot in slots)


@given(st.lists(st.sampled_from(PARTS), max_size=12), st.integers(5, 120))
def test_no_stretch_of_playing_is_longer_than_is_good(wanted: list[ItemKind], minutes: int) -> None:
    """Five minutes of rest in each twenty to thirty: expert advice, not trial evidence (from memory)."""
    stretch = 0
    for slot in timetable(wanted, minutes):
        stretch = slot.minutes if slot.rest_before else stretch + slot.minutes
        assert stretch <= LONGEST_STRETCH_MINUTES <= 30


@given(st.integers(5, 120))
def test_more_time_never_makes_a_day_shorter(minutes: int) -> None:
    assert sum(slot.minutes for slot in timetable(DAY, minutes)) <= sum(
        slot.minutes for slot in timetable(DAY, minutes + 30)
    )


def test_nine_minutes_hold_one_of_each_and_five_the_first_that_matter() -> None:
    assert [slot.minutes for slot in timetable(DAY, 9)] == [1, 2, 2, 2, 2]
    assert [DAY[slot.wanted] for slot in timetable(DAY, 5)] == [
        ItemKind.WARM_UP,
        ItemKind.FIX,
        ItemKind.CLIMB,
    ]


def test_twenty_minutes_are_used_up_and_an_hour_has_a_rest() -> None:
    assert length(timetable(DAY, 20)) == 20
    hour = timetable([*DAY, ItemKind.CLIMB, ItemKind.REVIEW, ItemKind.MUSIC], 60)
    assert sum(slot.rest_before for slot in hour) >= 1


def test_nothing_wanted_is_an_empty_day() -> None:
    assert timetable([], 30) == ()
