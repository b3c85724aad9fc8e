"""``fretwright build``: the course as a student gets it."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from fretwright.cli.show import show_findings

if TYPE_CHECKING:
    from fretwright.flows.report import BuildOrder, BuildReport
    from fretwright.flows.shelf import Shelf


@click.command("build")
@click.argument("course", type=click.Path(path_type=Path))
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for site, handouts and sound.",
)
@click.option("--only", metavar="LESSON", help="Build the files of this lesson alone.")
@click.option(
    "--paper",
    type=click.Choice(["a4", "us-letter"]),
    default="a4",
    show_default=True,
    help="Paper of the handouts.",
)
@click.option(
    "--hand",
    type=click.Choice(["left", "right"]),
    help="Draw all pictures for players who pluck with this hand, whatever the course says.",
)
@click.option("--films", is_flag=True, help="Also film every exercise for its page; takes some minutes.")
@click.option("--cluster", metavar="ADDRESS", help="Make the films on the Dask cluster at tcp://HOST:PORT.")
def command(
    course: Path,
    *,
    out: Path,
    only: str | None,
    paper: str,
    hand: str | None,
    films: bool,
    cluster: str | None,
) -> None:
    """Make site, handouts and sound of COURSE; only what changed since the last build is made again.

    An exercise with an error is left out, everything else is built; the exit code is then 1.
    """
    from fretwright.flows.report import BuildOrder, recall
    from fretwright.flows.shelf import Shelf

    left_handed = None if hand is None else hand == "left"
    order = BuildOrder(course, out, only, paper, films=films, left_handed=left_handed, cluster=cluster)
    shelf = Shelf(out)
    report = recall(order, shelf) or _build(order, shelf)
    show_findings(report.findings)
    made = f"{report.made} files made, {report.kept} kept" if report.made else "Nothing had changed"
    click.echo(f"{made}. Open {report.start_page}", err=True)
    sys.exit(1 if any(finding.is_error for finding in report.findings) else 0)


def _build(order: "BuildOrder", shelf: "Shelf") -> "BuildReport":
    """Build with a progress bar on a terminal, silently in a pipe."""
    from fretwright.flows.teach import build

    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("Reading", total=None)

        def show(done: int, total: int, what: str) -> None:
            bar.update(task, completed=done, total=total, description=what)

        return build(order, shelf, show)
