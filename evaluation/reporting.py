"""What the measurements have in common: options, tables of figures, and where these are written down."""

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import numpy as np

Row = tuple[str, ...]
BAR_HEADING: Final[Row] = ("question", "asked", "found", "reached")
_README: Final = Path(__file__).with_name("README.md")
_DRAWS: Final = 400


def options(module: str, **flags: str) -> argparse.Namespace:
    """The flags given on the command line of ``python -m`` a module; flag -> what it does."""
    parser = argparse.ArgumentParser(prog=f"python -m {module}")
    for flag, does in flags.items():
        parser.add_argument(f"--{flag}", action="store_true", help=does)
    return parser.parse_args()


def quick_or_tuned(module: str) -> argparse.Namespace:
    """``--quick`` and ``--tuned``: with neither, the figures are written down."""
    return options(
        module,
        quick="measure little, and write nothing",
        tuned="measure on the guitars that constants were set with, and write nothing",
    )


def table(heading: Row, rows: Sequence[Row]) -> str:
    """A table in Markdown."""
    lines = [heading, ("---",) * len(heading), *rows]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)


def yes(*, reached: bool) -> str:
    """The last cell of a row of bars."""
    return "yes" if reached else "NO"


def interval(values: Sequence[float], seed: int) -> str:
    """Bootstrap interval, 95 of 100, of the mean of one figure of many takes, drawn with replacement."""
    taken = np.array(values)
    drawn = np.random.default_rng(seed).integers(0, len(taken), (_DRAWS, len(taken)))
    low, high = np.quantile(taken[drawn].mean(axis=1), (0.025, 0.975))
    return f"{low:.3f}-{high:.3f}"


def into_readme(name: str, summary: str) -> None:
    """Put a table between the two marks of that name in ``evaluation/README.md``."""
    begin, end = f"<!-- {name} figures -->", f"<!-- end of {name} figures -->"
    before, rest = _README.read_text(encoding="utf-8").split(begin)
    after = rest.split(end)[1]
    _README.write_text(f"{before}{begin}\n\n{summary}\n\n{end}{after}", encoding="utf-8")
