"""What the ear knew when it judged a take, kept for whoever wants to see why."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.candidates import HOP, Candidates
from fretwright.ear.chords import has_chords, hear_events
from fretwright.ear.chosen import Played, last_complete, played_through
from fretwright.ear.listen import hear_notes, listen
from fretwright.ear.take import RATE_HZ, Refusal, Take
from fretwright.ear.track_search import events_of
from fretwright.ear.verdicts import Hearing
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import Timeline

STEP_S: Final = HOP / RATE_HZ
"""Between the values of every course."""
_QUIETEST_DB: Final = -60.0


@dataclass(frozen=True, slots=True)
class Explanation:
    """The answer, and all that led to it."""

    answer: Hearing | Refusal
    candidates: Candidates
    odds: Samples
    """Of every pitch at every candidate, shape (moments, PITCHES): of a single line that it starts alone, of
    an exercise with chords that it starts, whatever else does."""
    shift: int
    """Semitones by which the whole take lies above what is written."""
    steps: tuple[tuple[int, ...], ...]
    """Which of the written notes start together at each step of the alignment."""
    times: tuple[Played, ...]
    """All times through, in order; what they call notes are steps."""
    chosen: Played | None
    """The one that is described."""
    levels_db: Floats
    """Level against the loudest moment, one value for each step of time, shape (n,)."""


def explain(take: Take, played: Timeline, ladder: Ladder) -> Explanation:
    """Listen as :func:`~fretwright.ear.listen.listen` does, and keep what it found on the way.

    Raises :class:`~fretwright.base.errors.UsageError` as that does.
    """
    answer = listen(take, played, ladder)
    events = events_of(played)
    if has_chords(played.notes):
        chords = hear_events(take, events)
        candidates, odds, alignment, steps = chords.candidates, chords.among, chords.alignment, events.members
    else:
        line = hear_notes(take, played.notes)
        candidates, odds, alignment = line.candidates, line.odds, line.alignment
        steps = tuple((index,) for index in range(len(played.notes)))
    times = played_through(alignment.passes, len(steps))
    return Explanation(
        answer, candidates, odds, alignment.shift, steps, times, last_complete(times), _levels(take.samples)
    )


def _levels(samples: Samples) -> Floats:
    count = len(samples) // HOP
    power = np.square(samples[: count * HOP].astype(np.float64)).reshape(count, HOP).mean(axis=1)
    levels: Floats = 10 * np.log10(power / max(float(power.max(initial=0.0)), 1e-12) + 1e-12)
    return np.maximum(levels, _QUIETEST_DB)
