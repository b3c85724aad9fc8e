"""``python -m evaluation.school``: kill a school's processes at random, on both databases, and count."""

import argparse
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Final

from evaluation.school.killing import Count, kill_at_random
from evaluation.school.postgres import running_postgres
from evaluation.school.rig import open_rig

FIGURES: Final = Path(__file__).parent / "figures.md"
_SEED: Final = 20_270_304
_STUDENTS: Final = 4


def main() -> int:
    """Run on each database asked for; 0 where nothing was lost, damaged, left or doubled."""
    options = argparse.ArgumentParser(prog="python -m evaluation.school")
    options.add_argument("--kills", type=int, default=200)
    options.add_argument("--database", choices=["sqlite", "postgresql"], action="append")
    options.add_argument("--minutes", type=float, default=1440.0, help="for each database at most")
    asked = options.parse_args()
    counts: dict[str, Count] = {}
    for name in asked.database or ["sqlite", "postgresql"]:
        with _address(name) as address, tempfile.TemporaryDirectory() as folder:
            rig = open_rig(Path(folder), address, students=_STUDENTS)
            try:
                counts[name] = kill_at_random(rig, kills=asked.kills, seed=_SEED, most_s=60 * asked.minutes)
            finally:
                rig.close()
        print(name, counts[name], flush=True)
    text = table(counts)
    print(text)
    if asked.database is None:
        FIGURES.write_text(text + "\n", encoding="utf-8")
    return 0 if all(count.is_good for count in counts.values()) else 1


@contextmanager
def _address(name: str) -> Iterator[str | None]:
    server = running_postgres() if name == "postgresql" else nullcontext()
    with server as running:
        yield None if running is None else running.empty_database()


_ROWS: Final = (
    ("processes killed with SIGKILL", "kills"),
    ("of these servers", "of_servers"),
    ("of these processes that judge or decode", "of_judges"),
    ('takes a device had read "received" of', "accepted"),
    ("of these lost", "lost"),
    ("of these with another content than was sent", "damaged"),
    ("of these judged", "judged"),
    ("of these left unjudged", "unjudged"),
    ("taken in or judged twice", "twice"),
    ("takes whose judging had to be begun again", "begun_again"),
    ("uploads that went on after a broken line", "resumed"),
)


def table(counts: dict[str, Count]) -> str:
    """The counts as a table, a database a column."""
    names = list(counts)
    lines = ["| | " + " | ".join(names) + " |", "| --- " * (len(names) + 1) + "|"]
    for words, name in _ROWS:
        lines.append(f"| {words} | " + " | ".join(str(getattr(counts[each], name)) for each in names) + " |")
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
