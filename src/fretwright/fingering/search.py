"""The search: the cheapest row of grips through a whole score.

Dynamic programming over grips (a position and the fingers that are down): what a step costs depends on
nothing but the grips before and after it, so that the cheapest way to each grip is kept and no other can
become the best. The result is the exact minimum of the cost in :mod:`fretwright.fingering.cost`. Among
equally cheap rows the one with the likelier grip wins, latest event first, so that the result never
depends on chance.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from operator import add

from fretwright.fingering.events import Event, Moment
from fretwright.fingering.grips import Choices, Grip, choices_for
from fretwright.fingering.ruler import NO_WAY, Ruler
from fretwright.fingering.tables import Columns, Tables


@dataclass(frozen=True, slots=True)
class Path:
    """The cheapest row of grips."""

    choices: tuple[Choices, ...]
    """For each event the set of grips that the one taken belongs to."""
    grips: tuple[Grip, ...]
    cost_um: int


def starting(position: int) -> Choices:
    """The hand before the first event; position 0 is nowhere in particular."""
    return Choices(Event(()), (Grip(position),))


def all_choices(ruler: Ruler, moments: Sequence[Moment], position: int) -> tuple[Choices, ...]:
    """The grips of every event, those of equal events shared."""
    known: dict[tuple[Event, tuple[int, ...]], Choices] = {}
    positions = [position]
    found = []
    for moment in moments:
        event = moment.event
        stands = () if event.needs_fingers else tuple(positions)
        choices = known.get((event, stands))
        if choices is None:
            choices = known[event, stands] = choices_for(ruler, event, positions)
        found.append(choices)
        positions = sorted({grip.position for grip in choices.grips})
    return tuple(found)


def cheapest(
    ruler: Ruler,
    row: Sequence[Sequence[Choices]],
    position: int,
    may_follow: Callable[[Choices, Choices], bool] | None = None,
    *,
    tables: Tables | None = None,
) -> Path:
    """The exact minimum over all rows of grips.

    ``row`` holds for each event one set of choices, or several where its notes can lie on several places.
    ``may_follow`` says whether a set can come after another; by default each can. ``tables`` are those of an
    earlier search for the same ruler, which then need not be worked out again.
    """
    tables = tables or Tables(ruler)
    before: Sequence[Choices] = (starting(position),)
    reached = [_Reached([0], [])]
    trail: list[list[_Reached]] = []
    for alternatives in row:
        now = []
        for choices in alternatives:
            ways = [
                (number, last.costs, tables.columns(left, choices))
                for number, (left, last) in enumerate(zip(before, reached, strict=True))
                if may_follow is None or may_follow(left, choices)
            ]
            now.append(_reach(ways, len(choices.grips), choices.bias_um))
        trail.append(now)
        before, reached = alternatives, now
    return _traced_back(row, trail)


@dataclass(frozen=True, slots=True)
class _Reached:
    """The cheapest way to each grip of one set of choices."""

    costs: list[int]
    came_from: list[tuple[int, int]]
    """Set and grip of the event before."""


def _reach(ways: Sequence[tuple[int, list[int], Columns]], grips: int, bias_um: int) -> _Reached:
    """The cheapest way to each of so many grips, out of all sets that lead there."""
    costs, came_from = [NO_WAY] * grips, [(0, 0)] * grips
    for number, last, (steps, alone) in ways:
        for grip, column in enumerate(steps):
            sums = list(map(add, last, column))
            least = min(sums)
            cost = least + alone[grip] + bias_um
            if cost < costs[grip]:
                costs[grip] = cost
                came_from[grip] = (number, sums.index(least))
    return _Reached(costs, came_from)


def _traced_back(row: Sequence[Sequence[Choices]], trail: Sequence[Sequence[_Reached]]) -> Path:
    """The path that ends at the least of all costs."""
    ends = trail[-1] if trail else []
    cost_um, number, grip = min(
        ((cost, number, grip) for number, end in enumerate(ends) for grip, cost in enumerate(end.costs)),
        default=(0, 0, 0),
    )
    taken: list[tuple[Choices, Grip]] = []
    for alternatives, reached in zip(reversed(row), reversed(trail), strict=True):
        taken.append((alternatives[number], alternatives[number].grips[grip]))
        number, grip = reached[number].came_from[grip]
    taken.reverse()
    return Path(tuple(choices for choices, _ in taken), tuple(held for _, held in taken), cost_um)
