"""``fretwright shape``: one scale laid on the strings in one position."""

from pathlib import Path

import click

from fretwright.base.errors import RenderError
from fretwright.cli.show import show_json


@click.command("shape")
@click.argument("scale")
@click.option(
    "--position", type=click.IntRange(0, 24), help="Fret of the first finger; all positions if left out."
)
@click.option(
    "--tuning", default="standard", show_default=True, help="A name, or notes from the lowest string up."
)
@click.option("--json", "as_json", is_flag=True, help="As JSON (docs/schemas/shape.schema.json).")
@click.option(
    "--svg", type=click.Path(path_type=Path, dir_okay=False), help="Also draw it into this SVG file."
)
def command(scale: str, *, position: int | None, tuning: str, as_json: bool, svg: Path | None) -> None:
    """Show where SCALE lies on the neck, with frets, fingers, notes and degrees string by string."""
    from fretwright.flows.shape import draw, lay_out, shape_json, shape_table

    if svg is not None and position is None:
        raise click.UsageError("--svg draws one shape: add --position.")
    shapes = lay_out(scale, position, tuning)
    if as_json:
        show_json({"shapes": [shape_json(shape) for shape in shapes]})
    else:
        click.echo("\n\n".join(shape_table(shape) for shape in shapes))
    if svg is not None:
        try:
            svg.write_text(draw(shapes[0]), encoding="utf-8")
        except OSError as error:
            raise RenderError(f"{svg} cannot be written: {error.strerror}.") from error
