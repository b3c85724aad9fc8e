"""The search: the cheapest row of grips through a whole score.

Dynamic programming over grips (a position and the fingers that are down): what a step costs depends on
nothing but the grips before and after it, so that the cheapest way to each grip is kept and no other can
become the best. The result is the exact minimum of the cost in :mod:`fretwright.fingering.cost`. Among
equally cheap rows the one with the likelier grip wins, latest event first, so that the result never
depends on chance.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from operator import add

from fretwright.fingering.events import Event, Moment
from fretwright.fingering.grips import Choices, Grip, choices_for
from fretwright.fingering.ruler import Ruler
from fretwright.fingering.tables import Tables


@dataclass(frozen=True, slots=True)
class Path:
    """The cheapest row of grips."""

    choices: tuple[Choices, ...]
    grips: tuple[Grip, ...]
    cost_um: int


def starting(position: int) -> Choices:
    """The hand before the first event; position 0 is nowhere in particular."""
    return Choices(Event(()), (Grip(position),))


def all_choices(ruler: Ruler, moments: Sequence[Moment], position: int) -> tuple[Choices, ...]:
    """The grips of every event, those of equal events shared."""
    known: dict[tuple[Event, tuple[int, ...]], Choices] = {}
    before = starting(position)
    found = []
    for moment in moments:
        event = moment.event
        stands = () if event.needs_fingers else tuple(sorted({grip.position for grip in before.grips}))
        choices = known.get((event, stands))
        if choices is None:
            choices = known[event, stands] = choices_for(ruler, event, before)
        found.append(choices)
        before = choices
    return tuple(found)


def cheapest(ruler: Ruler, row: Sequence[Choices], position: int) -> Path:
    """The exact minimum over all rows of grips, one of each event's choices."""
    tables = Tables(ruler)
    before = starting(position)
    costs = [0]
    back: list[list[int]] = []
    for choices in row:
        came_from, reached = [], []
        for column in tables.columns(before, choices):
            ways = list(map(add, costs, column))
            least = min(ways)
            reached.append(least)
            came_from.append(ways.index(least))
        back.append(came_from)
        costs, before = reached, choices
    cost_um = min(costs)
    grips: list[Grip] = []
    index = costs.index(cost_um)
    for choices, came_from in zip(reversed(row), reversed(back), strict=True):
        grips.append(choices.grips[index])
        index = came_from[index]
    return Path(tuple(row), tuple(reversed(grips)), cost_um)
