"""``fretwright serve``: the school, in a browser."""

import logging
from dataclasses import replace
from pathlib import Path

import click


@click.command("serve")
@click.argument("course", type=click.Path(path_type=Path))
@click.option("--port", type=click.IntRange(1, 65535), help="Port to listen on; 8321 by default.")
@click.option("--host", help="Interface to listen on; this machine alone by default.")
@click.option("--cluster", metavar="ADDRESS", help="Judge on the Dask cluster at tcp://HOST:PORT.")
@click.option(
    "--workers", type=click.IntRange(1, 64), help="Processes that judge; one less than cores by default."
)
def command(
    course: Path, *, port: int | None, host: str | None, cluster: str | None, workers: int | None
) -> None:
    """Open the school of COURSE in a browser: students practise and record, the teacher writes and follows.

    Nothing has to be set up. Everything is kept in a folder beside COURSE.
    """
    import uvicorn

    from fretwright.web.app import create_app
    from fretwright.web.school import School
    from fretwright.web.settings import Settings

    asked = {"port": port, "host": host, "cluster": cluster, "workers": workers}
    told = {name: value for name, value in asked.items() if value is not None}
    settings = replace(Settings.from_environment(course), **told)  # type: ignore[arg-type]  # kinds are click's
    logging.basicConfig(level=logging.INFO, format="%(asctime)s %(name)s %(message)s")
    logging.getLogger("alembic").setLevel(logging.WARNING)  # its steps mean nothing to a teacher
    school = School(settings)
    click.echo(f"The school of {course} is open at {settings.origin}", err=True)
    click.echo("Sign in as the teacher (once, within 30 minutes):", err=True)
    click.echo(school.sign_in_address(school.teacher()))
    uvicorn.run(
        create_app(school),
        host=settings.host,
        port=settings.port,
        log_config=None,
        access_log=False,
        server_header=False,
        timeout_keep_alive=20,  # longer than one looks at a page before the next
        proxy_headers=settings.public_url is not None,
    )
