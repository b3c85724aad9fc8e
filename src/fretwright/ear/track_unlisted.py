"""Playing that is no exercise of the lesson: rows of clear notes that stand still in pitch.

Of a voice's sounds one in six stands still, of a guitar's nineteen in twenty; but in a room that rings the
vowels of a calm voice do as well, four in ten. What tells them apart there is how clearly a pitch begins
(measured on talk and tracks as of ``evaluation.film``, of the seed that constants are set with).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fretwright.ear.align import STILL_S
from fretwright.ear.arrays import Counts, Floats, Marks, Samples
from fretwright.ear.track_rehear import Demonstration
from fretwright.ear.track_scan import Scan

_A_NOTE: Final = 3.0
_CLEAR: Final = 8.0
"""Log odds from which a steady sound counts as plucked. Below lie a third of those of a voice in a room, and
five in a hundred notes of an overdriven guitar there, fewer of any other."""
_LONGEST_GAP_S: Final = 10.0
"""Of silence in a row: slow slurs on a string that dies away are not heard. Talk ends a row by its sounds."""
_LEAST_SURPLUS: Final = 6
"""Plucked notes less other sounds in a row."""
_MOST_LOSS: Final = 4
"""A row is over after so many more other sounds than plucked notes."""
_BEFORE_S, _AFTER_S = 0.5, 1.5
"""What belongs to a demonstration beyond its own notes."""


@dataclass(frozen=True, slots=True)
class Unlisted:
    """Playing that belongs to no exercise."""

    start_s: float
    end_s: float
    midi: tuple[int, ...]
    """What was heard, in order."""


def unlisted(scanned: Scan, demonstrations: Sequence[Demonstration]) -> tuple[Unlisted, ...]:
    """All such playing, in order of time."""
    strongest = scanned.odds.max(axis=1, initial=0.0)
    plucked = (scanned.steady > 0) & (strongest > _CLEAR)
    return tuple(
        _row(scanned, row)
        for places in _between(demonstrations, scanned.moments_s, _sounds(scanned, strongest))
        for row in _rows(scanned.moments_s, plucked, places)
    )


def _between(demonstrations: Sequence[Demonstration], moments_s: Floats, places: Counts) -> Iterator[Counts]:
    """What lies before, between and after the demonstrations: no row goes on behind one."""
    begins_s = -np.inf
    for one in demonstrations:
        onsets = [note.onset_s for note in one.notes if note.onset_s is not None]
        times_s = moments_s[places]
        yield places[(times_s > begins_s) & (times_s < min(onsets) - _BEFORE_S)]
        begins_s = max(onsets) + _AFTER_S
    yield places[moments_s[places] > begins_s]


def _sounds(scanned: Scan, strongest: Samples) -> Counts:
    """Places of the moments at which something with a pitch starts, one for each sound."""
    kept: list[int] = []
    for place in np.flatnonzero(strongest > _A_NOTE).tolist():
        if kept and scanned.moments_s[place] - scanned.moments_s[kept[-1]] < STILL_S:
            if strongest[place] > strongest[kept[-1]]:
                kept[-1] = place
        else:
            kept.append(place)
    return np.array(kept, dtype=np.int64)


def _rows(moments_s: Floats, plucked: Marks, places: Counts) -> Iterator[list[int]]:
    """Rows in which plucked notes outnumber the rest, from the first of them to the last."""
    row: list[int] = []
    surplus = best = 0
    best_length = 0
    for place in [*places.tolist(), -1]:
        over = place < 0 or (row and moments_s[place] - moments_s[row[-1]] > _LONGEST_GAP_S)
        if row and (over or surplus < 0 or best - surplus > _MOST_LOSS):
            if best >= _LEAST_SURPLUS:
                yield row[:best_length]
            row, surplus, best, best_length = [], 0, 0, 0
        if place < 0 or (not row and not plucked[place]):
            continue
        row.append(place)
        surplus += 1 if plucked[place] else -1
        if surplus > best:
            best, best_length = surplus, len(row)


def _row(scanned: Scan, row: Sequence[int]) -> Unlisted:
    midi = tuple(int(scanned.steady[place]) for place in row if scanned.steady[place])
    return Unlisted(float(scanned.moments_s[row[0]]), float(scanned.moments_s[row[-1]]), midi)
