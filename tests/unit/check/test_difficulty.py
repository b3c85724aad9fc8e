"""How hard an exercise is: every component by hand on plain cases, and the order they give."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.check.check import Checked
from fretwright.check.difficulty import STEPS, Difficulty, difficulty, easier_first

Checker = Callable[..., Checked]

EASY = Difficulty(2.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1)


def tab(rhythm: str, **strings: str) -> str:
    """A tab of the strings given; the others are empty."""
    width = len(next(iter(strings.values())))
    names = {"e": "e", "B": "b", "G": "g", "D": "d", "A": "a", "E": "low"}
    lines = "\n".join(f"  {name}|{strings.get(key, '-' * width)}|" for name, key in names.items())
    return f"```exercise a\ntempo: 60\nrhythm: {rhythm}\ntab: |\n{lines}\n```\n"


@pytest.fixture
def rated(checked: Checker) -> Callable[..., Difficulty]:
    def rate(text: str, bpm: float = 60) -> Difficulty:
        result = checked(text)
        return difficulty(result.fingered["01-example/a"], bpm)

    return rate


def test_a_plain_line_asks_for_speed_alone(rated: Callable[..., Difficulty]) -> None:
    assert rated(tab("q q q q", g="5-6-5-6")) == Difficulty(1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1)


def test_rates_go_up_with_the_tempo_and_shares_do_not(rated: Callable[..., Difficulty]) -> None:
    text = tab("q q e e e e", g="5h7-----5h7", b="----5-5----")
    slow, fast = rated(text, 60), rated(text, 120)

    assert fast.notes_per_second == 2 * slow.notes_per_second
    assert fast.crossings_per_s == pytest.approx(2 * slow.crossings_per_s)
    assert (fast.slur_share, fast.note_lengths) == (slow.slur_share, slow.note_lengths)


def test_slurs_and_crossings_are_counted(rated: Callable[..., Difficulty]) -> None:
    # Six notes in four beats, two of them slurred; the pick goes G, B, B, G.
    found = rated(tab("q q e e e e", g="5h7-----5h7", b="----5-5----"))

    assert found.slur_share == pytest.approx(2 / 6)
    # From the first note to the last: three and a half beats of a second each.
    assert found.crossings_per_s == pytest.approx(2 / 3.5)
    assert found.note_lengths == 2


def test_the_way_along_the_neck_is_measured_between_fret_wires(rated: Callable[..., Difficulty]) -> None:
    text = tab("h h", g="2-9").replace("tempo:", "fingers: 1 1\ntempo:")

    # Equal temperament, L (1 - 2^(-n/12)) from the nut: 70.70 mm and 262.70 mm for 648 mm; two seconds.
    assert rated(text).shift_mm_per_s == pytest.approx((262.70 - 70.70) / 2, abs=0.01)


def test_a_wide_grip_stretches(rated: Callable[..., Difficulty]) -> None:
    text = tab("q q h", g="1-5-1").replace("tempo:", "fingers: 1 4 1\ntempo:")

    assert rated(text).stretch_mm > rated(tab("q q h", g="5-8-5")).stretch_mm


def test_syncopation_is_a_share_of_the_notes_that_are_followed(rated: Callable[..., Difficulty]) -> None:
    # An eighth, two quarters across the beat, an eighth and a half note: two of four that are followed.
    assert rated(tab("e q q e q", g="5-5-5-5-5")).syncopated_share == pytest.approx(2 / 4)
    assert rated(tab("e e e e h", g="5-5-5-5-5")).syncopated_share == 0


def test_the_order_says_what_grew() -> None:
    faster = Difficulty(4.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1)
    slurred = Difficulty(2.0, 0.0, 0.0, 0.0, 0.5, 0.0, 1)

    order = easier_first({"faster": faster, "slurred": slurred, "easy": EASY, "same": EASY})

    assert [(one.name, one.reason) for one in order] == [
        ("easy", "the easiest to start with"),
        ("same", "as hard as the one before"),
        ("slurred", "more slurs (50% of the notes after 0%)"),
        ("faster", "faster (4.0 notes a second after 2.0)"),
    ]


def test_what_grew_by_less_than_a_step_is_a_little_and_by_less_than_half_of_one_nothing() -> None:
    more, hardly = (Difficulty(speed, 0.0, 0.0, 0.0, 0.0, 0.0, 1) for speed in (2.6, 2.2))

    assert easier_first({"easy": EASY, "more": more})[1].reason == (
        "a little faster (2.6 notes a second after 2.0)"
    )
    assert easier_first({"easy": EASY, "hardly": hardly})[1].reason == "as hard as the one before"


def test_within_a_step_of_speed_the_next_component_decides() -> None:
    hardly = Difficulty(2.4, 0.0, 0.0, 0.0, 0.0, 0.0, 1)
    stretched = Difficulty(2.0, 0.0, STEPS.stretch_mm, 0.0, 0.0, 0.0, 1)

    assert [one.name for one in easier_first({"stretched": stretched, "hardly": hardly})] == [
        "hardly",
        "stretched",
    ]


ratings = st.builds(
    Difficulty,
    st.floats(0, 20),
    st.floats(0, 500),
    st.floats(0, 60),
    st.floats(0, 10),
    st.floats(0, 1),
    st.floats(0, 1),
    st.integers(0, 6),
)


@given(st.lists(ratings, max_size=6), ratings, st.integers(0, 6))
def test_what_asks_no_more_in_anything_never_comes_later(
    others: list[Difficulty], one: Difficulty, field: int
) -> None:
    names = list(Difficulty.__slots__)
    less = {name: getattr(one, name) for name in names}
    less[names[field]] = type(less[names[field]])(less[names[field]] / 2)
    rated = {"less": Difficulty(**less), **{str(nth): other for nth, other in enumerate(others)}, "one": one}

    order = [ranked.name for ranked in easier_first(rated)]

    assert sorted(order) == sorted(rated)
    assert order.index("less") < order.index("one")
