"""The clock of a real performance: written time mapped onto the time of a recording, note by note."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from itertools import pairwise
from statistics import median
from typing import Final

from fretwright.base.errors import RenderError
from fretwright.film.clock import BarSpan, Beat, Clock, bars_of, beats_of
from fretwright.score.playing import Playing
from fretwright.score.score import Score
from fretwright.score.timeline import Timeline, timeline
from fretwright.sound.render import SoundedNote

_LEAST_STEP_S: Final = 0.01
"""Two onsets closer than this do not follow each other: one of them was misheard."""
_SAME_S: Final = 1e-6

Point = tuple[float, float]
"""Written time and the recording's, in seconds."""


def clock_played(score: Score, playing: Playing) -> Clock:
    """The clock of a score as it was played: every heard note at its own onset, the rest between them.

    Bars that were not played are left out. Raises :class:`~fretwright.base.errors.RenderError` if the
    performance is of another score.
    """
    written = timeline(score)
    if playing.last >= len(written.notes):
        raise RenderError("What was played is of another exercise.", "Hear the recording again.")
    points = _points(written, playing)
    at = _map(points)
    stretch = _stretch(points)
    some = written.notes[playing.first : playing.last + 1]
    notes = tuple(
        SoundedNote(
            timed.note.id,
            at(timed.onset_s),
            at(timed.onset_s + timed.duration_s) - at(timed.onset_s),
            timed.time_through - 1,
        )
        for timed in some
    )
    spans = [
        bar
        for bar in bars_of(score, written)
        if bar.end_s > some[0].onset_s + _SAME_S and bar.start_s <= some[-1].onset_s + _SAME_S
    ]
    from_s, until_s = spans[0].start_s - _SAME_S, spans[-1].end_s - _SAME_S
    bars = tuple(BarSpan(bar.index, at(bar.start_s), at(bar.end_s), bar.time_through) for bar in spans)
    beats = tuple(
        Beat(at(beat.time_s), beat.number, beat.of)
        for beat in beats_of(written)
        if from_s <= beat.time_s < until_s
    )
    ends_s = max(note.onset_s + note.duration_s for note in notes)
    return Clock(written.bpm / stretch, notes, bars, beats, 0.0, bars[0].start_s, ends_s, ends_s)


def _points(written: Timeline, playing: Playing) -> list[Point]:
    """What is known, each point later than the one before in both times; a chord is one point."""
    heard: dict[float, list[float]] = {}
    for place, onset_s in enumerate(playing.onsets_s):
        if onset_s is not None:
            heard.setdefault(written.notes[playing.first + place].onset_s, []).append(onset_s)
    points: list[Point] = []
    for written_s in sorted(heard):
        point = (written_s, median(heard[written_s]))
        if not points or point[1] - points[-1][1] >= _LEAST_STEP_S:
            points.append(point)
    if len(points) < 2:
        raise RenderError("Too little was heard of the performance.", "Hear the recording again.")
    return points


def _stretch(points: Sequence[Point]) -> float:
    """Interval played over interval written, typical of the performance."""
    return median((two[1] - one[1]) / (two[0] - one[0]) for one, two in pairwise(points))


def _map(points: Sequence[Point]) -> Callable[[float], float]:
    """Straight between points; before the first and after the last at the typical tempo."""
    written = [point[0] for point in points]
    stretch = _stretch(points)

    def at(written_s: float) -> float:
        place = bisect_right(written, written_s)
        if place == 0:
            return points[0][1] + (written_s - points[0][0]) * stretch
        left = points[place - 1]
        if place == len(points):
            return left[1] + (written_s - left[0]) * stretch
        right = points[place]
        return left[1] + (written_s - left[0]) * (right[1] - left[1]) / (right[0] - left[0])

    return at
