"""``fretwright film``: an exercise to be watched, or laid over the teacher's own film."""

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fretwright.base.errors import UsageError
from fretwright.cli.progress import progress_bar
from fretwright.cli.show import show_findings, show_lesson_errors

if TYPE_CHECKING:
    from fretwright.check.check import Checked
    from fretwright.flows.film import FilmOrder


@click.command("film")
@click.argument("course", type=click.Path(path_type=Path))
@click.argument("exercise")
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path),
    help="File to write: .mp4, or .webm or .mov for an overlay. For a whole lesson, a folder.",
)
@click.option(
    "--tempo",
    "bpm",
    type=click.FloatRange(10, 400),
    help="Beats a minute; the ladder's first rung by default.",
)
@click.option(
    "--over",
    "recording",
    type=click.Path(path_type=Path),
    help="Your own recording of a whole lesson: its playing is found by ear and the overlay timed to it.",
)
@click.option("--overlay", is_flag=True, help="A transparent lower third without sound, to lay over footage.")
@click.option("--size", help="Lines of the shorter side, 720p to 2160p; 1080p, or the recording's own.")
@click.option(
    "--shape",
    type=click.Choice(["16:9", "1:1", "9:16"]),
    help="Of the picture; 16:9, or the recording's own.",
)
@click.option(
    "--fps", type=click.Choice(["25", "30", "60"]), help="Pictures a second; 30, or the recording's own."
)
@click.option(
    "--fretboard/--no-fretboard", default=None, help="Show the fretboard; by default in a complete film only."
)
@click.option("--click", "clicks", is_flag=True, help="Click through the music, not in the count-in alone.")
@click.option("--reduced-motion", is_flag=True, help="Step from note to note and exchange lines at once.")
@click.option("--prores", is_flag=True, help="For an overlay in .mov: ProRes 4444, for editors that want it.")
@click.option(
    "--described",
    is_flag=True,
    help="With an audio description: as text, and spoken where espeak-ng is installed; with --over in a "
    "second film that waits for it.",
)
@click.option("--cluster", metavar="ADDRESS", help="Film a lesson on the Dask cluster at tcp://HOST:PORT.")
@click.option("--still", is_flag=True, help="Write one picture of it, the first note, as .png.")
def command(  # noqa: PLR0913 - as many as the command has options
    course: Path,
    exercise: str,
    *,
    out: Path,
    bpm: float | None,
    recording: Path | None,
    overlay: bool,
    size: str | None,
    shape: str | None,
    fps: str | None,
    fretboard: bool | None,
    clicks: bool,
    reduced_motion: bool,
    prores: bool,
    described: bool,
    cluster: str | None,
    still: bool,
) -> None:
    """Film EXERCISE (``lesson/exercise``): its plate with a playhead, its fretboard, and its sound.

    With a lesson's name alone, all its exercises; with --over, that lesson as you filmed it. Captions are
    written beside each film. Exit code 1 if an exercise has an error; it is then left out.
    """
    from fretwright.cli.film_over import film_over_lesson
    from fretwright.film.size import film_size
    from fretwright.flows.film import FilmOrder
    from fretwright.flows.film import still as make_still
    from fretwright.flows.film_over import OverOrder
    from fretwright.flows.reading import check_course, errors_of

    checked = check_course(course)
    if recording is not None:
        for name, given in (
            ("--tempo", bpm),
            ("--still", still),
            ("--click", clicks),
            ("--cluster", cluster),
            ("--fps", fps),
        ):
            if given:
                raise UsageError(f"{name} has no meaning with --over.", f"Leave {name} out.")
        over = OverOrder(
            exercise,
            recording,
            out,
            film_size(size or "1080p", shape or "16:9") if size or shape else None,
            overlay=overlay,
            fretboard=bool(fretboard),
            reduced_motion=reduced_motion,
            prores=prores,
            described=described,
        )
        film_over_lesson(over, checked)
        return
    order = FilmOrder(
        exercise=exercise,
        out=out,
        size=film_size(size or "1080p", shape or "16:9", int(fps or 30)),
        bpm=bpm,
        overlay=overlay,
        fretboard=not overlay if fretboard is None else fretboard,
        reduced_motion=reduced_motion,
        click=clicks,
        prores=prores,
        described=described,
    )
    if "/" not in exercise and not still:
        _film_lesson(order, exercise, checked, cluster)
        return
    errors = errors_of(checked, exercise)
    if errors:
        show_findings(errors)
        sys.exit(1)
    if still:
        make_still(order, checked)
        click.echo(f"{out} is made.", err=True)
    else:
        _film(order, checked)


def _film_lesson(order: "FilmOrder", lesson: str, checked: "Checked", cluster: str | None) -> None:
    """Film what can be filmed of a lesson; say what is in the way of the rest."""
    from fretwright.flows.film import film_lesson

    with progress_bar("films made") as show:
        made = film_lesson(order, lesson, checked, show, cluster)
    click.echo(f"{len(made)} films stand in {order.out}.", err=True)
    show_lesson_errors(checked, lesson)


def _film(order: "FilmOrder", checked: "Checked") -> None:
    from fretwright.flows.film import film

    started_s = time.monotonic()
    with progress_bar("pictures filmed") as show:
        made = film(order, checked, show)
    took_s = time.monotonic() - started_s
    click.echo(f"{' and '.join(map(str, made))} made in {took_s:.0f} s.", err=True)
