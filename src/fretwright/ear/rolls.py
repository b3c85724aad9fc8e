"""Rolled chords: strings that start one after the other, in their own time.

No page says how fast a roll goes. It is therefore looked for from a little quicker to twice as slow as the
score's own timeline has it (:func:`fretwright.score.timeline.timeline`).
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats
from fretwright.ear.candidates import Candidates
from fretwright.ear.chosen import Played
from fretwright.ear.track_search import Events
from fretwright.score.timeline import TimedNote

SHARES: Final = (0.6, 1.0, 1.5)
"""How much of its written delay each string may take."""
_SLOWEST: Final = 2.0
_CLEAR_RISE: Final = 0.3
_LEAST_APART_S: Final = 0.12


def stretch_of(chosen: Played) -> float:
    """Interval played over interval asked."""
    return float(np.median([part.tempo for part in chosen.parts]))


def roll_s(asked: Sequence[TimedNote], members: Sequence[int]) -> float:
    """Written time from the first string of a rolled chord to its last; 0 for any other stroke."""
    return max((asked[index].late_s for index in members if asked[index].note.techniques.roll), default=0.0)


def without_rolled(chosen: Played, asked: Sequence[TimedNote], events: Events, moments_s: Floats) -> Played:
    """The time through less the extras that are single strings of a rolled chord."""
    longest = _SLOWEST * stretch_of(chosen)
    rolled = [
        (float(moments_s[match.moment]), longest * roll_s(asked, events.members[match.note]))
        for match in chosen.matches
    ]
    extras = tuple(
        extra
        for extra in chosen.extras
        if not any(abs(float(moments_s[extra[0]]) - at_s) < spread_s for at_s, spread_s in rolled)
    )
    return replace(chosen, extras=extras)


def first_strings(chosen: Played, asked: Sequence[TimedNote], events: Events, found: Candidates) -> list[int]:
    """The candidate at which each stroke begins, shape (matches,).

    A rolled chord is likest itself at one of its later strings, when most of them ring; it begins at the
    first clear rise since the time that a slow roll takes.
    """
    longest = _SLOWEST * stretch_of(chosen)
    first: list[int] = []
    for match in chosen.matches:
        spread_s = longest * roll_s(asked, events.members[match.note])
        since_s = float(found.times_s[match.moment]) - spread_s
        if first:
            since_s = max(since_s, float(found.times_s[first[-1]]) + max(spread_s / 2, _LEAST_APART_S))
        before = range(int(np.searchsorted(found.times_s, since_s)), match.moment) if spread_s else range(0)
        first.append(next((at for at in before if found.rise[at] > _CLEAR_RISE), match.moment))
    return first
