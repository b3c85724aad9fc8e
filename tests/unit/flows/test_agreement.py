"""Rates and their intervals, held against published values and an independent implementation."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from fretwright.base.errors import UsageError
from fretwright.ear.verdicts import Verdict
from fretwright.flows.agreement import Rate, agreement_of


@pytest.mark.parametrize(
    ("hits", "cases", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_intervals_are_those_that_were_published(hits: int, cases: int, low: float, high: float) -> None:
    """R. G. Newcombe, Statistics in Medicine 17, 1998, table I, method 3 (from memory)."""
    assert Rate(hits, cases).interval == pytest.approx((low, high), abs=5e-5)


@given(st.integers(1, 5000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_intervals_are_those_of_a_reference(case: tuple[int, int]) -> None:
    hits, cases = case
    reference = binomtest(hits, cases).proportion_ci(confidence_level=0.95, method="wilson")

    assert Rate(hits, cases).interval == pytest.approx((reference.low, reference.high), abs=1e-9)


def test_nothing_looked_at_says_so() -> None:
    assert Rate(0, 0).words == "none yet"
    assert Rate(0, 0).interval == (0.0, 1.0)


def test_a_rate_in_words() -> None:
    assert Rate(45, 50).words == "45 of 50, 90 % (79 % to 96 %)"


@pytest.mark.parametrize(("hits", "cases"), [(2, 1), (-1, 1)])
def test_no_share_is_more_than_all(hits: int, cases: int) -> None:
    with pytest.raises(UsageError):
        Rate(hits, cases)


def test_the_ear_beside_the_teacher() -> None:
    found = agreement_of(
        {
            ("played", "played"): 90,
            ("played", "wrong"): 2,
            ("missed", "missed"): 6,
            ("missed", "played"): 2,
            ("unsure", "played"): 4,
            ("unsure", "unsure"): 1,
            ("wrong", "wrong"): 0,
        }
    )

    assert found.overall == Rate(96, 100)
    assert found.by_verdict[Verdict.PLAYED] == Rate(90, 92)
    assert found.by_verdict[Verdict.MISSED] == Rate(6, 8)
    assert found.by_verdict[Verdict.WRONG] == Rate(0, 0)
    assert found.unsure == Rate(5, 105)
    assert found.counts[Verdict.UNSURE, Verdict.PLAYED] == 4
