"""How often something may be asked: enough for a class behind one address, too little for guessing."""

import threading
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Final

from fretwright.base.errors import RefusedError
from fretwright.store import rates
from fretwright.store.database import Database
from fretwright.web.clock import Clock
from fretwright.web.keys import signature

RATES: Final[Mapping[str, str]] = {
    "address": "1200/minute",
    "person": "1200/minute",
    "sign-in-address": "30/minute",
    "sign-in-email": "5/hour",
    "token": "60/minute",
    "takes": "240/hour",
    "export": "6/hour",
}
"""What is counted, and how often it may happen. One address may be a whole school's."""

_SPANS: Final = {"minute": timedelta(minutes=1), "hour": timedelta(hours=1)}
_WIDE: Final = 1000
"""From here on hits are gathered before they are written down: no page should have to write."""
_STEPS: Final = 20
"""What is gathered is this part of the rate; so far may each server go beyond it."""
_MOST_GATHERED: Final = 20_000


@dataclass(frozen=True, slots=True)
class Rate:
    """So many times in a span of time."""

    most: int
    every: timedelta

    @classmethod
    def of(cls, text: str) -> "Rate":
        """Read ``number/span``, the span one of the program's own."""
        number, _, span = text.partition("/")
        return cls(int(number), _SPANS[span])

    @property
    def step(self) -> int:
        """How many hits are gathered before they are written down."""
        return self.most // _STEPS if self.most >= _WIDE else 1


@dataclass(slots=True)
class _Gathered:
    """Hits that the database does not know of yet."""

    hits: int = 0
    refused_until: float = 0.0
    """On the machine's own clock: until then the database need not be asked again."""


@dataclass(slots=True)
class Limits:
    """Counts in the database, so that all servers of a school count together.

    Narrow rates are written down hit by hit. Wide ones, which every page counts, are gathered and written
    down in steps: whoever asks at a usual pace never reaches the first.
    """

    database: Database
    key: bytes
    """The school's secret: what is stored is a signature and tells nothing of who asked."""
    now: Clock
    rates: Mapping[str, str] = field(default_factory=lambda: RATES)
    """What is counted, and how often it may happen."""
    _gathered: dict[str, _Gathered] = field(init=False, default_factory=dict)
    _lock: threading.Lock = field(init=False, default_factory=threading.Lock)

    def count(self, what: str, whose: str) -> None:
        """Count one request.

        Raises :class:`~fretwright.base.errors.RefusedError` (429) where it is one too many.
        """
        rate, key = Rate.of(self.rates[what]), signature(self.key, "rate", f"{what}\0{whose}")
        hits = self._due(key, rate)
        if hits is None:
            raise _too_often()
        if not hits:
            return
        with self.database.writing() as transaction:
            counted = rates.add_hits(transaction, key, hits, most=rate.most, every=rate.every, now=self.now())
        if not counted:
            self._refuse(key, hits, rate)
            raise _too_often()

    def _due(self, key: str, rate: Rate) -> int | None:
        """Hits to be written down now; ``None`` while it is known that there were too many."""
        with self._lock:
            if len(self._gathered) > _MOST_GATHERED:
                self._gathered.clear()
            gathered = self._gathered.setdefault(key, _Gathered())
            if time.monotonic() < gathered.refused_until:
                return None
            gathered.hits += 1
            if gathered.hits < rate.step:
                return 0
            hits, gathered.hits = gathered.hits, 0
            return hits

    def _refuse(self, key: str, hits: int, rate: Rate) -> None:
        """Remember that there were too many; the hits that were not written down are asked about again."""
        if rate.step == 1:
            return
        with self._lock:
            gathered = self._gathered.setdefault(key, _Gathered())
            gathered.hits = hits - 1
            gathered.refused_until = time.monotonic() + rate.every.total_seconds() / _STEPS


def _too_often() -> RefusedError:
    return RefusedError(429, "too-often", "That was asked too often.", "Wait a little and try again.")
