"""From played times to written ones.

The rule, beat by beat: a beat is divided into as few equal parts as hold every start and end inside it to a
tick or so; a file that was written, not played, keeps its times exactly. Where no division does, the beat was
played by hand: the coarsest of 1, 2, 3 or 4 parts that no start is further from than a twelfth of a beat is
taken, else 8 parts, and every start moves to the nearest of them. A played note lasts until the next one
starts if it filled most of that time, else to the nearest part, and never less than one part.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final

from fretwright.exchange.draft import DraftBar, DraftNote
from fretwright.fretboard.neck import Place

_EXACT: Final = Fraction(1, 240)
"""Of a beat: what rounding to ticks may move a time by."""
_LOOSE: Final = Fraction(1, 12)
_WRITTEN: Final = (1, 2, 3, 4, 6, 8, 12, 16, 5, 7, 10, 24, 32)
_PLAYED: Final = (1, 2, 3, 4)
_FINEST_PLAYED: Final = 8
_WRITTEN_BY_THREE: Final = (1, 3, 6, 12, 24, 2, 4, 8, 16, 9, 18)
_PLAYED_BY_THREE: Final = (1, 3, 6)
_FINEST_BY_THREE: Final = 12
_FILLED: Final = Fraction(3, 5)
"""Share of the time to the next start from which on a played note counts as held to it."""


@dataclass(frozen=True, slots=True)
class Quantised:
    """Notes in written time."""

    notes: tuple[DraftNote, ...]
    largest_move: Fraction
    """How far the start of a note was moved at most, in whole notes."""


def quantised(notes: Sequence[DraftNote], bars: Sequence[DraftBar]) -> Quantised:
    """Move every start and end to its written time."""
    beats = _Beats(bars)
    grids = beats.grids(notes)
    starts = sorted({beats.nearest(note.onset, grids) for note in notes})
    following = dict(pairwise(starts))
    moved: dict[tuple[Fraction, int, Place | None], DraftNote] = {}
    largest = Fraction(0)
    for note in notes:
        onset = beats.nearest(note.onset, grids)
        largest = max(largest, abs(onset - note.onset))
        end = beats.end(note, onset, following.get(onset), grids)
        end = min(end, bars[-1].end)
        written = replace(note, onset=onset, duration=end - onset)
        twin = moved.get((onset, note.pitch.midi, note.place))
        if end > onset and (twin is None or twin.end < end):
            moved[onset, note.pitch.midi, note.place] = written
    return Quantised(tuple(moved.values()), largest)


@dataclass(frozen=True, slots=True)
class _Grid:
    """How one beat is divided."""

    step: Fraction
    """Length of a part in whole notes."""
    is_exact: bool


class _Beats:
    """The beats of all bars, and what each is divided into."""

    def __init__(self, bars: Sequence[DraftBar]) -> None:
        self._bars = bars
        self._starts = [bar.start for bar in bars]

    def grids(self, notes: Iterable[DraftNote]) -> dict[Fraction, _Grid]:
        """A grid for each beat that something starts or ends in, by the beat's start."""
        starts: dict[Fraction, list[Fraction]] = {}
        ends: dict[Fraction, list[Fraction]] = {}
        for note in notes:
            starts.setdefault(self._beat(note.onset)[0], []).append(note.onset)
            ends.setdefault(self._beat(note.end)[0], []).append(note.end)
        return {
            origin: _grid(origin, self._beat(origin)[1], starts.get(origin, []), ends.get(origin, []))
            for origin in starts.keys() | ends.keys()
        }

    def nearest(self, time: Fraction, grids: dict[Fraction, _Grid]) -> Fraction:
        """The point of its beat's grid that is nearest to a time."""
        origin, _ = self._beat(time)
        step = grids[origin].step
        return origin + round((time - origin) / step) * step

    def end(
        self, note: DraftNote, onset: Fraction, following: Fraction | None, grids: dict[Fraction, _Grid]
    ) -> Fraction:
        """Where a note ends whose written start is known."""
        nearest = self.nearest(note.end, grids)
        at_end, at_start = grids[self._beat(note.end)[0]], grids[self._beat(note.onset)[0]]
        if at_end.is_exact and at_start.is_exact and nearest > onset:
            return nearest
        if following is not None and onset + _FILLED * (following - onset) <= note.end <= following:
            return following
        return max(nearest, onset + at_start.step)

    def _beat(self, time: Fraction) -> tuple[Fraction, Fraction]:
        """Start and length of the beat in which a time falls."""
        bar = self._bars[max(0, bisect_right(self._starts, time) - 1)]
        # A pickup is counted from its end; long beats are divided as quarters are.
        origin = bar.end - bar.meter.length if bar.is_pickup else bar.start
        beat = bar.meter.beat if bar.meter.is_compound else min(bar.meter.beat, Fraction(1, 4))
        return origin + (time - origin) // beat * beat, beat


def _grid(origin: Fraction, beat: Fraction, starts: Sequence[Fraction], ends: Sequence[Fraction]) -> _Grid:
    by_three = beat.numerator % 3 == 0
    inside = [(time - origin) / beat for time in (*starts, *ends)]
    for parts in _WRITTEN_BY_THREE if by_three else _WRITTEN:
        if all(_distance(time, parts) <= _EXACT for time in inside):
            return _Grid(beat / parts, is_exact=True)
    begun = [(time - origin) / beat for time in starts]
    for parts in _PLAYED_BY_THREE if by_three else _PLAYED:
        if all(_distance(time, parts) <= _LOOSE for time in begun):
            return _Grid(beat / parts, is_exact=False)
    return _Grid(beat / (_FINEST_BY_THREE if by_three else _FINEST_PLAYED), is_exact=False)


def _distance(time: Fraction, parts: int) -> Fraction:
    """How far a time, in beats, is from the nearest of so many equal parts."""
    return abs(time - Fraction(round(time * parts), parts))
