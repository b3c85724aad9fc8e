"""Where each moment and bar line stands on the line.

Enters: planned bars and the systems they are broken into. Leaves: systems whose moments have an x, every
system but the last filled to the right margin.
"""

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from fractions import Fraction
from statistics import fmean
from typing import Final

from fretwright.engrave.bars import BarPlan, VoicePlan
from fretwright.engrave.breaking import break_into_systems
from fretwright.engrave.chords import ColumnShape
from fretwright.engrave.shapes import MomentShape
from fretwright.engrave.spacing import force_to_fill, least_total
from fretwright.engrave.style import PlateStyle

_BARS_IN_A_ROW: Final = 4
LONE_FORCE: Final = 2.4
"""The most that a system standing alone is stretched to fill the line."""
RAGGED_FORCE: Final = 1.3
"""How it is set where that is not enough."""
LIKE_ABOVE: Final = 1.45
"""How much looser than the mean of the systems above it a last system may be."""


@dataclass(frozen=True, slots=True)
class PlacedBar:
    """One bar on its line."""

    plan: BarPlan
    left: float
    """Where the bar before it ends, or the signs that open the system."""
    right: float
    """The right edge of the line that ends it."""
    axes: tuple[float, ...]
    """x of the axis of each moment."""

    @property
    def moments(self) -> list[tuple[MomentShape, float]]:
        """Each moment's shape and the x of its axis."""
        return list(zip(self.plan.shapes, self.axes, strict=True))

    def columns(self, voice: VoicePlan) -> Iterator[tuple[MomentShape, ColumnShape, float]]:
        """Each column of one voice, with its moment and the x of its axis."""
        for place, column in zip(voice.places, voice.content.columns, strict=True):
            moment = self.plan.shapes[place]
            yield moment, next(shape for shape in moment.columns if shape.column is column), self.axes[place]

    @property
    def inner_right(self) -> float:
        """Where the sign that ends it begins."""
        return self.right - self.plan.end_width


@dataclass(frozen=True, slots=True)
class PlacedSystem:
    """One line of bars."""

    index: int
    bars: tuple[PlacedBar, ...]

    @property
    def is_first(self) -> bool:
        """Whether it opens the score."""
        return self.index == 0

    @property
    def right(self) -> float:
        """Where its staff lines end: at its last bar line, or behind the time signature announced there."""
        return self.bars[-1].right + self.bars[-1].plan.room.at_end

    @property
    def moments(self) -> list[tuple[MomentShape, float]]:
        """Every moment of the system with the x of its axis."""
        return [pair for bar in self.bars for pair in bar.moments]


Rows = tuple[tuple[int, int], ...]
"""The systems as (first, last + 1) indices of bars."""


def rows_of_four(plans: Sequence[BarPlan], starts: AbstractSet[Fraction], width: float) -> Rows:
    """The rows of a chart: four bars in each, a new one wherever a part begins, two where four do not fit.

    ``starts`` holds the times at which parts begin; empty where even two bars of some row do not fit.
    """
    for count in (_BARS_IN_A_ROW, _BARS_IN_A_ROW // 2):
        rows: list[tuple[int, int]] = []
        for index, plan in enumerate(plans):
            begins = not rows or plan.content.bar.start in starts
            full = rows and rows[-1][1] - rows[-1][0] - _is_pickup(plans[rows[-1][0]]) == count
            if begins or full:
                rows.append((index, index + 1))
            else:
                rows[-1] = (rows[-1][0], index + 1)
        if all(_force(plans[first:last], width) > 0 for first, last in rows):
            return tuple(rows)
    return ()


def _is_pickup(plan: BarPlan) -> bool:
    return plan.content.bar.number == 0


def fitted(style: PlateStyle, plans: Sequence[BarPlan]) -> PlateStyle:
    """The style with its staff space made smaller where a single bar would not fit the width otherwise."""
    widest = max(plan.room.at_start + plan.room.fixed + least_total(plan.room.springs) for plan in plans)
    if widest <= style.width_sp:
        return style
    return replace(style, staff_space_mm=style.width_mm / (widest + 0.01))


def place(plans: Sequence[BarPlan], width: float, rows: Rows = ()) -> tuple[PlacedSystem, ...]:
    """Break the bars into systems, unless ``rows`` says where they end, and give every moment its x."""
    breaks = rows or break_into_systems([plan.room for plan in plans], width)
    forces = [_force(plans[first:last], width) for first, last in breaks]
    forces[-1] = _last_force(forces)
    return tuple(
        PlacedSystem(index, _place_bars(plans[first:last], force))
        for index, ((first, last), force) in enumerate(zip(breaks, forces, strict=True))
    )


def _force(plans: Sequence[BarPlan], width: float) -> float:
    fixed = plans[0].room.at_start + sum(plan.room.fixed for plan in plans) + plans[-1].room.at_end
    springs = [spring for plan in plans for spring in plan.room.springs]
    return force_to_fill(springs, width - fixed)


def _last_force(forces: Sequence[float]) -> float:
    """The last system is filled where it then looks like those above it, else it ends before the margin."""
    *above, last = forces
    if not above:
        return last if last <= LONE_FORCE else RAGGED_FORCE
    return last if last <= LIKE_ABOVE * fmean(above) else fmean(above)


def _place_bars(plans: Sequence[BarPlan], force: float) -> tuple[PlacedBar, ...]:
    placed: list[PlacedBar] = []
    x = plans[0].room.at_start
    for plan in plans:
        left = x
        x += plan.start_width + plan.lead
        axes: list[float] = []
        for spring in plan.room.springs:
            axes.append(x)
            x += spring.length(force)
        if len(axes) == 1 and plan.content.moments[0].fills_bar:
            axes = [(left + plan.start_width + x) / 2]
        x += plan.end_width
        placed.append(PlacedBar(plan, left, x, tuple(axes)))
    return tuple(placed)
