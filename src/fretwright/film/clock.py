"""When everything of a film happens, in seconds from its first picture.

The clock of a film is that of the exercise's sound with count-in, moved by what stands before it. It can be
had from the score and the tempo alone, so that an overlay needs no sound; a test holds the two together.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.score.score import Score
from fretwright.score.timeline import Timeline, timeline
from fretwright.sound.render import TAIL_S, SoundedNote, lead_s

FLASH_GAP_S: Final = 1 / 3 + 0.005
"""Least time between two changes of the visual count: no more than three flashes in any second (WCAG 2.2,
success criterion 2.3.1), with a little room for the grid of pictures."""


@dataclass(frozen=True, slots=True)
class BarSpan:
    """One bar as it comes round."""

    index: int
    """Place in the score, from 0."""
    start_s: float
    end_s: float
    time_through: int
    """1 the first time it is played."""


@dataclass(frozen=True, slots=True)
class Beat:
    """One beat that is counted."""

    time_s: float
    number: int
    """1 on the first beat of a full bar."""
    of: int
    """Beats in a full bar."""


@dataclass(frozen=True, slots=True)
class Clock:
    """What happens when."""

    bpm: float
    notes: tuple[SoundedNote, ...]
    """In order of onset and then from the lowest string up."""
    bars: tuple[BarSpan, ...]
    beats: tuple[Beat, ...]
    """Count-in and music."""
    sound_starts_s: float
    """Where sample 0 of the sound stands."""
    music_starts_s: float
    music_ends_s: float
    ends_s: float
    """When the last sound has died away."""

    def later(self, by_s: float) -> "Clock":
        """The same, with ``by_s`` seconds before it."""
        return Clock(
            self.bpm,
            tuple(replace(note, onset_s=note.onset_s + by_s) for note in self.notes),
            tuple(replace(bar, start_s=bar.start_s + by_s, end_s=bar.end_s + by_s) for bar in self.bars),
            tuple(replace(beat, time_s=beat.time_s + by_s) for beat in self.beats),
            self.sound_starts_s + by_s,
            self.music_starts_s + by_s,
            self.music_ends_s + by_s,
            self.ends_s + by_s,
        )


def clock_of(score: Score, bpm: float | None = None, *, count_in: bool = True) -> Clock:
    """The clock of a score at a tempo, by default its own: that of its sound with the same count-in.

    Raises :class:`~fretwright.base.errors.ScoreError` for a tempo out of range.
    """
    played = timeline(score, bpm)
    counted = _count_in(score, played.bpm) if count_in else ()
    lead = round(lead_s(score, played) * SAMPLE_RATE_HZ)
    starts = lead + (round(_count_in_s(score, played.bpm) * SAMPLE_RATE_HZ) if count_in else 0)

    def sample(time_s: float) -> int:
        return starts + round(time_s * SAMPLE_RATE_HZ)

    def at(time_s: float) -> float:
        return sample(time_s) / SAMPLE_RATE_HZ

    notes = tuple(
        SoundedNote(
            timed.note.id,
            at(timed.sounds_s),
            (sample(timed.ends_s) - sample(timed.sounds_s)) / SAMPLE_RATE_HZ,
            timed.time_through - 1,
        )
        for timed in played.notes
    )
    before = tuple(replace(beat, time_s=lead / SAMPLE_RATE_HZ + beat.time_s) for beat in counted)
    beats = tuple(replace(beat, time_s=at(beat.time_s)) for beat in beats_of(played))
    bars = tuple(replace(bar, start_s=at(bar.start_s), end_s=at(bar.end_s)) for bar in bars_of(score, played))
    ends_s = (starts + round((played.length_s + TAIL_S) * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return Clock(played.bpm, notes, bars, before + beats, 0.0, at(0.0), at(played.length_s), ends_s)


def bars_of(score: Score, played: Timeline) -> Iterator[BarSpan]:
    """The bars of a score as they come round, in seconds from its start."""
    places = {bar.start: index for index, bar in enumerate(score.bars)}
    ends = [start_s for start_s, _ in played.bars[1:]] + [played.length_s]
    for (start_s, each), end_s in zip(played.bars, ends, strict=True):
        yield BarSpan(places[each.bar.start], start_s, end_s, each.time_through)


def beats_of(played: Timeline) -> Iterator[Beat]:
    """The beats of a score as they come round, in seconds from its start."""
    beats = iter(played.beats)
    beat = next(beats, None)
    ends = [start_s for start_s, _ in played.bars[1:]] + [played.length_s]
    for (_, each), end_s in zip(played.bars, ends, strict=True):
        while beat is not None and beat.time_s < end_s - 1e-9:
            yield Beat(beat.time_s, beat.beat, each.bar.meter.beats)
            beat = next(beats, None)


def _count_in_s(score: Score, bpm: float) -> float:
    """A full bar, and before a pickup the beats it leaves out of its own bar."""
    bar, whole_s = score.bars[0], score.tempo.at_start(bpm).marks[0].seconds_per_whole
    total_s = bar.meter.beats * float(bar.meter.beat) * whole_s
    return total_s + (float(bar.meter.length - bar.length) * whole_s if score.pickup else 0.0)


def _count_in(score: Score, bpm: float) -> tuple[Beat, ...]:
    meter = score.bars[0].meter
    beat_s = float(meter.beat) * score.tempo.at_start(bpm).marks[0].seconds_per_whole
    count = int(_count_in_s(score, bpm) / beat_s - 1e-9) + 1
    return tuple(Beat(number * beat_s, number % meter.beats + 1, meter.beats) for number in range(count))


def visible_beats(beats: tuple[Beat, ...]) -> tuple[Beat, ...]:
    """Those of the beats that the eye is shown: at most three changes in any second.

    Where every beat would be too quick, every second, third ... beat is shown, whichever divides the bar; a
    bar that is itself too short is skipped.
    """
    shown: list[Beat] = []
    lengths = [later.time_s - sooner.time_s for sooner, later in pairwise(beats)]
    for beat, length_s in zip(beats, [*lengths, lengths[-1] if lengths else 1.0], strict=True):
        due = (beat.number - 1) % _step(beat.of, length_s) == 0
        if due and (not shown or beat.time_s - shown[-1].time_s >= FLASH_GAP_S):
            shown.append(beat)
    return tuple(shown)


def _step(beats: int, beat_s: float) -> int:
    """How many beats go to one change of the count: a divisor of the bar."""
    slow = (step for step in range(1, beats) if beats % step == 0 and step * beat_s >= FLASH_GAP_S)
    return next(slow, beats)
