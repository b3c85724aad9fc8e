"""The progress of long work on a terminal."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn


class Show(Protocol):
    """Shows how much is done, of how much, and what is being done where that changes."""

    def __call__(self, done: int, total: int, what: str = ...) -> None:
        """Show it."""


@contextmanager
def progress_bar(what: str) -> Iterator[Show]:
    """A progress bar with the time that is left, on a terminal; nothing in a pipe."""
    console = Console(stderr=True)
    columns = (
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.description}"),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task(what, total=None)
        shown = what

        def show(done: int, total: int, what: str = what) -> None:
            nonlocal task, shown
            if what != shown:
                # other work has a pace of its own: its estimate begins anew
                bar.remove_task(task)
                task, shown = bar.add_task(what, total=total), what
            bar.update(task, completed=done, total=total)

        yield show
