"""``fretwright new``: a small working course to start from."""

from pathlib import Path

import click


@click.command("new")
@click.argument("folder", type=click.Path(path_type=Path))
def command(folder: Path) -> None:
    """Write a small working course into FOLDER, to be changed at will."""
    from fretwright.course.starter import write_starter

    write_starter(folder)
    click.echo(f"A course of two lessons stands in {folder}. Next:", err=True)
    click.echo(f"  fretwright check {folder}", err=True)
    click.echo(f"  fretwright build {folder} --out {folder.name}-site", err=True)
