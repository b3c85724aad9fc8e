"""Jobs run in other processes; their errors come home."""

import os
import signal

import pytest

from fretwright.base.errors import RenderError, UsageError
from fretwright.flows.workers import in_parallel


def double(number: int) -> int:
    return 2 * number


def refuse_three(number: int) -> int:
    if number == 3:
        raise UsageError("three is one too many")
    return number


def die(number: int) -> int:
    if number == 1:
        os.kill(os.getpid(), signal.SIGTERM)
    return number


@pytest.mark.parametrize("processes", [1, 2])
def test_every_job_is_done_once(processes: int) -> None:
    assert sorted(in_parallel(double, [1, 2, 3, 4], processes)) == [(1, 2), (2, 4), (3, 6), (4, 8)]


def test_no_jobs_is_no_work() -> None:
    assert list(in_parallel(double, [])) == []


@pytest.mark.parametrize("processes", [1, 2])
def test_the_error_of_a_job_is_raised_with_its_own_words(processes: int) -> None:
    with pytest.raises(UsageError, match="three is one too many"):
        list(in_parallel(refuse_three, [1, 2, 3, 4], processes))


def test_a_killed_process_is_told_apart_from_a_mistake() -> None:
    with pytest.raises(RenderError, match="ended from outside"):
        list(in_parallel(die, [1, 2], 2))
