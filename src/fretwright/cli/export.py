"""``fretwright export``: one exercise as a file for another program."""

import sys
from pathlib import Path

import click

from fretwright.base.errors import RenderError
from fretwright.cli.show import show_findings


@click.command("export")
@click.argument("course", type=click.Path(path_type=Path))
@click.argument("exercise")
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path, dir_okay=False),
    help="The file; its ending says what is written: .musicxml (or .xml), .mid.",
)
@click.option(
    "--tempo",
    "bpm",
    type=click.FloatRange(10, 400),
    help="Beats a minute; the first rung by default.",
)
@click.option("--tab", "tab_staff", is_flag=True, help="MusicXML: add a tab staff that repeats the notes.")
@click.option("--strings", "track_per_string", is_flag=True, help="MIDI: a track for each string.")
@click.option("--ids", "note_ids", is_flag=True, help="MIDI: each note's id as text before it.")
def command(
    course: Path,
    exercise: str,
    *,
    out: Path,
    bpm: float | None,
    tab_staff: bool,
    track_per_string: bool,
    note_ids: bool,
) -> None:
    """Write EXERCISE (``lesson/exercise``) as MusicXML 4.0 or MIDI."""
    from fretwright.flows.exchange import ExportOptions, export
    from fretwright.flows.reading import check_course, errors_of

    checked = check_course(course)
    errors = errors_of(checked, exercise)
    if errors:
        show_findings(errors)
        sys.exit(1)
    content = export(checked, exercise, out.suffix, ExportOptions(bpm, tab_staff, track_per_string, note_ids))
    try:
        out.write_bytes(content)
    except OSError as error:
        raise RenderError(f"{out} cannot be written: {error.strerror}.") from error
