"""The repository keeps its own rules: small files, licences beside what is not ours, commands that exist."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
OURS = [".ci", "benchmarks", "demo", "docs", "evaluation", "src", "tests", "tools"]
VENDORED = {".otf", ".ttf", ".woff", ".woff2"}
"""Suffixes of files that are never written by hand."""
MIB = 1 << 20


def files() -> Iterator[Path]:
    """Every file of the repository that a person or a script put there, relative to its root."""
    roots = [path for path in ROOT.iterdir() if path.is_file()] + [ROOT / name for name in OURS]
    for root in roots:
        for path in [root] if root.is_file() else sorted(root.rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                yield path.relative_to(ROOT)


def test_no_file_is_larger_than_a_mebibyte() -> None:
    assert [str(path) for path in files() if (ROOT / path).stat().st_size > MIB] == []


def test_no_python_file_is_longer_than_five_hundred_lines() -> None:
    sources = [path for path in files() if path.suffix == ".py"]
    assert sources
    long = [str(path) for path in sources if len((ROOT / path).read_text("utf-8").splitlines()) > 500]
    assert long == []


def test_every_folder_of_vendored_files_has_its_licence_and_its_notice() -> None:
    notice = (ROOT / "NOTICE").read_text("utf-8")
    folders = {path.parent for path in files() if path.suffix in VENDORED or path.name.endswith(".min.js")}
    folders |= {path.parent for path in files() if path.parts[0] == "src" and _is_licence(path)}
    for folder in folders:
        assert any(_is_licence(path) for path in files() if path.parent == folder), f"no licence in {folder}"
        assert folder.as_posix() in notice, f"NOTICE does not name {folder}"


def _is_licence(path: Path) -> bool:
    """Whether a file holds a licence text."""
    return bool(re.match(r"(OFL|LICEN[CS]E|COPYING)\b|.*[-.]licen[cs]e", path.name, re.IGNORECASE))


@pytest.mark.parametrize("document", ["CONTRIBUTING.md", "README.md"])
def test_a_document_names_only_targets_that_exist(document: str) -> None:
    text = (ROOT / document).read_text("utf-8")
    named = set(re.findall(r"(?:^ +|`)make(?: [A-Z]+=\S+)* ([a-z-]+)", text, re.MULTILINE))
    assert named
    assert named <= targets()


def test_every_link_within_the_documents_leads_somewhere() -> None:
    broken = [
        f"{path}: {link}"
        for path in files()
        if path.suffix == ".md" and path.parts[0] not in {"demo", "tests"}
        for link in re.findall(r"\]\(([^)#:\s]+)[^):]*\)", (ROOT / path).read_text("utf-8"))
        if not (ROOT / path.parent / link).exists()
    ]
    assert broken == []


def test_every_target_is_explained() -> None:
    contributing = (ROOT / "CONTRIBUTING.md").read_text("utf-8")
    assert {name for name in targets() if f"make {name}" not in contributing} == set()


def targets() -> set[str]:
    """The targets that `make help` lists."""
    makefile = (ROOT / "Makefile").read_text("utf-8")
    return set(re.findall(r"^([a-z-]+):.*## ", makefile, re.MULTILINE))
