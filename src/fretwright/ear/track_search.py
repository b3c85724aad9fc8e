"""Where in a long track each line is played: every line is laid against the whole track, speech and all.

Subsequence alignment as of :mod:`fretwright.ear.path`, with costs of its own. Talk is full of moments that
look like a note, four or five a second, so that a note counts only where its own pitch is the likeliest one;
chance then puts two or three such notes in a row at the right time, and a line is many. A line may be played
at any tempo from a third to three times its own, broken off, begun inside, and played again.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fretwright.ear.align import STILL_S, TEMPOS, ways_back
from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.features import LOWEST_MIDI, PITCHES
from fretwright.ear.path import walk
from fretwright.score.timeline import Timeline

_BASES: Final = (0.45, 1.0, 2.0)
"""How much longer than written intervals are in each search; the search itself allows for two thirds to
nearly twice that."""
_MOST_ODDS: Final = 7.0
_WORTH_EXPECTED: Final = 2.0
_RIVAL_SHARE: Final = 0.5
"""What a likelier pitch at the same moment takes from a note, of the difference."""
_COST_OCTAVE: Final = 2.5
_WORTH_WRONG: Final = -3.5
"""Another note than the written one at its time: cheaper than a note missed and one too many."""
_A_NOTE: Final = 3.0
_NOT_AT_ALL: Final = -9.0
_RIGHT: Final = 1.0
_LONGEST_GAP: Final = 8
"""Events that may go unheard between two parts of one time through."""
_COST_EXTRA: Final = 0.3
_MOST_EXTRA: Final = 6.0
_COST_MISSED: Final = 4.0
_COST_TEMPO_CHANGE: Final = 1.0
_COST_BEGIN: Final = 1.0
_COST_AT_BAR: Final = 4.0
_COST_INSIDE: Final = 6.0
_COST_BROKEN_OFF: Final = 5.0
_SPREAD_S: Final = 0.018
_SPREAD_SHARE: Final = 0.06
_LEAST_ODDS: Final = 0.0
"""A moment less likely than this starts no note."""
_LEAST_SCORE: Final = 26.0
_LEAST_PART_SCORE: Final = 34.0
"""Of a line that was begun inside or broken off."""
_LEAST_PART_WORTH: Final = 5.3
"""Score for each of its notes. Lines of one scale have runs in common: what is only like a part of a line,
with a wrong note here and there, came to 2.9 to 5.1, parts played with slips to 5.6 and more (measured)."""
_LEAST_MIDDLE_WORTH: Final = 7.0
"""The same where neither its beginning nor its end is played; a clean part came to 7.7 and more."""
_LEAST_RIGHT: Final = 0.6
_MOST_CELLS: Final = 14_000_000
_SLOWEST: Final = float(max(_BASES) * TEMPOS[-1])


@dataclass(frozen=True, slots=True)
class Line:
    """One exercise to look for."""

    name: str
    played: Timeline
    """At the tempo that stands in the text."""


@dataclass(frozen=True, slots=True)
class Events:
    """The moments of a line at which something starts; a chord is one of them."""

    times_s: Floats
    pitches: tuple[tuple[int, ...], ...]
    """MIDI numbers."""
    members: tuple[tuple[int, ...], ...]
    """Places of their notes in the line."""
    opens_bar: "np.ndarray[tuple[int], np.dtype[np.bool_]]"

    @property
    def is_single(self) -> bool:
        """Whether no two notes start together."""
        return all(len(member) == 1 for member in self.members)


def events_of(played: Timeline) -> Events:
    """The events of a line in order of time."""
    groups: list[list[int]] = []
    for index, timed in enumerate(played.notes):
        if groups and timed.onset_s - played.notes[groups[-1][0]].onset_s < 1e-6:
            groups[-1].append(index)
        else:
            groups.append([index])
    bars = [
        bisect_right(played.bars, played.notes[g[0]].onset_s + 1e-6, key=lambda bar: bar[0]) for g in groups
    ]
    return Events(
        np.array([played.notes[group[0]].onset_s for group in groups]),
        tuple(tuple(played.notes[index].note.midi for index in group) for group in groups),
        tuple(map(tuple, groups)),
        np.array([place == 0 or bars[place] != bars[place - 1] for place in range(len(bars))], dtype=bool),
    )


@dataclass(frozen=True, slots=True)
class Found:
    """One time that a line, or a part of it, is played."""

    line: int
    steps: tuple[tuple[int, float], ...]
    """Event and moment in seconds, for each event that was heard."""
    score: float
    """Logarithm of odds against no line being played there."""
    right: int
    """How many of the events were heard as written."""

    @property
    def first(self) -> int:
        """The first event heard."""
        return self.steps[0][0]

    @property
    def last(self) -> int:
        """The last event heard."""
        return self.steps[-1][0]

    @property
    def start_s(self) -> float:
        """Moment of the first event heard."""
        return self.steps[0][1]

    @property
    def end_s(self) -> float:
        """Moment of the last event heard."""
        return self.steps[-1][1]

    def shared_s(self, other: "Found") -> float:
        """How long both last together."""
        return min(self.end_s, other.end_s) - max(self.start_s, other.start_s)


def find_lines(lines: Sequence[Events], moments_s: Floats, odds: Samples) -> tuple[Found, ...]:
    """Every stretch in which a line may be played, each line for itself; stretches may overlap.

    ``odds`` as of :attr:`fretwright.ear.pitches.Odds.alone`, shape (moments, pitches).
    """
    kept = odds.max(axis=1, initial=_LEAST_ODDS - 1) > _LEAST_ODDS
    moments_s, odds = moments_s[kept], odds[kept]
    found: dict[tuple[int, int, float, float], Found] = {}
    for number, events in enumerate(lines):
        worth = _worth(events, odds)
        for some in _windows(events, moments_s):
            for one in _passes(number, events, moments_s[some], worth[:, some], odds[some]):
                key = (number, one.first, one.start_s, one.end_s)
                if key not in found or found[key].score < one.score:
                    found[key] = one
    alone = sorted(found.values(), key=lambda one: (one.start_s, one.end_s))
    return (*alone, *_joined(lines, alone))


def _joined(lines: Sequence[Events], found: Sequence[Found]) -> Iterator[Found]:
    """Two stretches of a line as one, where the second goes on in time after notes that were not heard."""
    for one in found:
        times_s = lines[one.line].times_s
        stretch = stretch_of(lines[one.line], one)
        for other in found:
            gap = other.first - one.last
            if other.line != one.line or not 0 < gap <= _LONGEST_GAP or other.start_s <= one.end_s:
                continue
            due_s = float(times_s[other.first] - times_s[one.last]) * stretch
            if abs(other.start_s - one.end_s - due_s) < 0.25 * due_s + 0.1:
                # worth a little more than both apart: it is one time through rather than two
                score = one.score + other.score + _COST_BEGIN
                yield Found(one.line, one.steps + other.steps, score, one.right + other.right)


def stretch_of(events: Events, found: Found) -> float:
    """Interval played over interval written, typical of a stretch."""
    times = np.array([(events.times_s[event], moment) for event, moment in found.steps])
    written, played = np.diff(times, axis=0).T
    kept = written > 1e-6
    return float(np.exp(np.median(np.log(played[kept] / written[kept])))) if kept.any() else 1.0


def best_together(found: Sequence[Found]) -> tuple[Found, ...]:
    """Of all stretches those that do not overlap and are worth most together, in order of time.

    Weighted interval scheduling by dynamic programming (J. Kleinberg and É. Tardos, "Algorithm Design", 6.1).
    """
    ordered = sorted(found, key=lambda one: one.end_s)
    ends = [one.end_s for one in ordered]
    best = [0.0]
    before = [bisect_right(ends, one.start_s - STILL_S, hi=place) for place, one in enumerate(ordered)]
    for place, one in enumerate(ordered):
        best.append(max(best[-1], best[before[place]] + one.score))
    chosen, place = [], len(ordered)
    while place:
        if best[place] > best[place - 1]:
            chosen.append(ordered[place - 1])
            place = before[place - 1]
        else:
            place -= 1
    return tuple(reversed(chosen))


def _worth(events: Events, odds: Samples) -> Samples:
    """What each event is worth at each moment, shape (events, moments)."""
    strongest = odds.max(axis=1, initial=0.0, keepdims=True)
    padded = np.pad(odds, ((0, 0), (24, 24)), constant_values=-30.0)
    clear = np.minimum(padded, _MOST_ODDS) - _RIVAL_SHARE * np.clip(strongest - padded, 0, 20)
    worth = np.empty((len(events.pitches), len(odds)), dtype=np.float32)
    for place, pitches in enumerate(events.pitches):
        tones = []
        for midi in pitches:
            column = int(np.clip(midi - LOWEST_MIDI, -12, PITCHES + 11)) + 24
            octaves = np.maximum(clear[:, column - 12], clear[:, column + 12]) - _COST_OCTAVE
            tones.append(np.maximum(clear[:, column], octaves))
        # a chord's tones hide each other: the clearest two speak for it
        loudest = np.sort(np.stack(tones), axis=0)[-2:]
        worth[place] = loudest.mean(axis=0)
    worth += np.float32(_WORTH_EXPECTED)
    otherwise = np.where(strongest[:, 0] > _A_NOTE, np.float32(_WORTH_WRONG), np.float32(_NOT_AT_ALL))
    return np.where(worth < _WORTH_WRONG, otherwise, worth)


def _windows(events: Events, moments_s: Floats) -> Iterator[slice]:
    """Stretches of the track, each as long as the table may be, that overlap by the longest time played."""
    most = max(64, _MOST_CELLS // (len(events.times_s) * len(TEMPOS)))
    reach_s = float(events.times_s[-1] - events.times_s[0]) * _SLOWEST + 1.0
    start = 0
    while start < len(moments_s):
        stop = min(len(moments_s), start + most)
        yield slice(start, stop)
        if stop == len(moments_s):
            return
        again = int(np.searchsorted(moments_s, moments_s[stop - 1] - reach_s))
        start = max(again, start + most // 2)


def _passes(number: int, events: Events, moments_s: Floats, worth: Samples, odds: Samples) -> Iterator[Found]:
    strongest = np.clip(odds.max(axis=1), 0, _MOST_EXTRA)
    extras = np.concatenate([[0.0], np.cumsum(-_COST_EXTRA * strongest)]).astype(np.float64)
    count = len(events.times_s)
    begin, end = _costs(events)
    for base in _BASES:
        best, back, between, ended = walk(
            moments_s,
            events.times_s * base,
            worth.astype(np.float64),
            extras,
            np.zeros(len(moments_s)),
            begin,
            end,
            TEMPOS,
            0.5 * np.abs(np.log(TEMPOS)),
            _COST_MISSED,
            _COST_TEMPO_CHANGE,
            STILL_S,
            _SPREAD_S,
            _SPREAD_SHARE,
        )
        for steps in ways_back(moments_s, best, back, ended):
            begun = int(np.searchsorted(moments_s, moments_s[steps[0][1]] - STILL_S))
            score = float(between[steps[-1][1] + 1] - between[begun])
            heard = tuple((event, float(moments_s[moment])) for event, moment, _ in steps)
            right = sum(bool(worth[event, moment] > _RIGHT) for event, moment, _ in steps)
            one = Found(number, heard, score, right)
            if _is_played(one, count):
                yield one


def _costs(events: Events) -> tuple[Floats, Floats]:
    """What it costs to begin and to end at each event."""
    count = len(events.times_s)
    begin = np.where(events.opens_bar, _COST_AT_BAR, _COST_INSIDE)
    begin = np.minimum(begin, _COST_BEGIN + _COST_MISSED * np.arange(count))
    end = np.minimum(_COST_BROKEN_OFF, _COST_MISSED * np.arange(count - 1, -1, -1.0))
    return begin.astype(np.float64), end.astype(np.float64)


def _is_played(one: Found, count: int) -> bool:
    span = one.last - one.first + 1
    if span >= count - 1:
        least = _LEAST_SCORE
    else:
        is_middle = one.first > 0 and one.last < count - 1
        worth = _LEAST_MIDDLE_WORTH if is_middle else _LEAST_PART_WORTH
        least = max(_LEAST_PART_SCORE, worth * span)
    return one.score >= least and one.right >= _LEAST_RIGHT * span
