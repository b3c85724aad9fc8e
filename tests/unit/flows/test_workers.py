"""Jobs run in other processes; their errors come home."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from fretwright.base.errors import RenderError, UsageError
from fretwright.flows.workers import gently, in_parallel


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


def niceness(_: int) -> int:
    return os.nice(0)


@pytest.mark.skipif(not hasattr(os, "nice"), reason="niceness is of Unix")
def test_gentle_work_lets_others_go_first_and_other_work_does_not() -> None:
    with gently():
        gentle = {nice for _, nice in in_parallel(niceness, [1, 2], 2)}
    usual = {nice for _, nice in in_parallel(niceness, [1, 2], 2)}

    assert usual == {os.nice(0)}
    assert gentle == {min(os.nice(0) + 10, 19)}


def wait_long(folder: str) -> None:
    with TemporaryDirectory(dir=folder):
        time.sleep(60)


INTERRUPTED = """\
import sys
sys.path.insert(0, sys.argv[1])
from fretwright.flows.workers import in_parallel
from test_workers import wait_long
if __name__ == "__main__":
    try:
        list(in_parallel(wait_long, [sys.argv[2]] * 4, 2))
    except KeyboardInterrupt:
        sys.exit(7)
"""


def test_ctrl_c_ends_every_process_at_once_and_tidily(tmp_path: Path) -> None:
    # a file and not a -c: processes that are started afresh import it
    program = tmp_path / "program.py"
    program.write_text(INTERRUPTED, encoding="utf-8")
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    with subprocess.Popen(
        [sys.executable, str(program), str(Path(__file__).parent), str(jobs)],
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as process:
        while len(list(jobs.iterdir())) < 2:
            assert process.poll() is None
            time.sleep(0.01)
        # a terminal interrupts the program and all that it has started
        os.killpg(process.pid, signal.SIGINT)
        said = process.communicate(timeout=30)[1]

    assert process.returncode == 7
    assert said == ""
    assert list(jobs.iterdir()) == []
