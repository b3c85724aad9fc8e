"""Runs on one string, the same run on other strings, and figures played several times in a row."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from fretwright.engrave.walkthrough_moments import Moment
from fretwright.engrave.walkthrough_sameness import Sameness

_MOST_IN_A_FIGURE = 8
"""A longer one no listener keeps in mind."""
_FEWEST_ON_STRING = 2


@dataclass(frozen=True, slots=True)
class Run:
    """Moments that are said one by one."""

    moments: tuple[Moment, ...]


@dataclass(frozen=True, slots=True)
class SameOnStrings:
    """The run before, played again on other strings, once on each."""

    moments: tuple[Moment, ...]
    strings: tuple[int, ...]


def fold_runs(moments: Sequence[Moment], sameness: Sameness) -> Iterator[Run | SameOnStrings]:
    """Runs on one string each; those that repeat the run before on further strings are folded."""
    runs = list(_runs(moments))
    while runs:
        model = runs.pop(0)
        yield Run(model)
        copies: list[tuple[Moment, ...]] = []
        while runs:
            # After its last note a copy may rest where its model has gone on.
            last = max((place for place, moment in enumerate(runs[0]) if moment.notes), default=0)
            candidates = (runs[0], runs[0][: last + 1])
            copy = next((run for run in candidates if _is_copy(run, [model, *copies], sameness)), None)
            if copy is None:
                break
            copies.append(copy)
            left = runs[0][len(copy) :]
            runs[:1] = [left] if left else []
        if copies:
            strings = tuple(run[0].notes[0].string for run in copies)
            yield SameOnStrings(tuple(moment for run in copies for moment in run), strings)


def _is_copy(run: Sequence[Moment], before: Sequence[Sequence[Moment]], sameness: Sameness) -> bool:
    """Whether a run does what the runs before do, on the next string in the same direction."""
    notes = sum(1 for moment in run if moment.notes)
    if notes < _FEWEST_ON_STRING or any(moment.shift for moment in run):
        return False
    strings = [moments[0].string for moments in (*before, run)]
    steps = {b - a for a, b in pairwise(strings) if a is not None and b is not None}
    one_way = None not in strings and (max(steps) < 0 or min(steps) > 0)
    return one_way and sameness.same_elsewhere(before[-1], run)


def _runs(moments: Sequence[Moment]) -> Iterator[tuple[Moment, ...]]:
    """Stretches on one string with the rests that follow; what sounds together is a run of its own."""
    run: list[Moment] = []
    for moment in moments:
        goes_on = not moment.notes or (moment.string is not None and run and moment.string == run[0].string)
        if run and not goes_on:
            yield tuple(run)
            run = []
        run.append(moment)
    if run:
        yield tuple(run)


def fold_rounds(moments: Sequence[Moment], sameness: Sameness) -> Iterator[tuple[tuple[Moment, ...], int]]:
    """A run as stretches that are played so many times in a row; those that are long in all come first."""
    index = 0
    while index < len(moments):
        size, rounds = 1, 1
        for candidate in range(1, min(_MOST_IN_A_FIGURE, (len(moments) - index) // 2) + 1):
            count = _rounds(moments, index, candidate, sameness)
            if count > 1 and candidate * count > size * rounds:
                size, rounds = candidate, count
        yield tuple(moments[index : index + size]), rounds
        index += size * rounds


def _rounds(moments: Sequence[Moment], start: int, size: int, sameness: Sameness) -> int:
    """How often the ``size`` moments from ``start`` on are played in a row."""
    model = moments[start : start + size]
    if any(not moment.notes or moment.signs for moment in model):
        return 1
    if size > 1 and any(moment.string is None for moment in model):
        return 1  # "those two" counts single notes
    count = 1
    while True:
        again = moments[start + count * size : start + (count + 1) * size]
        if any(moment.shift for moment in again) or not sameness.same(model, again):
            return count
        count += 1
