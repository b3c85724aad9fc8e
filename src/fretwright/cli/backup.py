"""``fretwright backup``: everything a school holds, in one file, while it runs."""

from pathlib import Path

import click


@click.command("backup")
@click.argument("course", type=click.Path(path_type=Path))
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def command(course: Path, file: Path) -> None:
    """Write everything that the school of COURSE holds into FILE; it may run meanwhile.

    People, takes, verdicts, remarks and recordings are in it, the course folder is not. Keep it where nobody
    else reads it.
    """
    from fretwright.store.backup import write_backup
    from fretwright.store.database import Database
    from fretwright.store.migrate import require_newest
    from fretwright.store.takefiles import TakeFiles
    from fretwright.web.keys import school_key
    from fretwright.web.settings import Settings

    settings = Settings.from_environment(course)
    database = Database(settings.database)
    require_newest(database)
    rows = write_backup(database, TakeFiles(settings.home / "takes"), school_key(settings.home), file)
    click.echo(f"{rows} rows and their recordings are in {file}.", err=True)
