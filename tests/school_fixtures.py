"""Fixtures of the school, for unit tests and for journeys."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
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
