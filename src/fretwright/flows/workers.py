"""One process per core: many independent jobs, done in any order."""

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from contextvars import ContextVar
from multiprocessing.connection import wait
from typing import Final, TypeVar

from fretwright.base.errors import RenderError

Job = TypeVar("Job")
Result = TypeVar("Result")


_LATER: Final = 10
"""Steps of niceness."""
_GENTLE: Final = ContextVar("gentle", default=False)


@contextmanager
def gently() -> Iterator[None]:
    """Within this, working processes let whatever else the machine has to do go first."""
    token = _GENTLE.set(True)
    try:
        yield
    finally:
        _GENTLE.reset(token)


def in_parallel(
    work: Callable[[Job], Result], jobs: Sequence[Job], processes: int | None = None
) -> Iterator[tuple[Job, Result]]:
    """Do every job and yield each with its result as soon as it is done.

    ``work`` and the jobs travel to other processes and so must be picklable. Processes are started
    afresh rather than forked: that works the same everywhere and shares no half-initialised library.
    A job's own error is raised here, after the jobs that have begun are done; the rest is dropped.

    Raises :class:`~fretwright.base.errors.RenderError` if a process is killed from outside.
    """
    count = min(len(jobs), processes or os.cpu_count() or 1)
    if count <= 1:
        for job in jobs:
            yield job, work(job)
        return
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(
        count, mp_context=context, initializer=_begin, initargs=(_GENTLE.get(),)
    ) as pool:
        futures = {pool.submit(_interruptible, work, job): job for job in jobs}
        try:
            for future in as_completed(futures):
                yield futures[future], future.result()
        except BrokenProcessPool as error:
            raise RenderError(
                "A working process was ended from outside, most likely because memory ran out.",
                "Build again: what was finished is kept.",
            ) from error
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _begin(is_gentle: bool) -> None:  # noqa: FBT001 - the pool passes it by its place
    """A process that has no job yet: it is told to end, and need not be interrupted."""
    if is_gentle and hasattr(os, "nice"):
        os.nice(_LATER)
    end_with_parent()
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _interruptible(work: Callable[[Job], Result], job: Job) -> Result:
    """Do a job unless Ctrl-C ends it, which every process of the terminal hears; then take no other one."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        return work(job)
    except KeyboardInterrupt:
        # the job has put away what it had begun; the pool would go on with the next one
        os._exit(1)
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)


def end_with_parent() -> None:
    """Have this process end when the one that started it is gone: one that was killed cannot tell it to."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    wait([sentinel])
    os._exit(1)
