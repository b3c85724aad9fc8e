"""``fretwright adopt``: another program's file as an exercise."""

import re
import sys
from pathlib import Path

import click

from fretwright.cli.show import show_findings


class _Bars(click.ParamType[tuple[int, int]]):
    """A stretch of bars by their printed numbers: ``1-8``, or ``5`` alone."""

    name = "bars"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, int]:
        match = re.fullmatch(r"(\d{1,4})(?:\s*-\s*(\d{1,4}))?", str(value).strip())
        if match is None or int(match[2] or match[1]) < int(match[1]):
            self.fail(f"{value!r} is no stretch of bars; write 1-8, or 5 for one bar.", param, ctx)
        return int(match[1]), int(match[2] or match[1])


@click.command("adopt")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--part", type=click.IntRange(1), help="Which part; by default the first with strings, or with notes."
)
@click.option("--bars", type=_Bars(), metavar="FIRST-LAST", help="Only these bars, by their printed numbers.")
@click.option(
    "--tuning",
    default="standard",
    show_default=True,
    help="Used where the file names none.",
)
@click.option("--octaves", type=click.IntRange(-5, 5), default=0, help="Move everything by so many octaves.")
def command(file: Path, *, part: int | None, bars: tuple[int, int] | None, tuning: str, octaves: int) -> None:
    """Print the MusicXML or MIDI in FILE as an exercise block for a lesson.

    Strings and frets are the file's own where it has them, and otherwise the easiest to play. What could not
    be carried over is said on standard error; the exit code is 1 if nothing could be printed.
    """
    from fretwright.exchange.draft import ReadOptions
    from fretwright.flows.exchange import adopt
    from fretwright.fretboard.neck import Neck
    from fretwright.fretboard.tuning import Tuning

    options = ReadOptions(part=part, neck=Neck(Tuning.parse(tuning)), octaves=octaves, bars=bars)
    adopted = adopt(file, options)
    if adopted.findings:
        show_findings(adopted.findings)
    if not adopted.text:
        sys.exit(1)
    click.echo(adopted.text, nl=False)
