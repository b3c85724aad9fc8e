"""From candidates to passes for exercises with chords: which sounding stands for which written stroke.

The search is that of single lines (:mod:`fretwright.ear.path`): only intervals between strokes count, and a
pass may break off and begin anew. What starts at a moment is one event of the score, a note or several that
start together, and its odds are those of its clearer half: the tones of a chord hide each other.
"""

from typing import Final

import numpy as np

from fretwright.ear.align import STILL_S, TEMPOS, WORTH_EXPECTED, Alignment, Match, Pass, ways_back
from fretwright.ear.arrays import Counts, Floats, Samples
from fretwright.ear.features import LOWEST_MIDI, PITCHES
from fretwright.ear.path import walk
from fretwright.ear.track_search import Events

_MOST_ODDS: Final = 6.0
_LEAST_ODDS: Final = -8.0
_COST_WRONG: Final = 3.5
_COST_MISSED: Final = 4.0
_COST_EXTRA: Final = 1.5
_COST_IDLE: Final = 3.0
_IDLE_SHARE: Final = 0.7
_COST_TEMPO_CHANGE: Final = 1.0
_COST_BROKEN_OFF: Final = 5.0
_COST_INSIDE: Final = 6.0
_COST_AT_BAR: Final = 4.0
_COST_AGAIN: Final = 1.0
_SPREAD_S: Final = 0.02
"""A little more than for a line: a strum has no one moment."""
_SPREAD_SHARE: Final = 0.06
_KNOCK: Final = 0.35
"""Rise from which something was clearly struck, pitch or none."""
_KNOCK_ODDS: Final = -1.0
_MOST_CELLS: Final = 14_000_000
_SHIFTS: Final = (1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 7, -7)
_POOR_FIT: Final = 0.85
_FITS_SHIFTED: Final = 0.7
_CLEARLY_BETTER: Final = 6.0
_CLEAR_ODDS: Final = 1.0


def align_events(events: Events, moments_s: Floats, among: Samples, rise: Floats) -> Alignment:
    """Find the passes; ``among`` as of :attr:`fretwright.ear.pitches.Odds.among`.

    A match's ``note`` is an event, its ``midi`` the lowest written pitch where the chord fits and the
    likeliest other one where not. A take that fits poorly is tried a few semitones away, as after a
    forgotten capo.
    """
    kept = _affordable(len(events.times_s), among)
    found = _aligned(events, moments_s[kept], among[kept], rise[kept], 0)
    if fit_of(found, events) < _POOR_FIT:
        shift = max(_SHIFTS, key=lambda one: _likeness(events, among[kept], one))
        other = _aligned(events, moments_s[kept], among[kept], rise[kept], shift)
        if other.score > found.score + _CLEARLY_BETTER and fit_of(other, events) > _FITS_SHIFTED:
            found = other
    passes = tuple(
        Pass(
            tuple(Match(m.note, int(kept[m.moment]), m.midi, m.odds, m.rival) for m in one.matches),
            tuple((int(kept[moment]), midi, odds) for moment, midi, odds in one.extras),
            one.tempo,
        )
        for one in found.passes
    )
    return Alignment(passes, found.score, found.shift)


def _likeness(events: Events, among: Samples, shift: int) -> float:
    """How well the clear moments of a take are explained by any of the chords, so many semitones away."""
    clear = among[_strongest(among) > _CLEAR_ODDS]
    worth = [_worth(pitches, clear, shift) for pitches in sorted(set(events.pitches))]
    return float(np.max(worth, axis=0).mean()) if len(clear) else 0.0


def fit_of(found: Alignment, events: Events) -> float:
    """Share of the events that were heard as written in the best pass."""
    right = [sum(m.odds > m.rival for m in one.matches) for one in found.passes]
    return max(right, default=0) / len(events.times_s)


def _affordable(event_count: int, among: Samples) -> Counts:
    """Moments to consider: all, or the strongest where the table would grow too large."""
    most = _MOST_CELLS // (event_count * len(TEMPOS))
    if len(among) <= most:
        return np.arange(len(among))
    return np.sort(np.argsort(-among.max(axis=1))[:most])


def _aligned(events: Events, moments_s: Floats, among: Samples, rise: Floats, shift: int) -> Alignment:
    right = np.stack([_worth(pitches, among, shift) for pitches in events.pitches])
    strongest = _strongest(among)
    # a stroke on strings that give no pitch is one all the same; alone a knock is nothing
    otherwise = np.maximum(strongest - _COST_WRONG, np.where(rise > _KNOCK, _KNOCK_ODDS, _LEAST_ODDS))
    alone = _loudest_about(moments_s, strongest)
    extra = np.where(alone, np.maximum(strongest - _COST_EXTRA, 0), 0).astype(np.float64)
    idle = np.where(alone, np.maximum(strongest - _COST_IDLE, 0), 0).astype(np.float64) * _IDLE_SHARE
    count = len(events.times_s)
    begin = np.where(events.opens_bar, _COST_AT_BAR, _COST_INSIDE)
    begin = np.minimum(begin, _COST_AGAIN + _COST_MISSED * np.arange(count))
    end = np.minimum(_COST_BROKEN_OFF, _COST_MISSED * np.arange(count - 1, -1, -1.0))
    best, back, between, ended = walk(
        moments_s,
        events.times_s,
        np.maximum(right, otherwise[None]).astype(np.float64),
        np.concatenate([[0.0], np.cumsum(extra)]),
        idle,
        begin.astype(np.float64),
        end.astype(np.float64),
        TEMPOS,
        2.0 * np.abs(np.log(TEMPOS)),
        _COST_MISSED,
        _COST_TEMPO_CHANGE,
        STILL_S,
        _SPREAD_S,
        _SPREAD_SHARE,
    )
    passes = []
    for steps in ways_back(moments_s, best, back, ended):
        matches = tuple(
            Match(
                n,
                i,
                events.pitches[n][0] + shift
                if right[n, i] >= otherwise[i]
                else int(among[i].argmax()) + LOWEST_MIDI,
                float(right[n, i]),
                float(otherwise[i]),
            )
            for n, i, _ in steps
        )
        tempo = float(np.exp(np.median(np.log(TEMPOS[[k for _, _, k in steps]]))))
        passes.append(Pass(matches, _extras(steps, moments_s, extra, among), tempo))
    return Alignment(tuple(passes), float(between[-1]), shift)


def _worth(pitches: tuple[int, ...], among: Samples, shift: int) -> Samples:
    """Odds that an event starts at each moment, shape (moments,)."""
    columns = [midi + shift - LOWEST_MIDI for midi in pitches]
    columns = [column for column in columns if 0 <= column < PITCHES]
    if not columns:
        return np.full(len(among), _LEAST_ODDS, dtype=np.float32)
    tones = np.sort(np.clip(among[:, columns], _LEAST_ODDS, _MOST_ODDS), axis=1)
    clearer = tones[:, -((len(columns) + 1) // 2) :].mean(axis=1)
    worth: Samples = clearer + np.float32(WORTH_EXPECTED)
    return worth


def _strongest(among: Samples) -> Samples:
    """Odds that anything with a pitch starts at each moment, shape (moments,): by its two clearest tones."""
    two: Samples = np.sort(np.clip(among, _LEAST_ODDS, _MOST_ODDS), axis=1)[:, -2:].mean(axis=1)
    return two


def _loudest_about(moments_s: Floats, strongest: Samples) -> "np.ndarray[tuple[int], np.dtype[np.bool_]]":
    """Whether each moment is the likeliest within the distance at which no two strokes start."""
    first = np.searchsorted(moments_s, moments_s - STILL_S)
    last = np.searchsorted(moments_s, moments_s + STILL_S)
    best = [begin + int(strongest[begin:end].argmax()) for begin, end in zip(first, last, strict=True)]
    loudest: np.ndarray[tuple[int], np.dtype[np.bool_]] = np.equal(best, np.arange(len(moments_s)))
    return loudest


def _extras(
    steps: list[tuple[int, int, int]], moments_s: Floats, extra: Floats, among: Samples
) -> tuple[tuple[int, int, float], ...]:
    """Strokes between two that were matched, and far enough from both."""
    taken = moments_s[[i for _, i, _ in steps]]
    inside = np.arange(steps[0][1], steps[-1][1] + 1)
    away = np.abs(moments_s[inside][:, None] - taken).min(axis=1)
    return tuple(
        (int(at), int(among[at].argmax()) + LOWEST_MIDI, float(among[at].max()))
        for at in inside[(away > 2 * STILL_S) & (extra[inside] > 0)]
    )
