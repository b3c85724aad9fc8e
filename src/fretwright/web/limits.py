"""How often something may be asked: enough for a class behind one address, too little for guessing."""

from collections.abc import Mapping
from typing import Final

from limits import RateLimitItem, parse
from limits.storage import MemoryStorage
from limits.strategies import SlidingWindowCounterRateLimiter

from fretwright.base.errors import RefusedError

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


class Limits:
    """Counts in the memory of one process."""

    def __init__(self, rates: Mapping[str, str] = RATES) -> None:
        """Take the rates as ``number/span``."""
        self.rates: Final = dict(rates)
        """What is counted, and how often it may happen."""
        self._rates: Final[dict[str, RateLimitItem]] = {name: parse(rate) for name, rate in rates.items()}
        self._limiter: Final = SlidingWindowCounterRateLimiter(MemoryStorage())

    def count(self, what: str, whose: str) -> None:
        """Count one request.

        Raises :class:`~fretwright.base.errors.RefusedError` (429) where it is one too many.
        """
        if not self._limiter.hit(self._rates[what], what, whose):
            raise RefusedError(429, "too-often", "That was asked too often.", "Wait a little and try again.")
