"""Judging the takes that wait: claim -> hear -> settle.

The queue is a port: whoever implements it keeps the truth about every take. The bench is a port as well:
where the hearing happens, and whether that place can be lost. A take whose bench is lost goes back into
the queue; a take whose claim was lost meanwhile is not settled a second time, which is the queue's matter.
"""

import contextlib
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Protocol, TypeVar

import numpy as np

from fretwright.base.errors import FretwrightError, JudgeLostError
from fretwright.ear.listen import listen
from fretwright.ear.take import DECODER_DIED, RATE_HZ, Refusal, Take, read_take
from fretwright.ear.verdicts import Hearing
from fretwright.score.score import Score
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import timeline

_WARM_S: Final = 8


@dataclass(frozen=True, slots=True)
class JudgeOrder:
    """All that is needed to judge one take, on this machine or on another."""

    score: Score
    """With the fingers and strokes that were found."""
    ladder: Ladder
    bpm: float
    """At which it was asked for."""
    recording: Path | bytes
    """Where it lies, or itself."""


class Claimed(Protocol):
    """A take in hand."""

    @property
    def order(self) -> JudgeOrder | Refusal:
        """What to do; a refusal where it is known beforehand that it cannot be judged."""


InHand = TypeVar("InHand", bound=Claimed)


class TakeQueue(Protocol[InHand]):
    """The takes that wait."""

    def claim(self) -> InHand | None:
        """Take the next one in hand; ``None`` if none waits."""

    def settle(self, claimed: InHand, heard: Hearing | Refusal) -> bool:
        """Store what came of it; ``False``, and nothing stored, if the claim was lost."""

    def give_back(self, claimed: InHand) -> None:
        """Leave it to another."""


class Bench(Protocol):
    """A place where takes are heard."""

    def hear(self, order: JudgeOrder) -> Hearing | Refusal:
        """Do what is ordered there.

        Raises :class:`~fretwright.base.errors.JudgeLostError` if the place was lost meanwhile.
        """


def judge_next(queue: TakeQueue[InHand], bench: Bench) -> bool:
    """Judge the next take that waits. Says whether there was one."""
    claimed = queue.claim()
    if claimed is None:
        return False
    order = claimed.order
    try:
        heard = order if isinstance(order, Refusal) else bench.hear(order)
    except JudgeLostError:
        queue.give_back(claimed)
    else:
        queue.settle(claimed, heard)
    return True


def hear_order(order: JudgeOrder) -> Hearing | Refusal:
    """Hear one take; what cannot be judged is refused with the reason.

    Raises :class:`~fretwright.base.errors.JudgeLostError` if the process that decodes is ended meanwhile.
    """
    if isinstance(order.recording, bytes):
        with tempfile.TemporaryDirectory(prefix="fretwright-") as folder:
            path = Path(folder) / "take"
            path.write_bytes(order.recording)
            return _heard(order, path)
    return _heard(order, order.recording)


def _heard(order: JudgeOrder, path: Path) -> Hearing | Refusal:
    take = read_take(path)
    if take is DECODER_DIED:
        # whether it was killed or brought down: tried again later, and given up in the end
        raise JudgeLostError("The process that decodes was ended.")
    if isinstance(take, Refusal):
        return take
    try:
        return listen(take, timeline(order.score, order.bpm), order.ladder)
    except FretwrightError as error:
        return Refusal(error.message, error.mend)


def warm_up(order: JudgeOrder) -> None:
    """Load and compile all that hearing needs, before the first student waits for it: hear some noise."""
    noise = np.random.default_rng(1).standard_normal(_WARM_S * RATE_HZ).astype(np.float32)
    with contextlib.suppress(FretwrightError):
        listen(Take(0.01 * noise), timeline(order.score, order.bpm), order.ladder)
