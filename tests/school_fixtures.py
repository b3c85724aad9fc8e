"""Fixtures of the school, for unit tests and for journeys."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from evaluation.school.postgres import Postgres

    from fretwright.store.database import Database
    from school import Class, Served


@pytest.fixture
def school_class(tmp_path: Path) -> "Iterator[Class]":
    """A school over the small course with a teacher and two students; its clock is the test's to move."""
    from school import open_class

    made = open_class(tmp_path)
    yield made
    made.school.close()


@pytest.fixture(scope="module")
def served_school(tmp_path_factory: pytest.TempPathFactory) -> "Iterator[Served]":
    """The same on a real server, for a browser; shared by the tests of one file."""
    from school import served_class

    with served_class(tmp_path_factory.mktemp("school")) as served:
        yield served


@pytest.fixture(scope="session")
def postgres() -> "Iterator[Postgres]":
    """A PostgreSQL server of the tests' own."""
    from evaluation.school.postgres import running_postgres

    with running_postgres() as running:
        yield running


@pytest.fixture(params=["sqlite", "postgresql"])
def database_address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of an empty database, of either kind in turn."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'school.sqlite'}"
    server: Postgres = request.getfixturevalue("postgres")
    return server.empty_database()


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> "Iterator[Database]":
    """An empty database with its tables, of either kind in turn."""
    from fretwright.store.database import Database
    from fretwright.store.migrate import migrate

    address = f"sqlite:///{tmp_path / 'school.sqlite'}"
    if request.param == "postgresql":
        server: Postgres = request.getfixturevalue("postgres")
        address = server.emptied()
    opened = Database(address)
    migrate(opened)
    yield opened
    opened.close()
