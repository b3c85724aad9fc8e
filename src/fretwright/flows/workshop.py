"""The workshop: jobs that make files, done only where the shelf does not hold their files already."""

from collections.abc import Callable, Mapping, Sequence
from typing import Protocol

from fretwright.flows.clustering import spread
from fretwright.flows.shelf import Shelf

Progress = Callable[[int, int, str], None]
"""Called with how many jobs are done, of how many, and a word for what is being made."""


class Job(Protocol):
    """Something that makes files; picklable, for it may be done in another process."""

    @property
    def key(self) -> str:
        """Digest of all that its files are made from."""

    @property
    def paths(self) -> tuple[str, ...]:
        """The files it makes."""

    def make(self) -> Mapping[str, bytes]:
        """Make them: path -> content."""


def do_all(
    jobs: Sequence[Job], shelf: Shelf, what: str, progress: Progress, cluster: str | None = None
) -> int:
    """Do the jobs whose files are not on the shelf, as many at a time as there are cores, or on a cluster.

    Files are placed as soon as their job is done, so that a build that is stopped keeps them. Returns
    how many files were made.
    """
    due = [job for job in jobs if not _is_done(job, shelf)]
    made = 0
    progress(0, len(due), what)
    for done, (job, files) in enumerate(spread(_make, due, cluster), start=1):
        shelf.put(files, job.key)
        made += len(files)
        progress(done, len(due), what)
    return made


def _is_done(job: Job, shelf: Shelf) -> bool:
    # Every path is asked for, since asking keeps it on the shelf.
    held = [shelf.holds(path, job.key) for path in job.paths]
    return all(held)


def _make(job: Job) -> Mapping[str, bytes]:
    return job.make()
