"""The performance in seconds: every note and every beat, once a tempo is chosen.

A note's onset is its written moment. What the page asks of a note besides changes how long it sounds
(staccato, let ring, a dead string) and, in a strummed or rolled chord, how much later than the beat its
string is reached; :mod:`fretwright.score.ornaments` tells the small touches that a note is made of.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from typing import Final

from fretwright.score.note import Attack, Note
from fretwright.score.score import Bar, Score
from fretwright.score.techniques import Roll, Stroke
from fretwright.score.unfold import PlayedBar, unfold

STACCATO_SHARE: Final = 0.5
"""How much of its written length a staccato note sounds (common practice, no source)."""
DEAD_LONGEST_S: Final = 0.12
"""After this the knock of a touched string is over."""
_STRUM_SHARE_OF_QUARTER: Final = 0.016
_STRUM_LIMITS_S: Final = (0.003, 0.012)
_STRUM_SHARE_OF_NOTE: Final = 1 / 3
_STRUM_FACTOR: Final = {"accent": 0.75, "ghost": 1.25}
"""A strum passes from string to string in this share of a quarter note, within the limits and within this
share of the chord's own length; a hard stroke is quicker, a soft one slower: 15 to 60 ms over six strings at
usual tempos (common practice, no source)."""


_ROLL_SHARE_OF_QUARTER: Final = 0.07
_ROLL_LIMITS_S: Final = (0.025, 0.07)
_ROLL_SHARE_OF_NOTE: Final = 0.5
"""A roll passes from note to note in this share of a quarter note, within the limits, and is over within this
share of the chord's own length: slow enough to hear each note, 120 to 350 ms over six strings (common
practice, no source)."""


@dataclass(frozen=True, slots=True)
class TimedNote:
    """One sounding of a note; a repeated note sounds more than once under the same id."""

    note: Note
    onset_s: float
    """Its written moment, from the start of the score, count-in not included."""
    duration_s: float
    """From the onset to where it is damped: of a staccato or dead note less than is written, of one that is
    let ring as long as its string is free and the ringing passage lasts."""
    time_through: int
    """1 the first time its bar is played, 2 the second."""
    written_s: float
    """Its written length."""
    late_s: float = 0.0
    """How long after the onset its string is reached. The first string of a strum or a roll sounds on the
    onset: no sound ever comes before the beat that it belongs to, so that a loop and a bar begin where they
    are written."""

    @property
    def sounds_s(self) -> float:
        """When it starts to sound."""
        return self.onset_s + self.late_s

    @property
    def ends_s(self) -> float:
        """When it is damped."""
        return self.onset_s + self.duration_s


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
        first = len(notes)
        for note in by_bar[bar.start]:
            onset_s, end_s = (
                tempo.seconds_between(bar.start, _played(score, time)) for time in (note.onset, note.end)
            )
            length_s = end_s - onset_s
            notes.append(TimedNote(note, now_s + onset_s, length_s, played.time_through, length_s))
        quarter_s = tempo.seconds_between(bar.start, bar.start + Fraction(1, 4))
        notes[first:] = _strummed(notes[first:], quarter_s)
        beats.extend(
            TimedBeat(now_s + tempo.seconds_between(bar.start, time), bar.number, beat)
            for time, beat in _beats_of(bar)
        )
        now_s += tempo.seconds_between(bar.start, bar.end)
    return Timeline(tempo.bpm, _sounding(notes), tuple(beats), tuple(starts), now_s)


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


# ---------------------------------------------------------------------------------------------------------
# Strums and rolls


def _strummed(notes: Sequence[TimedNote], quarter_s: float) -> list[TimedNote]:
    """The notes of a bar, those of each strummed or rolled chord one after the other."""
    spread: list[TimedNote] = []
    for _, together in groupby(notes, key=lambda timed: timed.note.onset):
        chord = list(together)
        for stroke in Stroke:
            struck = [timed for timed in chord if _is_struck(timed.note, stroke)]
            lateness = _lateness(struck, stroke, quarter_s) if len(struck) > 1 else {}
            chord = [replace(timed, late_s=lateness.get(timed.note.id, timed.late_s)) for timed in chord]
        for roll in Roll:
            rolled = [timed for timed in chord if timed.note.techniques.roll is roll]
            lateness = _rolled(rolled, roll, quarter_s) if len(rolled) > 1 else {}
            chord = [replace(timed, late_s=lateness.get(timed.note.id, timed.late_s)) for timed in chord]
        spread.extend(chord)
    return spread


def _is_struck(note: Note, stroke: Stroke) -> bool:
    # A roll takes its own time, whatever stroke begins it.
    return note.stroke is stroke and note.attack is Attack.PLUCK and note.techniques.roll is None


def _rolled(rolled: Sequence[TimedNote], roll: Roll, quarter_s: float) -> dict[str, float]:
    """How much later than the first each note of a roll starts, by note id; every step is as long."""
    shortest_s, longest_s = _ROLL_LIMITS_S
    step_s = min(longest_s, max(shortest_s, _ROLL_SHARE_OF_QUARTER * quarter_s))
    room_s = _ROLL_SHARE_OF_NOTE * min(timed.written_s for timed in rolled)
    step_s = min(step_s, room_s / (len(rolled) - 1))
    order = sorted(rolled, key=lambda timed: timed.note.string, reverse=roll is Roll.UP)
    return {timed.note.id: nth * step_s for nth, timed in enumerate(order)}


def _lateness(struck: Sequence[TimedNote], stroke: Stroke, quarter_s: float) -> dict[str, float]:
    """How much later than the first each string of a stroke is reached, by note id."""
    strings = [timed.note.string for timed in struck]
    first = max(strings) if stroke is Stroke.DOWN else min(strings)
    shortest_s, longest_s = _STRUM_LIMITS_S
    step_s = min(longest_s, max(shortest_s, _STRUM_SHARE_OF_QUARTER * quarter_s))
    for asked, factor in _STRUM_FACTOR.items():
        if all(getattr(timed.note.techniques, asked) for timed in struck):
            step_s *= factor
    room_s = _STRUM_SHARE_OF_NOTE * min(timed.written_s for timed in struck)
    step_s = min(step_s, room_s / (max(strings) - min(strings)))
    return {timed.note.id: step_s * abs(timed.note.string - first) for timed in struck}


# ---------------------------------------------------------------------------------------------------------
# How long notes sound


def _sounding(notes: Sequence[TimedNote]) -> tuple[TimedNote, ...]:
    """The notes with the lengths that they sound."""
    ringing = _ringing_ends(notes)
    return tuple(_of_length(timed, ringing.get(index)) for index, timed in enumerate(notes))


def _of_length(timed: TimedNote, rings_until_s: float | None) -> TimedNote:
    techniques = timed.note.techniques
    if techniques.dead:
        return replace(timed, duration_s=timed.late_s + min(timed.written_s / 2, DEAD_LONGEST_S))
    if techniques.staccato:
        return replace(timed, duration_s=timed.late_s + STACCATO_SHARE * (timed.written_s - timed.late_s))
    if rings_until_s is not None:
        return replace(timed, duration_s=rings_until_s - timed.onset_s)
    return timed


def _ringing_ends(notes: Sequence[TimedNote]) -> dict[int, float]:
    """When each note that is let ring stops, by its index.

    A ringing passage is a run of such notes in one voice; it ends where the last of them is written to end.
    """
    ends: dict[int, float] = {}
    for voice in {timed.note.voice for timed in notes}:
        own = [(index, timed) for index, timed in enumerate(notes) if timed.note.voice == voice]
        for lets_ring, run in groupby(own, key=lambda each: each[1].note.techniques.let_ring):
            if lets_ring:
                passage = list(run)
                passage_s = max(timed.onset_s + timed.written_s for _, timed in passage)
                ends.update({index: passage_s for index, _ in passage})
    needed_s: dict[int, float] = {}
    for index in range(len(notes) - 1, -1, -1):
        timed = notes[index]
        if index in ends:
            ends[index] = min(ends[index], needed_s.get(timed.note.string, ends[index]))
        needed_s[timed.note.string] = timed.onset_s
    return ends
