"""The locks are in step with pyproject.toml and hold nothing but versions and hashes."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LOCKS = ["requirements.lock", "requirements-dev.lock"]


def pins(lock: str) -> dict[str, Requirement]:
    """Every pinned requirement of a lock by its normal name."""
    text = (ROOT / lock).read_text(encoding="utf-8").replace("\\\n", " ")
    found: dict[str, Requirement] = {}
    for line in text.splitlines():
        requirement = Requirement(re.sub(r"\s--hash=\S+", "", line).strip())
        name = canonicalize_name(requirement.name)
        assert name not in found, f"{lock} pins {name} twice"
        found[name] = requirement
    return found


def group(name: str) -> list[str]:
    """The requirements of a dependency group, those of the groups it includes among them."""
    entries: list[str | dict[str, Any]] = PROJECT["dependency-groups"][name]
    flat: list[str] = []
    for entry in entries:
        flat += [entry] if isinstance(entry, str) else group(entry["include-group"])
    return flat


@pytest.mark.parametrize(
    ("lock", "declared"),
    [
        ("requirements.lock", PROJECT["project"]["dependencies"] + group("build")),
        ("requirements-dev.lock", PROJECT["project"]["dependencies"] + group("dev")),
    ],
)
def test_every_declared_dependency_is_pinned_within_its_bounds(lock: str, declared: list[str]) -> None:
    pinned = pins(lock)
    for wanted in map(Requirement, declared):
        pin = pinned[canonicalize_name(wanted.name)]
        (version,) = [spec.version for spec in pin.specifier if spec.operator == "=="]
        assert wanted.specifier.contains(Version(version)), f"{pin} in {lock}, but {wanted} is declared"


def test_the_larger_lock_pins_the_same_versions() -> None:
    """A library that running needs on one system only may be needed on all of them for the checks."""
    small, large = ({name: pin.specifier for name, pin in pins(lock).items()} for lock in LOCKS)
    assert {name: large[name] for name in small} == small


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_holds_versions_and_hashes_alone(lock: str) -> None:
    pinned_line = re.compile(r"[a-z0-9-]+==[^\s;]+( ; [^\\]+)? \\|    --hash=sha256:[0-9a-f]{64}( \\)?")
    for number, line in enumerate((ROOT / lock).read_text(encoding="utf-8").splitlines(), 1):
        assert pinned_line.fullmatch(line), f"{lock}:{number}: {line!r}"


@pytest.mark.parametrize("lock", LOCKS)
def test_every_pin_carries_a_hash(lock: str) -> None:
    blocks = re.split(r"\n(?=\S)", (ROOT / lock).read_text(encoding="utf-8"))
    assert len(blocks) == len(pins(lock))
    assert all("--hash=sha256:" in block for block in blocks)


def test_the_set_up_takes_wheels_only_and_checks_hashes() -> None:
    set_up = (ROOT / "tools" / "set-up.sh").read_text(encoding="utf-8")
    installs = [line for line in set_up.splitlines() if re.match(r"\s*inside install", line)]
    assert "--require-hashes --only-binary :all:" in installs[0]
    assert "--no-deps --no-build-isolation" in installs[1]
    assert len(installs) == 2
