"""``fretwright film COURSE LESSON --over RECORDING``: the overlay in time with the teacher's own playing."""

import sys
import time
from typing import TYPE_CHECKING

import click

from fretwright.cli.progress import progress_bar
from fretwright.cli.show import show_lesson_errors

if TYPE_CHECKING:
    from fretwright.check.check import Checked
    from fretwright.flows.film_over import OverOrder, OverReport


def film_over_lesson(order: "OverOrder", checked: "Checked") -> None:
    """Hear, film, and say what was found; leave with 1 where nothing was, or an exercise has an error."""
    from fretwright.ear.take import Refusal
    from fretwright.flows.film_over import film_over

    started_s = time.monotonic()
    with progress_bar("seconds heard") as show:

        def heard(done_s: float, length_s: float) -> None:
            show(int(done_s), max(1, int(length_s)))

        def filmed(done: int, total: int) -> None:
            show(done, total, "pictures filmed")

        made = film_over(order, checked, heard, filmed)
    if isinstance(made, Refusal):
        click.echo(f"{made.reason} {made.mend}", err=True)
        sys.exit(1)
    _tell(made, time.monotonic() - started_s)
    show_lesson_errors(checked, order.lesson)


def _tell(made: "OverReport", took_s: float) -> None:
    names = ", ".join(path.name for path in made.files)
    times = len(made.shown)
    slips = f"{len(made.slips)} places differ from the text" if made.slips else "all of it is as written"
    click.echo(
        f"{times} {'demonstration' if times == 1 else 'demonstrations'} found; {slips}. "
        f"{names} made in {took_s:.0f} s.",
        err=True,
    )
