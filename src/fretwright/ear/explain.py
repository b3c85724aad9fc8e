"""What the ear knew when it judged a take, kept for whoever wants to see why."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.candidates import HOP
from fretwright.ear.chosen import Played, last_complete, played_through
from fretwright.ear.listen import Heard, hear_notes, listen
from fretwright.ear.take import RATE_HZ, Refusal, Take
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
    heard: Heard
    times: tuple[Played, ...]
    """All times through, in order."""
    chosen: Played | None
    """The one that is described."""
    levels_db: Floats
    """Level against the loudest moment, one value for each step, shape (n,)."""


def explain(take: Take, played: Timeline, ladder: Ladder) -> Explanation:
    """Listen as :func:`~fretwright.ear.listen.listen` does, and keep what it found on the way.

    Raises :class:`~fretwright.base.errors.UsageError` as that does.
    """
    answer = listen(take, played, ladder)
    heard = hear_notes(take, played.notes)
    times = played_through(heard.alignment.passes, len(played.notes))
    return Explanation(answer, heard, times, last_complete(times), _levels(take.samples))


def _levels(samples: Samples) -> Floats:
    count = len(samples) // HOP
    power = np.square(samples[: count * HOP].astype(np.float64)).reshape(count, HOP).mean(axis=1)
    levels: Floats = 10 * np.log10(power / max(float(power.max(initial=0.0)), 1e-12) + 1e-12)
    return np.maximum(levels, _QUIETEST_DB)
