"""``fretwright restore``: a school from its backup."""

from pathlib import Path

import click


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.argument("course", type=click.Path(path_type=Path))
def command(file: Path, course: Path) -> None:
    """Read FILE, made by ``backup``, into the empty school of COURSE, on either kind of database.

    Whoever was deleted since, as far as the school's folder still says so, is deleted again. Everybody signs
    in anew.
    """
    from fretwright.store.backup import restore_backup
    from fretwright.store.database import Database
    from fretwright.store.takefiles import TakeFiles
    from fretwright.web.keeping import delete_again
    from fretwright.web.keys import keep_key
    from fretwright.web.school import School
    from fretwright.web.settings import Settings

    settings = Settings.from_environment(course)
    settings.home.mkdir(parents=True, exist_ok=True)
    database = Database(settings.database)
    keep_key(settings.home, restore_backup(file, database, TakeFiles(settings.home / "takes")))
    database.close()
    school = School(settings)
    again = delete_again(school)
    school.close()
    click.echo(f"The school is restored. {again} people were deleted again.", err=True)
