"""The pitch wheel of a MIDI file as bends and vibrato, where it moves one note on one string.

A wheel stands where it was put until it is moved again. Its samples are thinned to the fewest corners that
stay within a fifth of a semitone (Douglas and Peucker 1973, Cartographica 10(2), 112-122), which are then set
on quarter tones and on 24ths of the note.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from fretwright.base.errors import ScoreError
from fretwright.score.techniques import Bend, BendPoint, Vibrato

Wheel = Sequence[tuple[Fraction, float]]
"""Times in whole notes and semitones from the note's own pitch, in order of time."""

_TOLERANCE: Final = 0.2
_STILL: Final = 0.04
"""Less than this, in semitones, is no movement."""
_LEAST_BEND: Final = 0.25
_LONGEST_GAP: Final = 0.2
"""A wheel that stood still for this share of the note jumps to its next place; else it was on its way."""
_FEWEST_TURNS: Final = 4
_MOST_CORNERS: Final = 10
_FINEST: Final = 24

_Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Moved:
    """What the wheel does to one note."""

    bend: Bend | None = None
    vibrato: Vibrato | None = None
    is_lost: bool = False
    """Whether it does anything that is neither."""


class WheelOfPart:
    """The wheel of one channel, and which of its notes sound alone."""

    def __init__(self, wheel: Wheel, notes: Sequence[tuple[Fraction, Fraction]]) -> None:
        """``notes`` are starts and ends."""
        self._wheel = wheel
        self._times = [at for at, _ in wheel]
        self._alone = set(_alone(sorted(notes)))

    def moves(self, start: Fraction, end: Fraction, length_s: float) -> Moved:
        """What it does to a note that lasts so many seconds; of several at once nobody bends one alone."""
        first, last = bisect_right(self._times, start), bisect_left(self._times, end)
        stands = self._wheel[first - 1][1] if first else 0.0
        if first >= last and abs(stands) < _STILL:
            return Moved()
        if (start, end) not in self._alone or length_s <= 0:
            return Moved(is_lost=True)
        return _moved(_points(stands, self._wheel[first:last], start, end), length_s)


def _alone(notes: Sequence[tuple[Fraction, Fraction]]) -> Iterator[tuple[Fraction, Fraction]]:
    """Those of some notes, in order of their starts, during which no other sounds."""
    sounds_until = Fraction(-1)
    for (start, end), following in zip(notes, [*notes[1:], None], strict=True):
        if sounds_until <= start and (following is None or following[0] >= end):
            yield start, end
        sounds_until = max(sounds_until, end)


def _moved(points: Sequence[_Point], length_s: float) -> Moved:
    heights = [height for _, height in points]
    low, high = min(heights), max(heights)
    if high - low < _STILL and abs(high) < _STILL:
        return Moved()
    turns = _turns(heights)
    if turns >= _FEWEST_TURNS and high < 1 and low < 0:
        return _shaken(high - low, turns, length_s)
    if low < -_LEAST_BEND or high < _LEAST_BEND:
        return Moved(is_lost=True)
    bend = _bend(points)
    return Moved(bend, is_lost=bend is None)


def _points(stands: float, wheel: Wheel, start: Fraction, end: Fraction) -> list[_Point]:
    """The wheel's places as shares of a note, the first where it stands when the note begins."""
    points: list[_Point] = [(0.0, stands)]
    for at, height in wheel:
        share = float((at - start) / (end - start))
        if share - points[-1][0] > _LONGEST_GAP:
            points.append((share - 1 / _FINEST, points[-1][1]))
        points.append((share, height))
    return points


def _turns(heights: Sequence[float]) -> int:
    """How often a curve passes through its own middle."""
    middle = (max(heights) + min(heights)) / 2
    sides = [height > middle for height in heights if abs(height - middle) > _STILL / 2]
    return sum(one is not other for one, other in pairwise(sides))


def _shaken(width: float, turns: int, length_s: float) -> Moved:
    """A vibrato to half a swing a second and five cents."""
    try:
        rate_hz = round(turns / length_s) / 2
        return Moved(vibrato=Vibrato(rate_hz, round(width * 20) * 5.0))
    except (ScoreError, ZeroDivisionError):
        return Moved(is_lost=True)


def _bend(points: Sequence[_Point]) -> Bend | None:
    """The bend that a curve is, or None for one that nobody could write."""
    corners: list[BendPoint] = []
    for share, height in _thinned(points):
        at, semitones = Fraction(share).limit_denominator(_FINEST), Fraction(max(0, round(height * 2)), 2)
        if corners and corners[-1].at == at:
            corners[-1] = BendPoint(at, semitones)
        else:
            corners.append(BendPoint(at, semitones))
    # What stays where it is needs no further corner.
    while len(corners) > 1 and corners[-1].semitones == corners[-2].semitones:
        corners.pop()
    if len(corners) > _MOST_CORNERS:
        return None
    try:
        return Bend(tuple(corners))
    except ScoreError:
        return None


def _thinned(points: Sequence[_Point]) -> list[_Point]:
    """The fewest points between which straight lines stay near all others."""
    kept = {0, len(points) - 1}
    waiting = [(0, len(points) - 1)]
    while waiting:
        first, last = waiting.pop()
        (xa, ya), (xb, yb) = points[first], points[last]
        furthest, distance = first, _TOLERANCE
        for nth in range(first + 1, last):
            x, y = points[nth]
            away = abs(y - ya - (yb - ya) * (x - xa) / (xb - xa))
            if away > distance:
                furthest, distance = nth, away
        if furthest != first:
            kept.add(furthest)
            waiting += [(first, furthest), (furthest, last)]
    return [points[nth] for nth in sorted(kept)]
