"""``fretwright chord``: how a chord can be held, or what held frets are called."""

from pathlib import Path

import click

from fretwright.base.errors import RenderError
from fretwright.cli.show import show_json


@click.command("chord")
@click.argument("chord")
@click.option(
    "--tuning", default="standard", show_default=True, help="A name, or notes from the lowest string up."
)
@click.option(
    "--capo", type=click.IntRange(0, 12), default=0, help="Fret of the capo; frets are counted from it."
)
@click.option(
    "--count", type=click.IntRange(1, 40), default=8, show_default=True, help="How many voicings at most."
)
@click.option(
    "--variants", is_flag=True, help="Also list voicings that differ from an easier one on one string."
)
@click.option("--json", "as_json", is_flag=True, help="As JSON (docs/schemas/chord.schema.json).")
@click.option(
    "--svg", type=click.Path(path_type=Path, dir_okay=False), help="Also draw them into this SVG file."
)
def command(
    chord: str, *, tuning: str, capo: int, count: int, variants: bool, as_json: bool, svg: Path | None
) -> None:
    """Show how CHORD is held, from the easiest on: frets, fingers, notes and what makes it hard.

    CHORD is a symbol such as Bm, F#m7b5 or D/F#, or frets from the lowest string up such as x32010, which
    are then named.
    """
    from fretwright.flows.chord import chord_json, chord_table, draw, find

    shown = find(chord, tuning, capo=capo, count=count, variants=variants)
    if as_json:
        show_json(chord_json(shown))
    else:
        click.echo(chord_table(shown))
    if svg is not None:
        try:
            svg.write_text(draw(shown), encoding="utf-8")
        except OSError as error:
            raise RenderError(f"{svg} cannot be written: {error.strerror}.") from error
