"""``fretwright band``: a backing band for one exercise."""

import sys
from pathlib import Path

import click

from fretwright.cli.show import show_findings


@click.command("band")
@click.argument("course", type=click.Path(path_type=Path))
@click.argument("exercise")
@click.option("--out", required=True, type=click.Path(path_type=Path, file_okay=False), help="The folder.")
@click.option("--feel", help="How the band plays; by default as the exercise says, or straight.")
@click.option(
    "--tempo", "bpm", type=click.FloatRange(10, 400), help="Beats a minute; the first rung by default."
)
@click.option("--keynote", "key", help="Move everything to this keynote, such as G or Bb.")
@click.option("--choruses", default=1, show_default=True, help="How often the whole comes round.")
@click.option("--seed", default=1, show_default=True, help="Another number varies what is played.")
@click.option("--loop", is_flag=True, help="Cut to the length of the form, to be repeated without a seam.")
def command(  # noqa: PLR0913 - an option of the command line each
    course: Path,
    exercise: str,
    *,
    out: Path,
    feel: str | None,
    bpm: float | None,
    key: str | None,
    choruses: int,
    seed: int,
    loop: bool,
) -> None:
    """Play the chord names of EXERCISE (``lesson/exercise``) with a band: a mix, and each player alone."""
    from fretwright.flows.band import BandOrder, write_band
    from fretwright.flows.reading import check_course, errors_of
    from fretwright.sound.band.render import BandOptions

    checked = check_course(course)
    errors = errors_of(checked, exercise)
    if errors:
        show_findings(errors)
        sys.exit(1)
    order = BandOrder(feel, bpm, key, seed, BandOptions(choruses, loop=loop))
    for path in write_band(checked, exercise, order, out):
        click.echo(path)
