"""A plucked string made of decaying partials, and takes made of it: small enough to be read and heard
through.

It is nobody's model of a guitar; the evaluation uses recorded ones.
"""

from collections.abc import Iterable
from typing import Final

import numpy as np

from fretwright.ear.arrays import Samples
from fretwright.ear.listen import listen
from fretwright.ear.take import RATE_HZ, Take
from fretwright.ear.verdicts import Hearing
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import Timeline

LADDER: Final = Ladder(60, 120)


def pluck(midi: float, length_s: float) -> Samples:
    """One note: partials that fall off and die away faster the higher they are, and a click of the pick."""
    time = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    hertz = 440.0 * 2 ** ((midi - 69) / 12)
    note = np.zeros(len(time))
    for partial in range(1, 16):
        if partial * hertz < RATE_HZ / 2.2:
            note += (
                np.sin(2 * np.pi * partial * hertz * time) * np.exp(-time * (1.2 + 0.6 * partial)) / partial
            )
    fade = min(200, len(note))
    note[-fade:] *= np.linspace(1, 0, fade)
    out: Samples = (0.25 * note).astype(np.float32)
    return out


def take_of(notes: Iterable[tuple[float, float]], seed: int = 5, tail_s: float = 1.0) -> Take:
    """Plucks at ``(onset_s, midi)``, each until the next, in a room that is not quite silent."""
    order = list(notes)
    rng = np.random.default_rng(seed)
    out = rng.normal(0, 1e-3, round((order[-1][0] + tail_s) * RATE_HZ)).astype(np.float32)
    for (onset_s, midi), until_s in zip(
        order, [*(at for at, _ in order[1:]), order[-1][0] + tail_s], strict=True
    ):
        start = round(onset_s * RATE_HZ)
        note = pluck(midi, until_s - onset_s)[: len(out) - start]
        out[start : start + len(note)] += note
    return Take(out)


def as_written(asked: Timeline, start_s: float = 0.5, stretch: float = 1.0) -> list[tuple[float, float]]:
    """Onset and MIDI number of every note, begun at a time and played so much slower."""
    return [(start_s + stretch * timed.onset_s, timed.note.midi) for timed in asked.notes]


def heard(take: Take, asked: Timeline) -> Hearing:
    """What the ear says of a take that it must not refuse."""
    found = listen(take, asked, LADDER)
    assert isinstance(found, Hearing)
    return found


def verdicts(found: Hearing) -> list[str]:
    """The verdict on each note in order."""
    return [note.verdict.value for note in found.notes]
