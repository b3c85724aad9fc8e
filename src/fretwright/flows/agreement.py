"""How far the ear agrees with the teacher, as far as the teacher has looked.

Counts of what the ear said and what the teacher meant enter; rates with their intervals leave. The intervals
are Wilson's [1]_ at 95 %: unlike the usual plus-or-minus they stay between 0 and 1 and are honest for few
notes and for rates near either end. They take notes for independent of each other; notes of one take are
less so, and the true intervals are somewhat wider.

.. [1] E. B. Wilson, Probable inference, the law of succession, and statistical inference, Journal of the
   American Statistical Association 22 (158), 1927.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from fretwright.base.errors import UsageError
from fretwright.ear.verdicts import Verdict

Z_95: Final = 1.959963984540054
"""The normal deviate that 2.5 % of a population exceed."""


@dataclass(frozen=True, slots=True)
class Rate:
    """A share of a number of cases."""

    hits: int
    cases: int

    def __post_init__(self) -> None:
        if not 0 <= self.hits <= self.cases:
            raise UsageError(f"{self.hits} of {self.cases} is no share.")

    @property
    def share(self) -> float | None:
        """From 0 to 1; ``None`` where there are no cases."""
        return self.hits / self.cases if self.cases else None

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson's score interval at 95 %; from 0 to 1 where there are no cases."""
        if not self.cases:
            return 0.0, 1.0
        n, p = self.cases, self.hits / self.cases
        middle = p + Z_95**2 / (2 * n)
        half = Z_95 * math.sqrt(p * (1 - p) / n + Z_95**2 / (4 * n * n))
        scale = 1 + Z_95**2 / n
        low = 0.0 if self.hits == 0 else (middle - half) / scale
        high = 1.0 if self.hits == self.cases else (middle + half) / scale
        return max(0.0, low), min(1.0, high)

    @property
    def words(self) -> str:
        """``45 of 50, 90 % (79 to 96 %)``."""
        if self.share is None:
            return "none yet"
        low, high = self.interval
        return f"{self.hits} of {self.cases}, {self.share:.0%} ({low:.0%} to {high:.0%})".replace("%", " %")


@dataclass(frozen=True, slots=True)
class Agreement:
    """The ear beside the teacher."""

    overall: Rate
    """Verdicts that the teacher let stand, of those looked at; what the ear left open is not counted."""
    by_verdict: Mapping[Verdict, Rate]
    """The same for each thing that the ear says."""
    unsure: Rate
    """How often the ear left open what it heard, of all notes looked at."""
    counts: Mapping[tuple[Verdict, Verdict], int]
    """What the ear said and the teacher meant -> how often."""


def agreement_of(counts: Mapping[tuple[str, str], int]) -> Agreement:
    """The rates that follow from counts of (said by the ear, meant by the teacher)."""
    table = {(Verdict(heard), Verdict(meant)): count for (heard, meant), count in counts.items() if count}
    sides = {verdict: _rate(table, verdict) for verdict in (Verdict.PLAYED, Verdict.MISSED, Verdict.WRONG)}
    judged = Rate(sum(rate.hits for rate in sides.values()), sum(rate.cases for rate in sides.values()))
    open_ones = sum(count for (heard, _), count in table.items() if heard is Verdict.UNSURE)
    return Agreement(judged, sides, Rate(open_ones, sum(table.values())), table)


def _rate(table: Mapping[tuple[Verdict, Verdict], int], said: Verdict) -> Rate:
    cases = sum(count for (heard, _), count in table.items() if heard is said)
    return Rate(table.get((said, said), 0), cases)
