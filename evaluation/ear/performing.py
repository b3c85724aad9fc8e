"""A student who plays an exercise, with every fault written down."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from evaluation.ear.pacing import Pace

from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.timeline import TimedNote, timeline


@dataclass(frozen=True, slots=True)
class Struck:
    """One sounding as it was really played."""

    onset_s: float
    length_s: float
    midi: int
    string: int
    slurred: bool
    level_db: float
    cents: float
    """Off the pitch, the guitar's own mistuning not included."""
    expected: int | None
    """Index of the note it stands for; none for an extra."""
    glides_s: float = 0.0
    """Of a slide: how long the finger is on its way, before the onset, at which it arrives."""
    stretch: int = 0
    """Counts the times the student has started again."""


@dataclass(frozen=True, slots=True)
class Manner(Pace):
    """How a student plays. All chances are per note."""

    wrong: float = 0.0
    missed: float = 0.0
    extra: float = 0.0
    plucked_slur: float = 0.0
    level_spread_db: float = 2.5
    legato: float = 0.95
    ringing: bool = False
    """Strings are left to ring over the notes of others."""
    restart: str = "none"
    """``none``, ``start`` (breaks off, begins anew), ``bar`` (goes back a bar), ``twice`` (plays it
    again)."""


@dataclass(frozen=True, slots=True)
class Performance:
    """What was played and what should have been."""

    score: Score
    expected: tuple[TimedNote, ...]
    bpm: float
    manner: Manner
    struck: tuple[Struck, ...]
    """In order of time."""
    begins: tuple[int, ...]
    """The note at which each stretch begins."""

    @property
    def last_pass(self) -> tuple[Struck, ...]:
        """The soundings that count: what was played again replaces what it repeats, extras included."""
        kept, note = [], 0
        for one in self.struck:
            note = note if one.expected is None else one.expected
            if all(note < begins for begins in self.begins[one.stretch + 1 :]):
                kept.append(one)
        return tuple(kept)

    @property
    def missed(self) -> frozenset[int]:
        """Indices of the expected notes that do not sound in the last pass."""
        return frozenset(range(len(self.expected))) - {one.expected for one in self.last_pass}


_WRONG: Final = (-2, -1, 1, 2, -5, 5, 3, -3)
_LEAST_GAP_S: Final = 0.24
_GLIDE_S: Final = (0.04, 0.12)
_MOST_GLIDE: Final = 0.4
"""Of the time since the note before."""
_LOWEST, _HIGHEST = 40, 88


def perform(score: Score, manner: Manner, rng: np.random.Generator) -> Performance:
    """Play a score once, or as often as its manner says."""
    played = timeline(score)
    expected = played.notes
    order = _order(expected, manner, rng)
    struck: list[Struck] = []
    now_s, phase = 0.4, rng.uniform(0, 2 * np.pi)
    for stretch, indices in enumerate(order):
        struck += _stretch(expected, indices, manner, rng, now_s, phase, stretch)
        now_s = struck[-1].onset_s + struck[-1].length_s + rng.uniform(0.6, 1.8)
    struck.sort(key=lambda one: one.onset_s)
    return Performance(score, expected, played.bpm, manner, tuple(struck), tuple(one.start for one in order))


def _order(expected: Sequence[TimedNote], manner: Manner, rng: np.random.Generator) -> list[range]:
    count = len(expected)
    if manner.restart == "start":
        return [range(int(rng.integers(count // 4, 3 * count // 4))), range(count)]
    if manner.restart == "bar":
        broken = int(rng.integers(count // 3, 3 * count // 4))
        starts = [i for i in range(1, broken) if _in_bar(expected[i]) < _in_bar(expected[i - 1])]
        return [range(broken), range(starts[-1] if starts else 0, count)]
    if manner.restart == "twice":
        return [range(count), range(count)]
    return [range(count)]


def _in_bar(timed: TimedNote) -> float:
    return float(timed.note.onset % 1)


def _stretch(
    expected: Sequence[TimedNote],
    indices: range,
    manner: Manner,
    rng: np.random.Generator,
    begin_s: float,
    phase: float,
    stretch: int,
) -> list[Struck]:
    """Play some of the notes in a row."""
    written = np.array([timed.onset_s for timed in expected])
    within_s = (expected[0].onset_s, expected[-1].onset_s)
    times = manner.times(written[indices.start : indices.stop], rng, begin_s, phase, within_s)
    struck: list[Struck] = []
    sounding = False
    for place, index in enumerate(indices):
        timed = expected[index]
        onset_s = times[place]
        following_s = times[place + 1] if place + 1 < len(times) else onset_s + timed.duration_s
        written_s = timed.duration_s * (following_s - onset_s) / _until_next(expected, index)
        if rng.random() < manner.missed and 0 < place < len(times) - 1:
            if struck and rng.random() < 0.5:
                struck[-1] = replace(struck[-1], length_s=following_s - struck[-1].onset_s)
            sounding = False
            continue
        midi = timed.note.midi
        if rng.random() < manner.wrong:
            midi = _on_the_neck(midi + int(rng.choice(_WRONG)))
        slurred = timed.note.attack.is_slur and sounding and struck[-1].midi != midi
        if slurred and rng.random() < manner.plucked_slur:
            slurred = False
        length_s = min(written_s, following_s - onset_s) * min(1.0, manner.legato * rng.uniform(0.92, 1.08))
        glides_s = 0.0
        if slurred:
            since_s = onset_s - struck[-1].onset_s
            struck[-1] = replace(struck[-1], length_s=since_s)
            if timed.note.attack is Attack.SLIDE:
                glides_s = min(float(rng.uniform(*_GLIDE_S)), _MOST_GLIDE * since_s)
        level_db = rng.normal(0.0, manner.level_spread_db) - (rng.uniform(0, 6) if slurred else 0)
        cents = float(rng.normal(0, 3))
        string = timed.note.string
        struck.append(
            Struck(onset_s, length_s, midi, string, slurred, level_db, cents, index, glides_s, stretch)
        )
        sounding = written_s >= 0.9 * (following_s - onset_s)
        if rng.random() < manner.extra and following_s - onset_s > _LEAST_GAP_S:
            at_s = onset_s + (following_s - onset_s) * rng.uniform(0.38, 0.6)
            struck[-1] = replace(struck[-1], length_s=min(struck[-1].length_s, at_s - onset_s))
            extra_midi = _on_the_neck(midi + int(rng.choice([0, 1, -1, 2, -2, 5, -5, 3])))
            struck.append(
                Struck(
                    at_s,
                    following_s - at_s,
                    extra_midi,
                    string,
                    slurred=False,
                    level_db=float(rng.normal(-2, 2)),
                    cents=0.0,
                    expected=None,
                    stretch=stretch,
                )
            )
            sounding = False
    return _unambiguous(struck, expected)


def _unambiguous(struck: Sequence[Struck], expected: Sequence[TimedNote]) -> list[Struck]:
    """The soundings without the extras that are the very note left out, or played wrong, beside them.

    "Another note, then the right one" and "one too many, then the right one late" are then the same sounds.
    """
    played = {one.expected: one.midi for one in struck if one.expected is not None}
    kept, latest = [], 0
    for one in struck:
        if one.expected is not None:
            latest = one.expected
        wanting = {
            expected[near].note.midi
            for near in (latest, latest + 1)
            if near < len(expected) and played.get(near) != expected[near].note.midi
        }
        if one.expected is not None or one.midi not in wanting:
            kept.append(one)
    return kept


def _on_the_neck(midi: int) -> int:
    return midi if _LOWEST <= midi <= _HIGHEST else midi + (1 if midi < _LOWEST else -1) * 5


def _until_next(expected: Sequence[TimedNote], index: int) -> float:
    if index + 1 < len(expected):
        return max(1e-3, expected[index + 1].onset_s - expected[index].onset_s)
    return expected[index].duration_s
