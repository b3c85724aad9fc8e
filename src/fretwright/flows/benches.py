"""Places where takes are heard: a process of this machine, or a worker of a Dask cluster.

Neither knows the database nor the course: an order goes in, a hearing comes out. What is lost on the way
is known by the error, and the take is handed out again by whoever keeps the queue.
"""

import multiprocessing
import os
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any, Final, Self

from fretwright.base.errors import JudgeLostError
from fretwright.ear.take import Refusal
from fretwright.ear.verdicts import Hearing
from fretwright.flows.clustering import client_of
from fretwright.flows.judging import JudgeOrder, hear_order, warm_up
from fretwright.flows.workers import end_with_parent

_LOST: Final = "The process that judged was ended."


class ProcessBench:
    """One process of this machine, started anew when it dies. What one take brings down is its own bench."""

    def __init__(self) -> None:
        """Start nothing yet."""
        self._pool: ProcessPoolExecutor | None = None

    def warm_up(self, order: JudgeOrder) -> None:
        """Have the process ready before the first take."""
        self._run(warm_up, order)

    def hear(self, order: JudgeOrder) -> Hearing | Refusal:
        """Hear there.

        Raises :class:`~fretwright.base.errors.JudgeLostError` if the process dies.
        """
        heard: Hearing | Refusal = self._run(hear_order, order)
        return heard

    def close(self) -> None:
        """End the process."""
        pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)

    def _run(self, work: Callable[[JudgeOrder], Any], order: JudgeOrder) -> Any:  # noqa: ANN401 - what the work gives
        if self._pool is None:
            # spawned, not forked: a forked child of a threaded server may hang
            self._pool = ProcessPoolExecutor(
                1, mp_context=multiprocessing.get_context("spawn"), initializer=_settle_in
            )
        try:
            return self._pool.submit(work, order).result()
        except JudgeLostError:
            raise
        except (BrokenProcessPool, RuntimeError) as error:
            self.close()
            raise JudgeLostError(_LOST) from error


class Cluster:
    """A Dask cluster: as many benches as it has threads. Recordings travel with their orders."""

    def __init__(self, client: Any) -> None:  # noqa: ANN401 - the optional library's own
        """Use a connected client."""
        self._client: Final = client

    @classmethod
    def connect(cls, address: str) -> Self:
        """Connect to the scheduler at ``tcp://host:port``.

        Raises :class:`~fretwright.base.errors.UsageError` if the library is not installed or no scheduler
        answers.
        """
        return cls(client_of(address))

    @property
    def size(self) -> int:
        """Threads of all its workers."""
        workers = self._client.scheduler_info(n_workers=-1)["workers"]
        return sum(worker["nthreads"] for worker in workers.values())

    def warm_up(self, order: JudgeOrder) -> None:
        """Have every worker ready before the first take."""
        self._client.run(warm_up, order)

    def hear(self, order: JudgeOrder) -> Hearing | Refusal:
        """Hear on one of its workers.

        Raises :class:`~fretwright.base.errors.JudgeLostError` if the worker is lost, or the scheduler.
        """
        recording = order.recording
        if isinstance(recording, Path):
            order = JudgeOrder(order.score, order.ladder, order.bpm, recording.read_bytes())
        try:
            heard: Hearing | Refusal = self._client.submit(hear_order, order, pure=False).result()
        except Exception as error:
            # a lost worker, scheduler or line each has an exception of its own, and so has a broken take
            raise JudgeLostError(_LOST) from error
        return heard

    def close(self) -> None:
        """Leave the cluster to others."""
        self._client.close()


def cores_for_judging() -> int:
    """One less than there are: pages are answered meanwhile."""
    return max((os.cpu_count() or 1) - 1, 1)


def _settle_in() -> None:
    """Let pages go first where the machine is full, and do not outlive the server."""
    if hasattr(os, "nice"):
        os.nice(5)
    end_with_parent()
