"""``fretwright inspect``: every note of one exercise, for programs."""

import sys
from pathlib import Path

import click

from fretwright.cli.show import show_findings, show_json


@click.command("inspect")
@click.argument("course", type=click.Path(path_type=Path))
@click.argument("exercise")
@click.option("--json", "as_json", is_flag=True, help="As JSON (docs/schemas/inspect.schema.json).")
@click.option(
    "--tempo",
    "bpm",
    type=click.FloatRange(10, 400),
    help="Beats a minute; the ladder's first rung by default.",
)
@click.option("--difficulty", is_flag=True, help="The exercises of its lesson instead, easiest first.")
def command(course: Path, exercise: str, *, as_json: bool, bpm: float | None, difficulty: bool) -> None:
    """List the notes of EXERCISE (``lesson/exercise``): string, fret, finger, pitch and time."""
    if difficulty and as_json:
        raise click.UsageError("--difficulty is a table for reading and does not go with --json.")
    from fretwright.flows.reading import check_course, errors_of

    checked = check_course(course)
    errors = errors_of(checked, exercise)
    if errors:
        show_findings(errors)
        sys.exit(1)
    if difficulty:
        from fretwright.flows.difficulty import difficulty_table, lesson_by_difficulty

        click.echo(difficulty_table(lesson_by_difficulty(checked, exercise, bpm), exercise))
        return
    from fretwright.flows.inspect import inspection, inspection_table

    found = inspection(checked, exercise, bpm)
    if as_json:
        show_json(found)
    else:
        click.echo(inspection_table(found))
