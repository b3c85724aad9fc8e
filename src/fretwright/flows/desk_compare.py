"""Two texts beside each other: which lines are in both, and which in one alone."""

import difflib
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

_CONTEXT_LINES: Final = 3
_MOST_COMPARED_LINES: Final = 4000
"""Past this only what both texts begin and end with is taken for common, which is quick for any text."""


class Side(StrEnum):
    """Whose a line of a comparison is."""

    BOTH = "both"
    MINE = "mine"
    """Only in what was to be saved."""
    THEIRS = "theirs"
    """Only in what is on disk."""
    GAP = "gap"
    """Lines that both have and that are not shown; ``text`` says how many."""


@dataclass(frozen=True, slots=True)
class ComparedLine:
    """One line of a comparison."""

    side: Side
    text: str


def compare(mine: str, theirs: str) -> tuple[ComparedLine, ...]:
    """What is different between two texts, with a few lines around each place."""
    ours, others = mine.split("\n"), theirs.split("\n")
    return tuple(_shortened(list(_compared(ours, others))))


def _compared(mine: list[str], theirs: list[str]) -> Iterator[ComparedLine]:
    head = 0
    while head < min(len(mine), len(theirs)) and mine[head] == theirs[head]:
        head += 1
    tail = 0
    while tail < min(len(mine), len(theirs)) - head and mine[-1 - tail] == theirs[-1 - tail]:
        tail += 1
    yield from (ComparedLine(Side.BOTH, line) for line in mine[:head])
    ours, others = mine[head : len(mine) - tail], theirs[head : len(theirs) - tail]
    if len(ours) + len(others) > _MOST_COMPARED_LINES:
        blocks = [(0, 0, 0), (len(ours), len(others), 0)]
    else:
        blocks = [
            (match.a, match.b, match.size)
            for match in difflib.SequenceMatcher(None, ours, others).get_matching_blocks()
        ]
    here = there = 0
    for start, other, size in blocks:
        yield from (ComparedLine(Side.MINE, line) for line in ours[here:start])
        yield from (ComparedLine(Side.THEIRS, line) for line in others[there:other])
        yield from (ComparedLine(Side.BOTH, line) for line in ours[start : start + size])
        here, there = start + size, other + size
    yield from (ComparedLine(Side.BOTH, line) for line in mine[len(mine) - tail :])


def _shortened(lines: list[ComparedLine]) -> Iterator[ComparedLine]:
    """The comparison without what is far from every difference."""
    changed = [index for index, line in enumerate(lines) if line.side is not Side.BOTH]
    near = {index for at in changed for index in range(at - _CONTEXT_LINES, at + _CONTEXT_LINES + 1)}
    hidden = 0
    for index, line in enumerate(lines):
        if index not in near:
            hidden += 1
            continue
        if hidden:
            yield _gap(hidden)
            hidden = 0
        yield line
    if hidden:
        yield _gap(hidden)


def _gap(lines: int) -> ComparedLine:
    return ComparedLine(Side.GAP, f"{lines} more {'line' if lines == 1 else 'lines'}")
