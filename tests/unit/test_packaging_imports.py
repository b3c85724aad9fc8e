"""Every library that is imported is declared: what happens to be installed beside it is not relied upon."""

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
RUNNING: list[str] = PROJECT["project"]["dependencies"]
EXTRA: list[str] = [
    wanted for group in PROJECT["project"]["optional-dependencies"].values() for wanted in group
]
WORKING: list[str] = [
    wanted
    for group in PROJECT["dependency-groups"].values()
    for wanted in group
    if isinstance(wanted, str)
]  # fmt: skip


ELSEWHERE = {ROOT / "evaluation" / "ear" / "basic_pitch_notes.py"}
"""Run by an interpreter of its own, for what it needs does not go together with our locks."""


def imported(folder: Path) -> Iterator[tuple[str, Path]]:
    """Each library that the sources below a folder import, with the source."""
    for source in set(folder.rglob("*.py")) - ELSEWHERE:
        for node in ast.walk(ast.parse(source.read_bytes())):
            names: list[str] = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
                names = [node.module]
            yield from ((name.partition(".")[0], source) for name in names)


def normal(name: str) -> str:
    """A distribution's name as registries compare it (PEP 503), without bounds."""
    return re.sub(r"[-_.]+", "-", re.split(r"[<>=!~;\[ ]", name)[0]).lower()


@pytest.mark.parametrize(
    ("folder", "declared"),
    [
        ("src", RUNNING + EXTRA),
        ("tests", RUNNING + WORKING),
        ("tools", RUNNING + WORKING),
        ("benchmarks", RUNNING + WORKING),
        ("evaluation", RUNNING + WORKING),
    ],
)
def test_every_imported_library_is_declared(folder: str, declared: list[str]) -> None:
    allowed = {normal(name) for name in declared}
    owners = packages_distributions()
    own = {"fretwright", "evaluation", "unit"} | {path.stem for path in (ROOT / "tests").rglob("*.py")}
    undeclared = {
        f"{library} in {source.relative_to(ROOT)}"
        for library, source in imported(ROOT / folder)
        if library not in sys.stdlib_module_names | own
        and not allowed & {normal(owner) for owner in owners.get(library, [library])}
    }
    assert undeclared == set()
