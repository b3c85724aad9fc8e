"""Many independent jobs on a Dask cluster, done in any order, where one machine is too few.

Dask reruns the job of a worker that is lost. Jobs and results travel; workers see no file of this machine.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final, TypeVar

from fretwright.base.errors import RenderError, UsageError
from fretwright.flows.workers import in_parallel

Job = TypeVar("Job")
Result = TypeVar("Result")


_WAIT_S: Final = 10.0


def client_of(address: str, wait_s: float = _WAIT_S) -> Any:  # noqa: ANN401 - the optional library's own
    """A client of the scheduler at ``tcp://host:port``; whoever asks closes it.

    Raises :class:`~fretwright.base.errors.UsageError` if the library is not installed or no scheduler
    answers.
    """
    try:
        from distributed import Client  # noqa: PLC0415 - an optional extra
    except ImportError as error:
        raise UsageError("A cluster needs one more library.", "pip install 'fretwright[cluster]'") from error
    try:
        return Client(address, timeout=wait_s, set_as_default=False)  # type: ignore[no-untyped-call]  # typed in part
    except (OSError, ValueError) as error:
        raise UsageError(f"No scheduler answers at {address}.", "Start `dask scheduler` there.") from error


def spread(
    work: Callable[[Job], Result], jobs: Sequence[Job], cluster: str | None = None
) -> Iterator[tuple[Job, Result]]:
    """Do every job, on a cluster where one is named and else on the cores of this machine.

    Yields each with its result as soon as it is done. A job's own error is raised here; the rest is dropped.
    Raises :class:`~fretwright.base.errors.UsageError` if the cluster cannot be reached, and
    :class:`~fretwright.base.errors.RenderError` if it loses a job for good.
    """
    if cluster is None or not jobs:
        yield from in_parallel(work, jobs)
        return
    client = client_of(cluster)
    try:
        yield from _on(client, work, jobs)
    finally:
        client.close()


def _on(client: Any, work: Callable[[Job], Result], jobs: Sequence[Job]) -> Iterator[tuple[Job, Result]]:  # noqa: ANN401 - as above
    from distributed import as_completed  # noqa: PLC0415 - an optional extra
    from distributed.client import FutureCancelledError  # noqa: PLC0415 - the same
    from distributed.scheduler import KilledWorker  # noqa: PLC0415 - the same

    futures = {client.submit(work, job, pure=False): job for job in jobs}
    try:
        with client.as_current():
            done = as_completed(futures)  # type: ignore[no-untyped-call]  # typed in part
        for future in done:
            yield futures[future], future.result()
    except (KilledWorker, FutureCancelledError, TimeoutError, OSError) as error:
        raise RenderError(
            "The cluster has lost a job again and again.",
            "See whether its workers have memory enough, and try again.",
        ) from error
    finally:
        client.cancel(list(futures))
