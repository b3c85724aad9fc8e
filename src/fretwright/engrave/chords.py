"""How one column is built: sides of heads, accidentals, dots, and how much room it takes.

x counts from the column's axis, the middle of its ordinary note heads; fret numbers, fingers and strokes
are centred on it. Common practice, no source: heads a step apart stand on both sides of the stem;
accidentals are stacked to the left, outermost pairs nearest; dots stand in spaces.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import ink_of
from fretwright.engrave.outlines import Face
from fretwright.engrave.pitches import Clef, step_of
from fretwright.engrave.reading import Column
from fretwright.engrave.style import ACCIDENTAL_GAP, DIGIT_HEIGHT, DOT_GAP, LEDGER_EXTENSION
from fretwright.score.heads import Head
from fretwright.score.values import Value

DOT_WIDTH: Final = 0.4
_STACKED_STEPS: Final = 6
"""Accidentals this many steps apart may share a column."""
_REST_NAMES: Final = ("restWhole", "restHalf", "restQuarter", "rest8th", "rest16th", "rest32nd", "rest64th")
_FLAG_NAMES: Final = ("8th", "16th", "32nd", "64th")


@dataclass(frozen=True, slots=True)
class HeadShape:
    """One head in its place."""

    head: Head
    step: int
    dx: float
    """Of the head's left edge from the axis."""
    accidental: str | None
    """SMuFL name of the sign before it."""
    accidental_dx: float
    """Of that sign's origin from the axis."""


@dataclass(frozen=True, slots=True)
class ColumnShape:
    """One column, ready to be placed."""

    column: Column
    heads: tuple[HeadShape, ...]
    """From the lowest step up; empty for a rest."""
    up: bool
    """Which way the stem points."""
    dot_steps: tuple[int, ...]
    dots_dx: float
    """Of the first dots' left edge from the axis."""
    left: float
    """How far it reaches to the left of the axis."""
    right: float
    """How far it reaches to the right, flag included where it has one of its own."""

    @property
    def low(self) -> int:
        """Step of the lowest head."""
        return self.heads[0].step

    @property
    def high(self) -> int:
        """Step of the highest head."""
        return self.heads[-1].step


def head_name(value: Value) -> str:
    """SMuFL name of the note head that a value is written with."""
    denominator = value.base.denominator
    return "noteheadWhole" if denominator == 1 else "noteheadHalf" if denominator == 2 else "noteheadBlack"


def rest_name(value: Value) -> str:
    """SMuFL name of the rest that a value is written with."""
    return _REST_NAMES[value.base.denominator.bit_length() - 1]


def flag_name(value: Value, *, up: bool) -> str:
    """SMuFL name of the flag on a single stem; the value has at least one."""
    return f"flag{_FLAG_NAMES[value.flags - 1]}{'Up' if up else 'Down'}"


def fret_text(head: Head) -> str:
    """What the tab prints for a head: its fret, in brackets where it is held over and not struck."""
    return f"({head.note.fret})" if head.is_held else str(head.note.fret)


def fret_size() -> float:
    """Font size of fret numbers, from the height of a digit."""
    return DIGIT_HEIGHT / -ink_of("0", Face.SANS_SEMIBOLD, 1.0).top


FRET_SIZE: Final = fret_size()


def fret_width(head: Head) -> float:
    """Width of a printed fret number."""
    return ink_of(fret_text(head), Face.SANS_SEMIBOLD, FRET_SIZE).width


def steps_of(column: Column, clef: Clef) -> list[int]:
    """Staff steps of a column's heads from the lowest up."""
    return sorted(step_of(head, clef) for head in column.heads)


def staff_shape(
    column: Column, clef: Clef, signs: Mapping[tuple[str, int], str], *, up: bool, flagged: bool
) -> ColumnShape:
    """A column of the staff. ``flagged``: its stem carries flags of its own, not a beam."""
    if column.is_rest:
        half = glyph(rest_name(column.value)).width_sp / 2
        right = half + _dots_width(column.value)
        step = 6 if column.value.base.denominator == 1 and not column.fills_bar else 5
        dots = (step if step % 2 else step - 1,) if column.value.dots else ()
        return ColumnShape(column, (), up, dots, half + DOT_GAP, half, right)
    placed = sorted(((step_of(head, clef), head) for head in column.heads), key=lambda pair: pair[0])
    width = glyph(head_name(column.value)).width_sp
    sides = _sides([step for step, _ in placed], up=up)
    shift = width - 0.12
    left_edges = [-width / 2 + (shift if side > 0 else -shift if side < 0 else 0.0) for side in sides]
    right = max(edge + width for edge in left_edges)
    left = -min(left_edges)
    marks = [signs.get((head.note.id, head.index)) for _, head in placed]
    on_ledger = placed[0][0] < -1 or placed[-1][0] > 9
    if on_ledger:
        left, right = left + LEDGER_EXTENSION, right + LEDGER_EXTENSION
    at = _accidental_places([step for step, _ in placed], marks, left - (0.1 if on_ledger else 0.0))
    shapes = tuple(
        HeadShape(head, step, edge, mark, dx)
        for (step, head), edge, mark, dx in zip(placed, left_edges, marks, at, strict=True)
    )
    reach_left = max([left, *(-dx for dx, mark in zip(at, marks, strict=True) if mark)])
    dots_dx = max(edge + width for edge in left_edges) + DOT_GAP
    reach_right = max(right, right + _dots_width(column.value))
    if flagged and up:
        flag = width / 2 + glyph(flag_name(column.value, up=True)).width_sp
        if column.value.dots:
            dots_dx = max(dots_dx, flag + 0.1)
        reach_right = max(reach_right, flag, dots_dx + column.value.dots * (DOT_WIDTH + 0.2))
    return ColumnShape(
        column, shapes, up, _dot_steps([step for step, _ in placed]) if column.value.dots else (), dots_dx,
        reach_left, reach_right,
    )  # fmt: skip


def tab_shape(column: Column, *, up: bool = False) -> ColumnShape:
    """A column of tab alone: its fret numbers, or a rest under the tab."""
    if column.is_rest:
        half = glyph(rest_name(column.value)).width_sp / 2
        return ColumnShape(column, (), up, (), half + DOT_GAP, half, half + _dots_width(column.value))
    shapes = tuple(HeadShape(head, 0, 0.0, None, 0.0) for head in column.heads)
    half = tab_reach(column)
    right = half
    if column.value.dots:
        right = max(right, (0.85 if column.value.flags else 0.3) + _dots_width(column.value))
    if column.value.flags:
        right = max(right, glyph(flag_name(column.value, up=False)).width_sp)
    return ColumnShape(column, shapes, up, (), 0.3, half, right)


def tab_reach(column: Column) -> float:
    """How far a column's fret numbers reach to either side of the axis."""
    return max((fret_width(head) / 2 for head in column.heads), default=0.0)


def _dots_width(value: Value) -> float:
    return DOT_GAP + value.dots * DOT_WIDTH + (value.dots - 1) * 0.2 if value.dots else 0.0


def _sides(steps: Sequence[int], *, up: bool) -> list[int]:
    """For each head 0 for its ordinary side, 1 for the right and -1 for the left of the stem."""
    order = range(len(steps)) if up else range(len(steps) - 1, -1, -1)
    sides = [0] * len(steps)
    before: int | None = None
    for index in order:
        if before is not None and abs(steps[index] - steps[before]) <= 1 and sides[before] == 0:
            sides[index] = 1 if up else -1
        before = index
    return sides


def _dot_steps(steps: Sequence[int]) -> tuple[int, ...]:
    """Odd steps, one for each head, no two the same."""
    taken: list[int] = []
    for step in sorted(steps, reverse=True):
        spot = step if step % 2 else step + 1
        while spot in taken:
            spot -= 2
        taken.append(spot)
    return tuple(sorted(taken))


def _accidental_places(steps: Sequence[int], marks: Sequence[str | None], left: float) -> list[float]:
    """The x of each sign's origin: top, bottom, second from the top ... each in the nearest free column."""
    signed = [index for index, mark in enumerate(marks) if mark]
    order: list[int] = []
    while signed:
        order.append(signed.pop())
        if signed:
            order.append(signed.pop(0))
    stacks: list[list[int]] = []
    stack_of: dict[int, int] = {}
    for index in order:
        for number, stack in enumerate([*stacks, []]):
            if all(abs(steps[index] - step) >= _STACKED_STEPS for step in stack):
                if number == len(stacks):
                    stacks.append([])
                stacks[number].append(steps[index])
                stack_of[index] = number
                break
    edges = [-left - ACCIDENTAL_GAP]
    for number in range(len(stacks)):
        widest = max(glyph(marks[i] or "").width_sp for i, of in stack_of.items() if of == number)
        edges.append(edges[-1] - widest - ACCIDENTAL_GAP / 2)
    return [
        edges[stack_of[index]] - glyph(mark).width_sp if mark and index in stack_of else 0.0
        for index, mark in enumerate(marks)
    ]
