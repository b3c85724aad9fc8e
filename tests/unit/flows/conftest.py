"""One checked exercise of the demo course to work on."""

from pathlib import Path

import pytest

from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.flows.reading import check_course

DEMO = Path(__file__).parents[3] / "demo"


@pytest.fixture(scope="session")
def demo() -> Checked:
    return check_course(DEMO)


@pytest.fixture(scope="session")
def exercise(demo: Checked) -> Exercise:
    return demo.course.exercise("04-hammer-ons/one-pair")
