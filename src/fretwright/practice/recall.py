"""When something known is due again.

The schedule is that of fsrs, an open memory model fitted to flashcards of words and facts. No such model of
hands was found, so its day is a sensible day to look again and no claim about forgetting. Every day on which
an exercise was played is one review: clean at once, clean after a slip, or not clean. What comes later on the
same day adds nothing: lags of up to fifteen minutes had no effect (Wiseheart et al. 2017), those of a day had
(Simmons, Journal of Research in Music Education 59, 2012).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, tzinfo
from itertools import groupby
from typing import Final

from fsrs import Card, Rating, Scheduler, State

from fretwright.practice.days import practice_day
from fretwright.practice.history import TakeSummary, in_order

LONGEST_DAYS: Final = 28
"""Nothing known waits longer: the model would let a word rest for a year (common practice, no source)."""
_SCHEDULER: Final = Scheduler(
    desired_retention=0.9,
    learning_steps=(),
    relearning_steps=(),
    enable_fuzzing=False,
    maximum_interval=LONGEST_DAYS,
)
"""Without steps of minutes and without chance: whole days, the same for the same history."""


@dataclass(frozen=True, slots=True)
class Memory:
    """How far something known is from being due."""

    due: date
    """The day on which to look again."""
    last: date
    """The day on which it was last played."""
    recall: float
    """The model's odds that it would come clean today, from 0 to 1."""


def memory_of(takes: Iterable[TakeSummary], zone: tzinfo, today: date) -> Memory | None:
    """What the model says of one exercise on a day; ``None`` where it was never played."""
    card = Card(card_id=1, state=State.Learning, step=0)
    last: date | None = None
    for day, some in groupby(in_order(takes), key=lambda take: practice_day(take.at, zone)):
        last = day if last is None else max(last, day)
        card, _ = _SCHEDULER.review_card(card, _rating(tuple(some)), _noon(last))
    if last is None:
        return None
    recall = _SCHEDULER.get_card_retrievability(card, max(_noon(today), _noon(last)))
    return Memory(card.due.date(), last, float(recall))


def _rating(takes: tuple[TakeSummary, ...]) -> Rating:
    """One day's takes as one answer."""
    if takes[0].clean:
        return Rating.Good
    return Rating.Hard if any(take.clean for take in takes) else Rating.Again


def _noon(day: date) -> datetime:
    """A day as a moment, so that two days are whole days apart whatever the clocks did."""
    return datetime.combine(day, time(12), UTC)
