"""``fretwright hear``: a student's recording, judged note by note."""

import sys
from pathlib import Path

import click

from fretwright.base.errors import RenderError
from fretwright.cli.show import show_findings, show_json


@click.command("hear")
@click.argument("course", type=click.Path(path_type=Path))
@click.argument("exercise")
@click.argument("take", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="As JSON (docs/schemas/hear.schema.json).")
@click.option(
    "--tempo",
    "bpm",
    type=click.FloatRange(10, 400),
    help="Beats a minute that were asked for; the ladder's first rung by default.",
)
@click.option(
    "--picture",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Also write what was heard onto the exercise's plate, into this SVG file.",
)
@click.option(
    "--explain",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Also draw what the ear went by, note by note, into this SVG file.",
)
def command(
    course: Path,
    exercise: str,
    take: Path,
    *,
    as_json: bool,
    bpm: float | None,
    picture: Path | None,
    explain: Path | None,
) -> None:
    """Judge TAKE, a recording of EXERCISE (``lesson/exercise``), note by note."""
    from fretwright.flows.reading import check_course, errors_of

    checked = check_course(course)
    errors = errors_of(checked, exercise)
    if errors:
        show_findings(errors)
        sys.exit(1)
    from fretwright.ear.take import Refusal
    from fretwright.flows.practise import hear, hearing_data, hearing_text

    if explain is None:
        heard = hear(checked, exercise, take, bpm)
    else:
        from fretwright.flows.explaining import explain_take

        explained = explain_take(checked, exercise, take, bpm)
        heard = explained.answer
        if explained.svg is not None:
            _write(explain, explained.svg)
    if as_json:
        show_json(hearing_data(exercise, heard))
    elif not isinstance(heard, Refusal):
        click.echo(hearing_text(heard))
    if isinstance(heard, Refusal):
        # nothing was heard that could be drawn
        if not as_json:
            click.echo(f"{heard.reason} {heard.mend}", err=True)
        sys.exit(1)
    if picture is not None:
        from fretwright.flows.hearing_picture import hearing_picture

        _write(picture, hearing_picture(checked, exercise, heard).svg)


def _write(path: Path, svg: str) -> None:
    try:
        path.write_text(svg, encoding="utf-8")
    except OSError as error:
        raise RenderError(f"{path} cannot be written: {error.strerror}.") from error
