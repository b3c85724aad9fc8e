"""Where each column and bar line stands on the line.

Enters: planned bars and the systems they are broken into. Leaves: systems whose columns have an x, every
system but the last filled to the right margin.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import fmean
from typing import Final

from fretwright.engrave.bars import BarPlan
from fretwright.engrave.breaking import break_into_systems
from fretwright.engrave.chords import ColumnShape
from fretwright.engrave.spacing import force_to_fill, least_total
from fretwright.engrave.style import PlateStyle

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
    """x of the axis of each column."""

    @property
    def columns(self) -> list[tuple[ColumnShape, float]]:
        """Each column's shape and the x of its axis."""
        return list(zip(self.plan.shapes, self.axes, strict=True))

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
    def columns(self) -> list[tuple[ColumnShape, float]]:
        """Every column of the system with the x of its axis."""
        return [pair for bar in self.bars for pair in bar.columns]


def fitted(style: PlateStyle, plans: Sequence[BarPlan]) -> PlateStyle:
    """The style with its staff space made smaller where a single bar would not fit the width otherwise."""
    widest = max(plan.room.at_start + plan.room.fixed + least_total(plan.room.springs) for plan in plans)
    if widest <= style.width_sp:
        return style
    return replace(style, staff_space_mm=style.width_mm / (widest + 0.01))


def place(plans: Sequence[BarPlan], width: float) -> tuple[PlacedSystem, ...]:
    """Break the bars into systems and give every column its x."""
    breaks = break_into_systems([plan.room for plan in plans], width)
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
        if plan.content.columns and plan.content.columns[0].fills_bar:
            axes = [(left + plan.start_width + x) / 2]
        x += plan.end_width
        placed.append(PlacedBar(plan, left, x, tuple(axes)))
    return tuple(placed)
