"""Takes that must be refused, or told wrong through and through, where chords are asked for."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Final

import numpy as np
from evaluation.ear.chords.takes import Take as KnownTake
from evaluation.ear.chords.takes import take
from evaluation.ear.guitars import REPORTED_ON
from evaluation.ear.refusing import babble
from evaluation.ear.scoring import ready
from evaluation.ear.takes import Take as KnownLine
from evaluation.ear.takes import take as line_take
from evaluation.reporting import Row, yes

from fretwright.ear.arrays import Samples
from fretwright.ear.listen import listen
from fretwright.ear.take import RATE_HZ, Refusal, Take, examined
from fretwright.ear.verdicts import Verdict
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import timeline

_SEED: Final = 37
_TOLD_WRONG: Final = 0.3
"""Share of notes called wrong or missed from which nobody takes the playing for this exercise."""
_LENGTH_S: Final = 15.0


def refusals(count: int) -> list[Row]:
    """Rows of the table of bars: refused, and of the rest how many were told wrong."""
    return [row(title, [told(title, index) for index in range(count)]) for title in KINDS]


def row(title: str, answers: Sequence[tuple[bool, bool]]) -> Row:
    """One kind of take, from its answers."""
    refused, wrong = (sum(answer[part] for answer in answers) for part in (0, 1))
    reached = yes(reached=refused + wrong == len(answers))
    found = f"{refused} refused, {wrong} told wrong of {len(answers)}"
    return f"{title} refused or told wrong", "all", found, reached


def told(title: str, index: int) -> tuple[bool, bool]:
    """Whether a take of one of the kinds was refused, and whether it was told wrong instead."""
    rng = np.random.default_rng([_SEED, len(title), index])
    known = take("plain", REPORTED_ON[index % len(REPORTED_ON)], rng, faulty=False, name="")
    return _told(known, KINDS[title](known, rng))


def _told(known: KnownTake, samples: Samples) -> tuple[bool, bool]:
    """Whether it was refused, and whether it was told wrong instead."""
    checked = examined(Take(samples))
    if isinstance(checked, Refusal):
        return True, False
    ladder = Ladder(known.performance.bpm, known.performance.bpm)
    heard = listen(checked, timeline(known.performance.score), ladder)
    if isinstance(heard, Refusal):
        return True, False
    bad = sum(note.verdict in {Verdict.MISSED, Verdict.WRONG} for note in heard.notes)
    return False, bad >= _TOLD_WRONG * len(heard.notes)


def _another(known: KnownTake, rng: np.random.Generator) -> Samples:
    """Some other exercise of the same kind, well played on the same guitar."""
    other = take("plain", known.guitar, rng, faulty=False, name="")
    while other.kind != known.kind:
        other = take("plain", known.guitar, rng, faulty=False, name="")
    return _samples(ready(other.recorded))


def _line(known: KnownTake, rng: np.random.Generator) -> KnownLine:
    return line_take("plain", known.guitar, "jump", rng, faulty=False, name="")


def _samples(taken: Take | Refusal) -> Samples:
    assert isinstance(taken, Take)  # noqa: S101 - it goes through no file
    return taken.samples


def _noise(rng: np.random.Generator, level: float) -> Samples:
    return (rng.normal(size=round(_LENGTH_S * RATE_HZ)) * level).astype(np.float32)


KINDS: Final[Mapping[str, Callable[[KnownTake, np.random.Generator], Samples]]] = MappingProxyType(
    {
        "another sequence of chords": _another,
        "a single line": lambda known, rng: _samples(ready(_line(known, rng).recorded)),
        "speech-like babble": lambda known, rng: babble(_line(known, rng), rng),
        "noise": lambda _, rng: _noise(rng, 0.05),
        "silence": lambda _, rng: _noise(rng, 1e-5),
    }
)
