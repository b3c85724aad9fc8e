"""How one column is built: sides of heads, accidentals, dots, brackets, and how much room it takes.

x counts from the column's axis, the middle of its ordinary note heads; fret numbers, fingers and strokes
are centred on it. Common practice, no source: heads a step apart stand on both sides of the stem;
accidentals are stacked to the left, outermost pairs nearest; dots stand in spaces.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from fretwright.engrave.glyphs import glyph
from fretwright.engrave.heads import fret_width, head_glyph, head_name, head_width, slash_glyph
from fretwright.engrave.pitches import MIDDLE_STEP, Clef, SignKey, step_of
from fretwright.engrave.reading import Column
from fretwright.engrave.style import ACCIDENTAL_GAP, DOT_GAP, LEDGER_EXTENSION, STEM
from fretwright.score.heads import Head
from fretwright.score.values import Value

DOT_WIDTH: Final = 0.4
BRACKET_WIDTH: Final = 0.32
"""How far the bracket around a ghost note bulges from its foot."""
BRACKET_GAP: Final = 0.16
_TREMOLO_REACH: Final = 1.2
"""How far strokes through a stem reach from the axis."""
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
    glyph: str
    """SMuFL name of the head."""
    is_shared: bool = False
    """Whether the upper voice's head stands for it."""

    @property
    def width(self) -> float:
        """Width of the head."""
        return head_width(self.glyph)

    @property
    def half_height(self) -> float:
        """From its middle to its upper or lower edge."""
        return glyph(self.glyph).box_sp[3]


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
    dx: float = 0.0
    """How far it is moved aside from the axis for the other voice's sake."""
    brackets: tuple[tuple[int, int], ...] = ()
    """Lowest and highest step of each row of ghost notes, which stands in one pair of brackets."""
    bracket_dx: tuple[float, float] = (0.0, 0.0)
    """Feet of the left and the right bracket, from the axis."""
    tremolo: int = 0
    """Strokes through its stem."""
    is_slash: bool = False
    """Whether one sign stands for all that is struck at once: a slash, or a cross for muted strings."""

    @property
    def stem_dx(self) -> float:
        """Where its stem stands, from the axis: right of its heads when up, left when down."""
        wide = self.heads[0].width if self.is_slash else 0.0
        half = (wide or head_width("noteheadBlack")) / 2 - STEM / 2
        return self.dx + half if self.up else self.dx - half

    @property
    def low(self) -> int:
        """Step of the lowest head."""
        return self.heads[0].step

    @property
    def high(self) -> int:
        """Step of the highest head."""
        return self.heads[-1].step


def rest_name(value: Value) -> str:
    """SMuFL name of the rest that a value is written with."""
    return _REST_NAMES[value.base.denominator.bit_length() - 1]


def flag_name(value: Value, *, up: bool) -> str:
    """SMuFL name of the flag on a single stem; the value has at least one."""
    return f"flag{_FLAG_NAMES[value.flags - 1]}{'Up' if up else 'Down'}"


def steps_of(column: Column, clef: Clef) -> list[int]:
    """Staff steps of a column's heads from the lowest up."""
    return sorted(step_of(head, clef) for head in column.heads)


def staff_shape(
    column: Column, clef: Clef, signs: Mapping[SignKey, str], *, up: bool, flagged: bool
) -> ColumnShape:
    """A column of the staff. ``flagged``: its stem carries flags of its own, not a beam."""
    if column.is_rest:
        half = glyph(rest_name(column.value)).width_sp / 2
        right = half + _dots_width(column.value)
        step = 6 if column.value.base.denominator == 1 and not column.fills_bar else 5
        dots = (step if step % 2 else step - 1,) if column.value.dots else ()
        return ColumnShape(column, (), up, dots, half + DOT_GAP, half, right)
    placed = sorted(((step_of(head, clef), head) for head in column.heads), key=lambda pair: pair[0])
    steps = [step for step, _ in placed]
    names = [head_glyph(head) for _, head in placed]
    plain = head_name(column.value)
    width = head_width(plain) if plain in names else max(head_width(name) for name in names)
    shift = width - STEM
    if plain not in names:  # the stem stands where that of a black head would
        shift = (head_width("noteheadBlack") + width) / 2 - STEM
    left_edges = [
        side * shift - head_width(name) / 2 for side, name in zip(_sides(steps, up=up), names, strict=True)
    ]
    right = max(edge + head_width(name) for edge, name in zip(left_edges, names, strict=True))
    left = -min(left_edges)
    brackets = _ghost_rows([(step, head) for step, head in placed])
    feet = (-left - BRACKET_GAP, right + BRACKET_GAP)
    if brackets:
        left, right = left + BRACKET_GAP + BRACKET_WIDTH, right + BRACKET_GAP + BRACKET_WIDTH
    dots_dx = right + DOT_GAP
    marks = [signs.get((head.note.id, head.index)) for _, head in placed]
    on_ledger = steps[0] < -1 or steps[-1] > 9
    if on_ledger and not brackets:
        left, right = left + LEDGER_EXTENSION, right + LEDGER_EXTENSION
    at = accidental_places(steps, marks, left - (0.1 if on_ledger else 0.0))
    shapes = tuple(
        HeadShape(head, step, edge, mark, dx, name)
        for (step, head), edge, mark, dx, name in zip(placed, left_edges, marks, at, names, strict=True)
    )
    reach_left = max([left, *(-dx for dx, mark in zip(at, marks, strict=True) if mark)])
    reach_right = max(right, right + _dots_width(column.value))
    if flagged and up:
        flag = head_width("noteheadBlack") / 2 + glyph(flag_name(column.value, up=True)).width_sp
        if column.value.dots:
            dots_dx = max(dots_dx, flag + 0.1)
        reach_right = max(reach_right, flag, dots_dx + column.value.dots * (DOT_WIDTH + 0.2))
    strokes = tremolo_strokes(column)
    if strokes and up:
        reach_right = max(reach_right, _TREMOLO_REACH)
    elif strokes:
        reach_left = max(reach_left, _TREMOLO_REACH)
    return ColumnShape(
        column, shapes, up, dot_steps(steps) if column.value.dots else (), dots_dx, reach_left, reach_right,
        brackets=brackets, bracket_dx=feet, tremolo=strokes,
    )  # fmt: skip


def _ghost_rows(placed: Sequence[tuple[int, Head]]) -> tuple[tuple[int, int], ...]:
    """Ghost notes that stand so close that they share their brackets."""
    rows: list[tuple[int, int]] = []
    for step, head in placed:
        if head.note.techniques.ghost:
            if rows and step - rows[-1][1] <= 3:
                rows[-1] = (rows[-1][0], step)
            else:
                rows.append((step, step))
    return tuple(rows)


def tremolo_strokes(column: Column) -> int:
    """Strokes through the stem: those of the repeated value that flags or beams do not already show."""
    flags = [head.note.techniques.tremolo.flags for head in column.heads if head.note.techniques.tremolo]
    return min(4, max(1, max(flags) - column.value.flags)) if flags else 0


def slash_shape(column: Column, *, flagged: bool) -> ColumnShape:
    """A rhythm slash that stands for all that is struck at one moment, its stem down."""
    if column.is_rest:
        return staff_shape(column, _ANY_CLEF, {}, up=False, flagged=False)
    muted = all(head.note.techniques.dead for head in column.heads)
    ghost = all(head.note.techniques.ghost for head in column.heads)
    name = slash_glyph(column.value, muted=muted)
    half = head_width(name) / 2
    feet = (-half - BRACKET_GAP, half + BRACKET_GAP)
    side = half + BRACKET_GAP + BRACKET_WIDTH if ghost else half
    right = side + _dots_width(column.value)
    if flagged and column.value.flags:
        right = max(right, -half + glyph(flag_name(column.value, up=False)).width_sp)
    strokes = tremolo_strokes(column)
    return ColumnShape(
        column,
        (HeadShape(column.heads[0], MIDDLE_STEP, -half, None, 0.0, name),),
        up=False,
        dot_steps=(MIDDLE_STEP + 1,) if column.value.dots else (),
        dots_dx=side + DOT_GAP,
        left=max(side, half + _TREMOLO_REACH / 2) if strokes else side,
        right=right,
        brackets=((MIDDLE_STEP, MIDDLE_STEP),) if ghost else (),
        bracket_dx=feet,
        tremolo=strokes,
        is_slash=True,
    )


_ANY_CLEF: Final = Clef("gClef", 2, 0, 0)


def tab_shape(column: Column, *, up: bool = False) -> ColumnShape:
    """A column of tab alone: its fret numbers, or a rest beside the tab."""
    if column.is_rest:
        half = glyph(rest_name(column.value)).width_sp / 2
        return ColumnShape(column, (), up, (), half + DOT_GAP, half, half + _dots_width(column.value))
    shapes = tuple(HeadShape(head, 0, 0.0, None, 0.0, "noteheadBlack") for head in column.heads)
    half = tab_reach(column.heads)
    right = half
    if column.value.dots:
        right = max(right, (0.85 if column.value.flags else 0.3) + _dots_width(column.value))
    if column.value.flags:
        right = max(right, glyph(flag_name(column.value, up=False)).width_sp)
    return ColumnShape(column, shapes, up, (), 0.3, half, right, tremolo=tremolo_strokes(column))


def tab_reach(heads: Sequence[Head]) -> float:
    """How far the fret numbers of one moment reach to either side of the axis."""
    return max((fret_width(head) / 2 for head in heads), default=0.0)


def _dots_width(value: Value) -> float:
    return DOT_GAP + value.dots * DOT_WIDTH + (value.dots - 1) * 0.2 if value.dots else 0.0


def _sides(steps: Sequence[int], *, up: bool) -> list[int]:
    """For each head 0 for its ordinary side, 1 for the right and -1 for the left of the stem.

    Beyond that, where more than two stand on one step, further out.
    """
    order = range(len(steps)) if up else range(len(steps) - 1, -1, -1)
    sides = [0] * len(steps)
    placed: list[int] = []
    for index in order:
        near = {abs(sides[other]) for other in placed if abs(steps[index] - steps[other]) <= 1}
        side = next(side for side in range(len(steps)) if side not in near)
        sides[index] = side if up else -side
        placed.append(index)
    return sides


def dot_steps(steps: Sequence[int]) -> tuple[int, ...]:
    """Odd steps, one for each head, no two the same."""
    taken: list[int] = []
    for step in sorted(steps, reverse=True):
        spot = step if step % 2 else step + 1
        while spot in taken:
            spot -= 2
        taken.append(spot)
    return tuple(sorted(taken))


def accidental_places(steps: Sequence[int], marks: Sequence[str | None], left: float) -> list[float]:
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
