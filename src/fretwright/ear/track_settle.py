"""Which of two measures of an onset is right, where they differ: the one that its neighbours speak for.

A note's start is measured twice: where its own level rises out of what rings on
(:mod:`~fretwright.ear.onsets`), and where the energy of all bands rises
(:mod:`~fretwright.ear.candidates`). The first is exact to a millisecond, but an echo of the note before can
stand in for a note that it hides; the second is seldom far off, but late where a string swells slowly, as
under distortion. Where they differ, the notes around say which of them is the more likely, for hands keep a
pulse. A lone note that lies off an otherwise even row by either measure is rather misheard than misplayed,
and is moved half of the way: so the worst of both mistakes is as small as it can be.
"""

from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats, Marks

_CLOSE_S: Final = 0.022
"""Both measures of one onset lie so close, as a rule."""
_AGREE_S: Final = 0.006
_ROUNDS: Final = 3
_REACH: Final = 8
"""Notes to either side."""
_DOUBTED: Final = 0.1
"""Weight of a note whose measures differ, against one whose agree."""
_LEAST_NEIGHBOURS: Final = 3
_LEAST_OFF_S: Final = 0.014
_OFF_SPREADS: Final = 2.5
_TO_SPREAD: Final = 1.4826
"""From the median of absolute deviations to the spread of a normal distribution."""
_MOST_OFF_S: Final = 0.06
"""Who lies further off has waited, and is believed."""


def settled(written_s: Floats, onsets_s: Floats, rises_s: Floats, plucked: Marks) -> Floats:
    """The onsets, each by one of its two measures; all of shape (n,), in order of time.

    ``plucked`` tells the notes from which the usual way from rise to onset is taken: a slur adds no energy.
    """
    off = onsets_s - rises_s
    usual = plucked & (np.abs(off) < _CLOSE_S)
    other_s = rises_s + (float(np.median(off[usual])) if usual.any() else 0.0)
    agree = np.abs(onsets_s - other_s) < _AGREE_S
    trust = np.where(agree, 1.0, _DOUBTED)
    chosen = onsets_s
    for _ in range(_ROUNDS):
        due_s = _all_due(written_s, chosen, trust)
        nearer = np.abs(other_s - due_s) < np.abs(onsets_s - due_s)
        chosen = np.where(~agree & nearer, other_s, onsets_s)
    return _lone_ones_drawn(chosen, _all_due(written_s, chosen, trust))


def _lone_ones_drawn(onsets_s: Floats, due_s: Floats) -> Floats:
    """Lone onsets off the row moved half of the way to where they are due."""
    late_s = onsets_s - due_s
    off = np.abs(late_s)
    most = max(_LEAST_OFF_S, _OFF_SPREADS * _TO_SPREAD * float(np.median(off))) if len(off) else 0.0
    beside = np.maximum(np.pad(off, (1, 0))[:-1], np.pad(off, (0, 1))[1:])
    lone = (off > most) & (off < _MOST_OFF_S) & (beside < most)
    drawn: Floats = np.where(lone, onsets_s - late_s / 2, onsets_s)
    return drawn


def _all_due(written_s: Floats, heard_s: Floats, trust: Floats) -> Floats:
    return np.array([_due(written_s, heard_s, trust, place) for place in range(len(heard_s))])


def _due(written_s: Floats, heard_s: Floats, trust: Floats, place: int) -> float:
    """Where the notes around it would put a note: a straight line through them, the outliers held back.

    Locally weighted regression as of W. Cleveland, "Robust Locally Weighted Regression and Smoothing
    Scatterplots", Journal of the American Statistical Association 74, 1979; the note itself has no say.
    """
    some = np.arange(max(0, place - _REACH), min(len(heard_s), place + _REACH + 1))
    some = some[some != place]
    if len(some) < _LEAST_NEIGHBOURS:
        return float(heard_s[place])
    away = written_s[some] - written_s[place]
    near = trust[some] * (1 - (np.abs(away) / (1.05 * np.abs(away).max() + 1e-9)) ** 3) ** 3
    weight = near
    due_s = float(heard_s[place])
    for _ in range(_ROUNDS):
        slope, due_s = np.polyfit(away, heard_s[some], 1, w=np.sqrt(weight))
        left = np.abs(heard_s[some] - slope * away - due_s)
        weight = near / (1 + (left / (2 * np.median(left) + 2e-3)) ** 2)
    return float(due_s)
