"""The student's own pulse, and how each note lies to it.

Timing is judged against a pulse that follows the student: a straight line through the notes around each
one, weighted by distance, in written time. A steady drift is thus not counted note by note as late or
early; it is told once, as drift.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats

JUST_HEARD_S: Final = 0.006
JUST_HEARD_SHARE: Final = 0.025
"""A displaced onset is just noticed at 6 ms, or at 2.5 % of intervals above 240 ms (Friberg & Sundberg,
"Time discrimination in a monotonic, isochronous sequence", JASA 98, 1995)."""
_REACH_NOTES: Final = 7
_OUTLIER_S: Final = 0.12


@dataclass(frozen=True, slots=True)
class Pulse:
    """How a pass lies in time."""

    timing_s: Floats
    """Late (positive) or early, for each note heard, shape (n,)."""
    stretch: float
    """Interval played over interval asked, over the whole pass."""
    drift_percent: float
    spread_s: float
    offset_s: float


def fit_pulse(
    written_s: Floats, heard_s: Floats, on_beat: "np.ndarray[tuple[int], np.dtype[np.bool_]]"
) -> Pulse:
    """Fit the pulse of one pass; all arrays have shape (n,)."""
    count = len(heard_s)
    if count < 3:
        return Pulse(np.zeros(count), 1.0, 0.0, 0.0, 0.0)
    stretch, _ = _line(written_s, heard_s)
    timing = np.array([heard_s[i] - _local(written_s, heard_s, i) for i in range(count)])
    near = np.abs(timing) < _OUTLIER_S
    kept = timing[near] if near.sum() >= 3 else timing
    middle = float(np.median(kept))
    spread = float(1.4826 * np.median(np.abs(kept - middle))) if count > 8 else float(kept.std())
    beat = on_beat & near
    offset = (
        float(timing[near].mean() - timing[beat].mean())
        if beat.sum() >= 4 and (near & ~beat).any()
        else middle
    )
    return Pulse(timing, stretch, _drift(written_s, heard_s), max(spread, float(kept.std()) * 0.5), offset)


def just_heard_s(interval_s: Floats) -> Floats:
    """The finest timing that is judged for notes at such intervals."""
    return np.maximum(JUST_HEARD_S, JUST_HEARD_SHARE * interval_s)


def _line(written_s: Floats, heard_s: Floats) -> tuple[float, float]:
    """Slope and start of a straight line; the worst tenth of the points is left out of a second fit."""
    slope, start = np.polyfit(written_s, heard_s, 1)
    if len(heard_s) >= 10:
        off = np.abs(heard_s - slope * written_s - start)
        kept = off <= np.quantile(off, 0.9)
        if np.ptp(written_s[kept]) > 0:
            slope, start = np.polyfit(written_s[kept], heard_s[kept], 1)
    return float(slope), float(start)


def _local(written_s: Floats, heard_s: Floats, index: int) -> float:
    """Where the notes around it would put a note."""
    low = max(0, min(index - _REACH_NOTES, len(heard_s) - 2 * _REACH_NOTES - 1))
    some = np.arange(low, min(len(heard_s), low + 2 * _REACH_NOTES + 1))
    away = written_s[some] - written_s[index]
    widest = np.abs(away).max() * 1.05 + 1e-9
    weight = (1 - (np.abs(away) / widest) ** 3) ** 3
    if np.ptp(away[weight > 0]) <= 0:
        return float(heard_s[index])
    fitted = heard_s[index]
    for _ in range(2):
        slope, start = np.polyfit(away, heard_s[some], 1, w=np.sqrt(weight))
        fitted = start
        left = np.abs(heard_s[some] - slope * away - start)
        weight *= 1 / (1 + (left / (3 * np.median(left) + 1e-3)) ** 2)
    return float(fitted)


def _drift(written_s: Floats, heard_s: Floats) -> float:
    third = len(heard_s) // 3
    if third < 3:
        return 0.0
    first, _ = _line(written_s[:third], heard_s[:third])
    last, _ = _line(written_s[-third:], heard_s[-third:])
    return 100 * (first / last - 1) if last > 0 else 0.0
