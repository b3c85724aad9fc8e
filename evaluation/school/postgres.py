"""A PostgreSQL server of one's own: started in a folder, reached through a socket, gone afterwards."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg
from psycopg import sql

_TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = 'public' AND tablename <> 'alembic_version'"


@dataclass(frozen=True)
class Postgres:
    """A running server."""

    folder: Path

    def emptied(self) -> str:
        """The same with its tables kept, where it has any: quicker than to make them anew."""
        with psycopg.connect(self._dsn, autocommit=True) as connection:
            rows = connection.execute(_TABLES).fetchall()
            if rows:
                names = sql.SQL(", ").join(sql.Identifier(name) for (name,) in rows)
                connection.execute(sql.SQL("TRUNCATE {} RESTART IDENTITY").format(names))
        return self._address

    def empty_database(self) -> str:
        """The address of its one database, emptied: a new one each time would fill the disk."""
        with psycopg.connect(self._dsn, autocommit=True) as connection:
            connection.execute("DROP SCHEMA public CASCADE")
            connection.execute("CREATE SCHEMA public")
        return self._address

    @property
    def _dsn(self) -> str:
        return f"host={self.folder} user=fretwright dbname=postgres"

    @property
    def _address(self) -> str:
        return f"postgresql://fretwright@/postgres?host={self.folder}"


@contextmanager
def running_postgres() -> Iterator[Postgres]:
    """Start a server and end it.

    PostgreSQL refuses to run as root; where the tests do, it runs as the user that Debian's package made.
    """
    programs = _programs()
    folder = Path(tempfile.mkdtemp(prefix="fretwright-pg-"))
    as_other: list[str] = []
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        shutil.chown(folder, "postgres")
        as_other = ["runuser", "-u", "postgres", "--"]
    data = str(folder / "data")

    def run(*words: str) -> None:
        subprocess.run(
            [*as_other, *words], check=True, cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL
        )

    try:
        run(
            str(programs / "initdb"), "-D", data, "-A", "trust", "-U", "fretwright", "-E", "UTF8", "--no-sync"
        )
        # Programs are killed here, the machine is not: what the disk keeps through that is not asked.
        quick = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off"
        options = f"{quick} -c listen_addresses= -c unix_socket_directories={folder} -c max_connections=200"
        control = (str(programs / "pg_ctl"), "-D", data, "-l", str(folder / "log"), "-w")
        run(*control, "-o", options, "start")
        try:
            yield Postgres(folder)
        finally:
            run(*control, "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _programs() -> Path:
    """Where the server's programs lie, in Debian's place or on the path."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    on_path = shutil.which("initdb")
    if not found and on_path is None:
        message = "PostgreSQL is not installed (Debian: apt-get install postgresql; `make unit` does it)"
        raise FileNotFoundError(message)
    return (found[-1] if found else Path(str(on_path))).parent
