"""A student who plays chords, with every fault written down string by string."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from evaluation.ear.pacing import Pace

from fretwright.ear.track_search import Events, events_of
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.score import Score
from fretwright.score.techniques import Stroke
from fretwright.score.timeline import TimedNote, timeline

DEAD, SILENT, WRONG = "dead", "silent", "wrong"
FAULTS: Final = (DEAD, SILENT, WRONG)
_LOWEST, _HIGHEST = 40, 88
_LEAST_GAP_S: Final = 0.3


@dataclass(frozen=True, slots=True)
class String:
    """One string of one stroke as it was really played."""

    onset_s: float
    midi: int
    """What it sounds, or would sound were it not dead."""
    string: int
    level_db: float
    fault: str | None
    """``dead``, ``silent`` (not struck), ``wrong``, or none."""
    expected: int | None
    """Index of the note it stands for; none where the stroke is one too many."""
    rings_s: float
    """Until the hand leaves it or it is struck again."""


@dataclass(frozen=True, slots=True)
class Struck:
    """One stroke as it was really played."""

    event: int | None
    """Which written one it is; none for one too many."""
    strings: tuple[String, ...]
    """In the order in which they are reached."""

    @property
    def onset_s(self) -> float:
        """When its first string sounds, or knocks."""
        return min(one.onset_s for one in self.strings if one.fault != SILENT)

    @property
    def spread_s(self) -> float:
        """From the first string to the last."""
        times = [one.onset_s for one in self.strings if one.fault != SILENT]
        return max(times) - min(times)


@dataclass(frozen=True, slots=True)
class Manner(Pace):
    """How a student plays."""

    faults: float = 0.0
    """Chance that one string of one chord is not held as it should be, for most of its strokes."""
    missed: float = 0.0
    """Chance that a stroke is left out."""
    extra: float = 0.0
    """Chance that one too many follows."""
    gap_s: float = 0.008
    """From string to string of a strum."""
    level_spread_db: float = 2.0
    restart: str = "none"
    """``none``, ``start`` (breaks off and begins anew) or ``twice``."""


@dataclass(frozen=True, slots=True)
class Performance:
    """What was played and what should have been."""

    score: Score
    expected: tuple[TimedNote, ...]
    events: Events
    bpm: float
    manner: Manner
    strokes: tuple[Struck, ...]
    """In order of time, all passes."""
    last_begins: int
    """The stroke with which the last pass begins."""

    @property
    def last_pass(self) -> tuple[Struck, ...]:
        """The strokes that count."""
        return self.strokes[self.last_begins :]


def perform(score: Score, manner: Manner, rng: np.random.Generator) -> Performance:
    """Play a score once, or as often as its manner says."""
    played = timeline(score)
    events = events_of(played)
    count = len(events.times_s)
    broken = range(int(rng.integers(count // 4, 3 * count // 4)))
    passes = {"start": [broken, range(count)], "twice": [range(count)] * 2}.get(
        manner.restart, [range(count)]
    )
    held = _held(played.notes, events, score.neck, manner, rng)
    strokes: list[Struck] = []
    begins_s, last_begins = 0.4, 0
    for some in passes:
        last_begins = len(strokes)
        strokes += _once(played.notes, events, some, manner, held, rng, begins_s)
        begins_s = strokes[-1].onset_s + float(rng.uniform(1.2, 2.5))
    return Performance(score, played.notes, events, played.bpm, manner, _ringing(strokes), last_begins)


def _held(
    notes: Sequence[TimedNote], events: Events, neck: Neck, manner: Manner, rng: np.random.Generator
) -> dict[int, tuple[str, int]]:
    """What goes wrong with which note: a finger that lies badly does so for most strokes of its chord."""
    out: dict[int, tuple[str, int]] = {}
    run: list[int] = []
    for event, pitches in enumerate(events.pitches):
        run.append(event)
        if event + 1 < len(events.pitches) and events.pitches[event + 1] == pitches:
            continue
        for place, index in enumerate(events.members[event]):
            if rng.random() >= manner.faults:
                continue
            fault = FAULTS[int(rng.choice(3, p=[0.45, 0.2, 0.35]))]
            midi = _instead(notes[index], neck, rng)
            for one in run:
                if rng.random() < 0.8:
                    out[events.members[one][place]] = (fault, midi)
        run = []
    return out


def _instead(timed: TimedNote, neck: Neck, rng: np.random.Generator) -> int:
    """A neighbouring fret, or the open string."""
    string_open, fret = neck.pitch_at(Place(timed.note.string, 0)).midi, timed.note.fret
    choices = [fret + step for step in (-2, -1, 1, 2) if fret + step >= 0] + ([0] if fret else [])
    return int(np.clip(string_open + choices[int(rng.integers(len(choices)))], _LOWEST, _HIGHEST))


def _once(
    notes: Sequence[TimedNote],
    events: Events,
    some: range,
    manner: Manner,
    held: dict[int, tuple[str, int]],
    rng: np.random.Generator,
    begins_s: float,
) -> list[Struck]:
    written_s = events.times_s[some.start : some.stop]
    phase = float(rng.uniform(0, 2 * np.pi))
    # here the tempo drifts over what is played, be it broken off
    times = manner.times(written_s, rng, begins_s, phase, (float(written_s[0]), float(written_s[-1])))
    out = []
    for place, event in enumerate(some):
        if rng.random() < manner.missed and 0 < place < len(some) - 1:
            continue
        struck = _stroke(notes, events.members[event], event, times[place], manner, held, rng)
        if all(one.fault == SILENT for one in struck.strings):
            continue
        out.append(struck)
        gap_s = times[place + 1] - times[place] if place + 1 < len(some) else 0.0
        if rng.random() < manner.extra and gap_s > _LEAST_GAP_S:
            at_s = times[place] + gap_s * float(rng.uniform(0.42, 0.58))
            out.append(_stroke(notes, events.members[event], None, at_s, manner, {}, rng))
    return out


def _stroke(
    notes: Sequence[TimedNote],
    members: Sequence[int],
    event: int | None,
    at_s: float,
    manner: Manner,
    held: dict[int, tuple[str, int]],
    rng: np.random.Generator,
) -> Struck:
    up = notes[members[0]].note.stroke is Stroke.UP
    plucked_together = notes[members[0]].note.stroke is None
    gap_s = manner.gap_s * float(rng.uniform(0.7, 1.3)) * (0.25 if plucked_together else 1.0)
    whole_db = float(rng.normal(0, 0.7 * manner.level_spread_db))
    strings = []
    for place, index in enumerate(members[::-1] if up else members):
        fault, midi = held.get(index, (None, 0))
        strings.append(
            String(
                at_s + place * gap_s,
                midi if fault == WRONG else notes[index].note.midi,
                notes[index].note.string,
                whole_db + float(rng.normal(0, manner.level_spread_db)),
                fault,
                index if event is not None else None,
                0.0,
            )
        )
    return Struck(event, tuple(strings))


def _ringing(strokes: Sequence[Struck]) -> tuple[Struck, ...]:
    """Every string rings until it is struck again, or the hand leaves it for another chord."""
    out: list[Struck] = []
    for place, one in enumerate(strokes):
        pitches = {each.midi for each in one.strings}
        ends_s = one.onset_s + 2.0
        for later in strokes[place + 1 :]:
            if len(one.strings) > 1 and len(later.strings) > 1 and {e.midi for e in later.strings} != pitches:
                ends_s = later.onset_s - 0.02
                break
        strings = []
        for each in one.strings:
            again = [
                e.onset_s
                for later in strokes[place + 1 :]
                for e in later.strings
                if e.string == each.string and e.fault != SILENT
            ]
            until_s = min([ends_s, *again[:1]])
            strings.append(replace(each, rings_s=max(0.05, until_s - each.onset_s)))
        out.append(replace(one, strings=tuple(strings)))
    return tuple(out)
