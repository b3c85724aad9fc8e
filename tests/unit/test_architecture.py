"""The import contracts of pyproject.toml hold, and each of them would notice the mistake it is there for."""

import os
import re
import shutil
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
CONTRACTS = {contract["id"]: contract for contract in PROJECT["tool"]["importlinter"]["contracts"]}


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    """A copy of the package that a test may spoil."""
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    shutil.copytree(
        ROOT / "src",
        tmp_path / "src",
        ignore=lambda folder, names: {
            name for name in names if not (name.endswith(".py") or Path(folder, name).is_dir())
        },
    )
    return tmp_path / "src" / "fretwright"


def broken_contracts(package: Path) -> tuple[set[str], str]:
    """The names of the contracts that a package breaks, and all that was said."""
    root = package.parents[1]
    path = os.pathsep.join([str(package.parent), os.environ.get("PYTHONPATH", "")])
    lint = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    run = subprocess.run(
        [sys.executable, "-c", lint, "--no-cache", "--no-logo"],
        cwd=root,
        env={**os.environ, "PYTHONPATH": path, "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )
    said = run.stdout + run.stderr
    broken = set(re.findall(r"^(.+) BROKEN$", said, re.MULTILINE))
    assert (run.returncode == 0) == ("kept, 0 broken" in said), said
    return broken, said


def test_the_package_keeps_every_contract(copied: Path) -> None:
    broken, said = broken_contracts(copied)
    assert not broken, said
    assert f"{len(CONTRACTS)} kept, 0 broken" in said


@pytest.mark.parametrize(
    ("contract", "module", "forbidden"),
    [
        ("layers", "base/units.py", "fretwright.theory.pitch"),
        ("layers", "score/note.py", "fretwright.course"),
        ("layers", "engrave/spoiled.py", "fretwright.sound"),
        ("layers", "flows/spoiled.py", "fretwright.cli"),
        ("cycles", "theory/pitch.py", "fretwright.theory.scale"),
        ("standard-library", "fingering/spoiled.py", "numpy"),
        ("course-text", "engrave/spoiled.py", "fretwright.course"),
        ("course-text", "film/spoiled.py", "fretwright.check"),
        ("ear", "publish/spoiled.py", "fretwright.ear.spoiled"),
        ("hearing", "ear/spoiled.py", "fretwright.sound"),
        ("witnesses", "publish/spoiled.py", "music21"),
    ],
)
def test_an_import_against_the_design_is_noticed(
    copied: Path, contract: str, module: str, forbidden: str
) -> None:
    for name in (f"{copied.name}.{module.replace('/', '.')[:-3]}", forbidden):
        if "spoiled" in name:
            _stand_in(copied, name)
    with (copied / module).open("a", encoding="utf-8") as file:
        file.write(f"\nimport {forbidden}\n")

    broken, said = broken_contracts(copied)

    assert CONTRACTS[contract]["name"] in broken, said


def _stand_in(package: Path, module: str) -> None:
    """An empty module, in a folder that may not stand yet."""
    path = package.parent / Path(*module.split(".")).with_suffix(".py")
    path.parent.mkdir(exist_ok=True)
    (path.parent / "__init__.py").touch()
    path.touch()


def test_a_folder_that_no_layer_names_is_noticed(copied: Path) -> None:
    (copied / "misc").mkdir()
    (copied / "misc" / "__init__.py").touch()

    broken, said = broken_contracts(copied)

    assert broken or "misc" in said
    assert "0 broken" not in said


def test_the_standard_library_contract_names_every_dependency() -> None:
    declared = {_normal(re.split(r"[<>=!~;\[ ]", wanted)[0]) for wanted in PROJECT["project"]["dependencies"]}
    named = {
        _normal(distribution)
        for module, distributions in packages_distributions().items()
        if module in CONTRACTS["standard-library"]["forbidden_modules"]
        for distribution in distributions
    }
    assert declared <= named


def _normal(name: str) -> str:
    """A distribution's name as registries compare it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def test_importing_the_package_loads_none_of_its_layers() -> None:
    asked = "import sys, fretwright; print([m for m in sys.modules if m.startswith('fretwright.')])"
    run = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
