"""The performance in seconds: every note and every beat, once a tempo is chosen."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from fretwright.score.note import Note
from fretwright.score.score import Bar, Score
from fretwright.score.unfold import PlayedBar, unfold


@dataclass(frozen=True, slots=True)
class TimedNote:
    """One sounding of a note; a repeated note sounds more than once under the same id."""

    note: Note
    onset_s: float
    """From the start of the score, count-in not included."""
    duration_s: float
    time_through: int
    """1 the first time its bar is played, 2 the second."""


@dataclass(frozen=True, slots=True)
class TimedBeat:
    """One beat, as a foot taps it and a click sounds it."""

    time_s: float
    bar_number: int
    beat: int
    """1 on the first beat of a full bar."""


@dataclass(frozen=True, slots=True)
class Timeline:
    """What sounds when."""

    bpm: float
    notes: tuple[TimedNote, ...]
    """In order of onset and then from the lowest string up."""
    beats: tuple[TimedBeat, ...]
    bars: tuple[tuple[float, PlayedBar], ...]
    """Start in seconds and bar, in playing order."""
    length_s: float


def timeline(score: Score, bpm: float | None = None) -> Timeline:
    """Play the score on paper: repeats taken, swing applied, musical time turned into seconds.

    ``bpm`` replaces the tempo at the start and scales every later mark with it; by default the score's
    own tempo is kept. Raises :class:`~fretwright.base.errors.ScoreError` for a tempo out of range.
    """
    tempo = score.tempo if bpm is None else score.tempo.at_start(bpm)
    notes: list[TimedNote] = []
    beats: list[TimedBeat] = []
    starts: list[tuple[float, PlayedBar]] = []
    by_bar = _notes_by_bar(score)
    now_s = 0.0
    for played in unfold(score.bars):
        bar = played.bar
        starts.append((now_s, played))
        for note in by_bar[bar.start]:
            onset_s, end_s = (
                tempo.seconds_between(bar.start, _played(score, time)) for time in (note.onset, note.end)
            )
            notes.append(TimedNote(note, now_s + onset_s, end_s - onset_s, played.time_through))
        beats.extend(
            TimedBeat(now_s + tempo.seconds_between(bar.start, time), bar.number, beat)
            for time, beat in _beats_of(bar)
        )
        now_s += tempo.seconds_between(bar.start, bar.end)
    return Timeline(tempo.bpm, tuple(notes), tuple(beats), tuple(starts), now_s)


def _notes_by_bar(score: Score) -> dict[Fraction, list[Note]]:
    by_bar: dict[Fraction, list[Note]] = {bar.start: [] for bar in score.bars}
    bars = iter(score.bars)
    bar = next(bars)
    for note in score.notes:
        while note.onset >= bar.end:
            bar = next(bars)
        by_bar[bar.start].append(note)
    return by_bar


def _played(score: Score, time: Fraction) -> Fraction:
    """A written time moved to where swing plays it."""
    bar = score.bar_at(time)
    # A pickup is counted from its end, so that its upbeats swing like those of a full bar.
    origin = bar.end - bar.meter.length if bar.number == 0 else bar.start
    return origin + score.swing.played(time - origin)


def _beats_of(bar: Bar) -> Iterator[tuple[Fraction, int]]:
    """Written times of a bar's beats with their numbers; a pickup has the last beats of its bar."""
    missing = bar.meter.length - bar.length if bar.number == 0 else Fraction(0)
    for beat in range(bar.meter.beats):
        offset = beat * bar.meter.beat - missing
        if 0 <= offset < bar.length:
            yield bar.start + offset, beat + 1
