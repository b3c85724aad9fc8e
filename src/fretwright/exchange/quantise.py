"""From played times to written ones.

A written file keeps its times exactly: a beat is divided into as few equal parts as every start inside it
falls on to half a tick, and every end to two. Where nearly all beats of a file divide so, it was written.

A played file, and what is left of a written one, goes by the coarsest of 1, 2, 3 or 4 parts of the beat that
no start is further from than a twelfth of a beat, else by 8 parts, and every start moves to the nearest of
them. A played note lasts until the next one starts if it filled most of that time, else to the nearest part,
and never less than one part.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final

from fretwright.exchange.draft import DraftBar, DraftNote
from fretwright.fretboard.neck import Place

_WRITTEN_SHARE: Final = 0.9
"""Share of beats that divide exactly from which on a file counts as written."""
_SHORTEST: Final = Fraction(1, 96)
"""The shortest written value: a sixty-fourth of a triplet, in whole notes."""
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


def quantised(notes: Sequence[DraftNote], bars: Sequence[DraftBar], tick: Fraction) -> Quantised:
    """Move every start and end to its written time; ``tick`` is the file's least step in whole notes."""
    beats = _Beats(bars, tick)
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

    def __init__(self, bars: Sequence[DraftBar], tick: Fraction) -> None:
        self._bars = bars
        self._tick = tick
        self._starts = [bar.start for bar in bars]

    def grids(self, notes: Iterable[DraftNote]) -> dict[Fraction, _Grid]:
        """A grid for each beat that something starts or ends in, by the beat's start."""
        starts: dict[Fraction, list[Fraction]] = {}
        ends: dict[Fraction, list[Fraction]] = {}
        for note in notes:
            starts.setdefault(self._beat(note.onset)[0], []).append(note.onset)
            ends.setdefault(self._beat(note.end)[0], []).append(note.end)
        origins = sorted(starts.keys() | ends.keys())
        beats = {
            origin: _Beat(origin, self._beat(origin)[1], starts.get(origin, []), ends.get(origin, []))
            for origin in origins
        }
        exact = {origin: beat.exact_grid(self._tick) for origin, beat in beats.items()}
        is_written = sum(grid is not None for grid in exact.values()) >= _WRITTEN_SHARE * len(exact)
        return {
            origin: (exact[origin] if is_written else None) or beat.loose_grid()
            for origin, beat in beats.items()
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


@dataclass(frozen=True, slots=True)
class _Beat:
    """One beat with what starts and ends in it."""

    origin: Fraction
    length: Fraction
    starts: Sequence[Fraction]
    ends: Sequence[Fraction]

    @property
    def _is_by_three(self) -> bool:
        return self.length.numerator % 3 == 0

    def exact_grid(self, tick: Fraction) -> _Grid | None:
        """The coarsest grid that everything falls on, as far as ticks can say."""
        for parts in _WRITTEN_BY_THREE if self._is_by_three else _WRITTEN:
            if self.length / parts < _SHORTEST:
                continue
            if self._fits(self.starts, parts, tick / 2) and self._fits(self.ends, parts, tick * 2):
                return _Grid(self.length / parts, is_exact=True)
        return None

    def loose_grid(self) -> _Grid:
        """The coarsest grid that a hand may have meant."""
        for parts in _PLAYED_BY_THREE if self._is_by_three else _PLAYED:
            if self._fits(self.starts, parts, _LOOSE * self.length):
                return _Grid(self.length / parts, is_exact=False)
        return _Grid(
            self.length / (_FINEST_BY_THREE if self._is_by_three else _FINEST_PLAYED), is_exact=False
        )

    def _fits(self, times: Iterable[Fraction], parts: int, most: Fraction) -> bool:
        return all(_distance(time - self.origin, self.length / parts) <= most for time in times)


def _distance(time: Fraction, step: Fraction) -> Fraction:
    """How far a time is from the nearest multiple of a step."""
    return abs(time - round(time / step) * step)
