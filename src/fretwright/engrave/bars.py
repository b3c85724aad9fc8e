"""Bars ready for the line: every column's shape, and the room that the bar needs.

Enters: a score. Leaves: one plan for each bar, from which systems are broken and drawn.
"""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final, Literal

from fretwright.engrave.beaming import TupletGroup, beam_groups, tuplet_groups
from fretwright.engrave.beams import points_up
from fretwright.engrave.breaking import BarRoom
from fretwright.engrave.chords import ColumnShape, staff_shape, steps_of, tab_reach, tab_shape
from fretwright.engrave.headings import labels_of
from fretwright.engrave.ink import ink_of
from fretwright.engrave.marks import CHORD_FACE, CHORD_SIZE, LETTER_ROOM
from fretwright.engrave.openings import AFTER_TAB_METER, TAB_METER_SCALE, meter_width, opening_width
from fretwright.engrave.pitches import Clef, accidentals, clef_of
from fretwright.engrave.reading import BarOfColumns, Column, read
from fretwright.engrave.spacing import Spring, natural_width
from fretwright.engrave.style import (
    BAR_LINE_GAP,
    GAP,
    PAD_AFTER_BAR_LINE,
    PAD_BEFORE_BAR_LINE,
    REPEAT_DOT_GAP,
    THICK_BAR,
    THIN_BAR,
    PlateStyle,
)
from fretwright.score.score import LabelKind, Score

BarLine = Literal["thin", "final", "repeat"]

REPEAT_DOTS: Final = 0.4 + REPEAT_DOT_GAP
"""Width of the dots of a repeat sign and the white between them and the line."""
_UNMEASURED: Final = BarRoom((), 0.0, 0.0, 0.0, 0)
_BETWEEN_NAMES: Final = 0.8
"""White between two chord names."""
_TAB_GAP: Final = 0.5
_TIE_ROOM: Final = 1.0
"""White between two columns that ties join."""
_BEFORE_REPEAT: Final = 0.55
"""White between the signs that open a system and a repeat sign."""


@dataclass(frozen=True, slots=True)
class BarPlan:
    """One bar, its columns shaped but not yet placed."""

    content: BarOfColumns
    shapes: tuple[ColumnShape, ...]
    beams: tuple[tuple[int, ...], ...]
    tuplets: tuple[TupletGroup, ...]
    opens_repeat: bool
    meter_room: float
    """Room for its time signature, where that is new and does not open the score; else 0."""
    bar_line: BarLine
    """The line that ends it."""
    room: BarRoom

    @property
    def start_width(self) -> float:
        """Room between its left end and the pad before its first column."""
        repeat = THICK_BAR + BAR_LINE_GAP + THIN_BAR + REPEAT_DOTS if self.opens_repeat else 0.0
        return repeat + self.meter_room

    @property
    def end_width(self) -> float:
        """Width of the line or sign that ends it."""
        return bar_line_width(self.bar_line)

    @property
    def lead(self) -> float:
        """Room from the pad's start to the first column's axis."""
        return PAD_AFTER_BAR_LINE + (self.shapes[0].left if self.shapes else 0.0)


def bar_line_width(kind: BarLine) -> float:
    """Width of a bar line, dots of a repeat included."""
    if kind == "thin":
        return THIN_BAR
    return THIN_BAR + BAR_LINE_GAP + THICK_BAR + (REPEAT_DOTS if kind == "repeat" else 0.0)


def plan_bars(score: Score, style: PlateStyle) -> tuple[BarPlan, ...]:
    """Plan every bar of a score."""
    bars = read(score)
    clef = clef_of(score.neck)
    signs = accidentals(bars, score.key) if style.staff else {}
    torn = _torn_arcs(score)
    names = _chord_names(score)
    meters = _meter_rooms(bars, style)
    plans: list[BarPlan] = []
    for index, content in enumerate(bars):
        groups, tuplets = beam_groups(content), tuplet_groups(content)
        shapes = _shapes(content, groups, clef, signs, style)
        line: BarLine = (
            "repeat" if content.bar.closes_repeat else "final" if index == len(bars) - 1 else "thin"
        )
        repeats = content.bar.opens_repeat
        draft = BarPlan(content, shapes, groups, tuplets, repeats, meters[index], line, _UNMEASURED)
        room = BarRoom(
            springs=_springs(content, shapes, names),
            fixed=draft.start_width + draft.lead + draft.end_width,
            at_start=opening_width(score, style, first=index == 0) + (_BEFORE_REPEAT if repeats else 0.0),
            at_end=meters[index + 1],
            torn_arcs=torn.get(content.bar.end, 0),
        )
        plans.append(replace(draft, room=room))
    return tuple(plans)


def _meter_rooms(bars: Sequence[BarOfColumns], style: PlateStyle) -> list[float]:
    """For each bar the room that a new time signature takes there, 0 where it stays; one 0 more at the end.

    The next bar's room is also kept at the end of a line, where the change is announced.
    """
    scale, behind = (1.0, 0.0) if style.staff else (TAB_METER_SCALE, AFTER_TAB_METER)
    changes = [
        meter_width(after.bar.meter, scale) + behind if after.bar.meter != before.bar.meter else 0.0
        for before, after in pairwise(bars)
    ]
    return [0.0, *changes, 0.0]


def _shapes(
    content: BarOfColumns,
    groups: Sequence[tuple[int, ...]],
    clef: Clef,
    signs: Mapping[tuple[str, int], str],
    style: PlateStyle,
) -> tuple[ColumnShape, ...]:
    if not style.staff:
        return tuple(tab_shape(column) for column in content.columns)
    beamed = {index: group for group in groups for index in group}
    shapes: list[ColumnShape] = []
    for index, column in enumerate(content.columns):
        members = beamed.get(index, (index,))
        up = column.is_rest or points_up([steps_of(content.columns[member], clef) for member in members])
        flagged = index not in beamed and column.value.flags > 0
        shapes.append(staff_shape(column, clef, signs, up=up, flagged=flagged))
    return tuple(shapes)


def _springs(
    content: BarOfColumns, shapes: Sequence[ColumnShape], names: Sequence[tuple[Fraction, str]]
) -> tuple[Spring, ...]:
    """From each column to the next, and from the last to the bar line."""
    columns = content.columns
    least: list[float] = []
    for index, shape in enumerate(shapes):
        reach = tab_reach(columns[index])
        if index + 1 < len(shapes):
            following = columns[index + 1]
            room = max(
                shape.right + GAP + shapes[index + 1].left,
                reach + _TAB_GAP + tab_reach(following),
                reach + LETTER_ROOM + tab_reach(following) if _is_slurred(columns[index], following) else 0.0,
                shape.right + _TIE_ROOM + shapes[index + 1].left if _is_tied(columns[index]) else 0.0,
            )
        else:
            room = max(shape.right, reach) + PAD_BEFORE_BAR_LINE
        least.append(room)
    _make_room_for_names(content, names, least)
    return tuple(Spring(natural_width(content.gap_after(index)), room) for index, room in enumerate(least))


def _is_slurred(column: Column, following: Column) -> bool:
    ids = {head.note.id for head in column.heads}
    return any(head.note.slur_from in ids and not head.is_held for head in following.heads)


def _is_tied(column: Column) -> bool:
    return any(head.is_tied_on for head in column.heads)


def _make_room_for_names(
    content: BarOfColumns, names: Sequence[tuple[Fraction, str]], least: list[float]
) -> None:
    """Widen the springs under a chord name so that it ends before the next name and before the bar line.

    A name may start between two columns; it then stands in proportion on the spring between them.
    """
    bar = content.bar
    own = names[bisect_left(names, (bar.start, "")) : bisect_left(names, (bar.end, ""))]
    starts = [column.at for column in content.columns]
    for (at, name), (until, _) in pairwise([*own, (bar.end, "")]):
        shares = [
            max(Fraction(0), min(until, end) - max(at, start)) / (end - start)
            for start, end in pairwise([*starts, bar.end])
        ]
        room = sum(float(share) * spring for share, spring in zip(shares, least, strict=True))
        needed = ink_of(name, CHORD_FACE, CHORD_SIZE).width + _BETWEEN_NAMES
        if room < needed:
            for spring, share in enumerate(shares):
                least[spring] *= needed / room if share else 1.0


def _chord_names(score: Score) -> list[tuple[Fraction, str]]:
    """In order of time; of several at one moment the last."""
    names = {label.at: label.text for label in labels_of(score) if label.kind is LabelKind.CHORD}
    return sorted(names.items())


def _torn_arcs(score: Score) -> dict[Fraction, int]:
    """For each bar line how many slurs and ties run over it."""
    ends = {bar.end for bar in score.bars}
    counts: dict[Fraction, int] = {}
    for note in score.notes:
        at = note.onset
        for value in note.values[:-1]:
            at += value.duration
            if at in ends:
                counts[at] = counts.get(at, 0) + 1
        if note.slur_from is not None and note.onset in ends:
            counts[note.onset] = counts.get(note.onset, 0) + 1
    return counts
