"""Jobs are done only where the shelf lacks their files."""

from dataclasses import dataclass
from pathlib import Path

from fretwright.flows.shelf import Shelf
from fretwright.flows.workshop import do_all


@dataclass(frozen=True, slots=True)
class Letters:
    """Makes two small files."""

    name: str
    version: int = 1

    @property
    def key(self) -> str:
        return f"{self.name}-{self.version}"

    @property
    def paths(self) -> tuple[str, ...]:
        return (f"{self.name}.one", f"{self.name}.two")

    def make(self) -> dict[str, bytes]:
        return {path: str(self.version).encode() for path in self.paths}


def test_what_lies_there_is_not_made_again(tmp_path: Path) -> None:
    said: list[tuple[int, int, str]] = []
    first = Shelf(tmp_path)
    assert do_all([Letters("a"), Letters("b")], first, "Writing", lambda *word: said.append(word)) == 4
    first.finish({})

    second = Shelf(tmp_path)
    assert do_all([Letters("a"), Letters("b", 2)], second, "Writing", lambda *_: None) == 2

    assert second.finish({}) == ()
    assert (tmp_path / "a.one").read_bytes() == b"1"
    assert (tmp_path / "b.two").read_bytes() == b"2"
    assert said == [(0, 2, "Writing"), (1, 2, "Writing"), (2, 2, "Writing")]


def test_one_missing_file_makes_its_job_due_and_keeps_its_neighbour(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    do_all([Letters("a")], shelf, "Writing", lambda *_: None)
    (tmp_path / "a.two").unlink()

    assert do_all([Letters("a")], Shelf(tmp_path), "Writing", lambda *_: None) == 2
