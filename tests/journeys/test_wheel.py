"""A stranger installs the wheel: the command finds every font, glyph and page asset without the source tree.

The new environment takes the libraries of the one that runs the tests, by a ``.pth`` file that adds their
folder to the path. Python does not follow the ``.pth`` files inside a folder added so, hence the editable
install of the source tree, itself such a file, stays out of reach: only the wheel can provide ``fretwright``.
"""

import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "fretwright"


def run(*command: str | Path, cwd: Path) -> str:
    """What a command prints, run without the settings that would lead it to the source tree."""
    settings = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    done = subprocess.run(
        [str(part) for part in command],
        cwd=cwd,
        env={**settings, "PYTHONUTF8": "1"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


def build_wheel(folder: Path) -> Path:
    """The wheel of the source tree, made by the pinned back end: nothing is fetched."""
    run(sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", folder, cwd=ROOT)
    (wheel,) = folder.glob("*.whl")
    return wheel


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_wheel(tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def scripts(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of commands of an environment that holds the wheel."""
    home = tmp_path_factory.mktemp("stranger") / "environment"
    venv.create(home, with_pip=False, symlinks=os.name != "nt")
    at = {"base": str(home), "platbase": str(home)}
    folder = Path(sysconfig.get_path("scripts", "venv", at))
    site = Path(sysconfig.get_path("purelib", "venv", at))
    libraries = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    (site / "libraries.pth").write_text("\n".join(sorted(libraries)) + "\n", encoding="utf-8")
    python = folder / Path(sys.executable).name
    install = ["pip", "install", "--quiet", "--offline", "--no-config", "--no-cache", "--no-deps"]
    run(sys.executable, "-m", "uv", *install, "--python", python, wheel, cwd=home)
    return folder


def files_of(folder: Path) -> dict[str, bytes]:
    """Every file that a build made, by its path with forward slashes.

    The build's hidden list of them is left out: it holds their times on this disk.
    """
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }


def test_the_wheel_is_the_same_bytes_twice(wheel: Path, tmp_path: Path) -> None:
    assert build_wheel(tmp_path).read_bytes() == wheel.read_bytes()


def test_the_wheel_is_tied_to_no_platform(wheel: Path) -> None:
    assert wheel.name.endswith("-py3-none-any.whl")


def test_the_wheel_holds_the_whole_package_and_its_licences(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if not name.endswith("/")}
    package = {name for name in held if name.startswith("fretwright/")}
    assert package == {
        f"fretwright/{path.relative_to(SOURCE).as_posix()}"
        for path in SOURCE.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    about = {name.partition(".dist-info/")[2] for name in held - package}
    fonts = "licenses/src/fretwright/engrave/fonts/OFL-Literata.txt"
    assert {"licenses/LICENSE", "licenses/NOTICE", fonts, "METADATA", "entry_points.txt"} <= about


def test_the_environment_runs_the_wheel_and_not_the_source_tree(scripts: Path, tmp_path: Path) -> None:
    asked = "import fretwright; print(fretwright.__file__)"
    python = scripts / Path(sys.executable).name
    found = Path(run(python, "-c", asked, cwd=tmp_path).strip())
    assert found.is_relative_to(scripts.parent)


def test_a_stranger_starts_a_course_and_builds_what_the_source_tree_builds(
    scripts: Path, tmp_path: Path
) -> None:
    fretwright = scripts / ("fretwright.exe" if os.name == "nt" else "fretwright")
    course, theirs, ours = (tmp_path / name for name in ("course", "theirs", "ours"))

    assert "build" in run(fretwright, "--help", cwd=tmp_path)
    run(fretwright, "new", course, cwd=tmp_path)
    run(fretwright, "check", course, cwd=tmp_path)
    run(fretwright, "build", course, "--out", theirs, cwd=tmp_path)
    run(sys.executable, "-m", "fretwright", "build", course, "--out", ours, cwd=tmp_path)

    built = files_of(theirs)
    assert {Path(name).suffix for name in built} >= {".html", ".svg", ".pdf", ".css", ".js"}
    ours_built = files_of(ours)
    assert built.keys() == ours_built.keys()
    assert [name for name in built if built[name] != ours_built[name]] == []
