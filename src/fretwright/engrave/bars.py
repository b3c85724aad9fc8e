"""Bars ready for the line: every moment's shape, and the room that the bar needs.

Enters: a score. Leaves: one plan for each bar, from which systems are broken and drawn.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final, Literal

from fretwright.engrave.beaming import TupletGroup, beam_groups, tuplet_groups
from fretwright.engrave.breaking import BarRoom
from fretwright.engrave.headings import labels_of
from fretwright.engrave.ink import ink_of
from fretwright.engrave.marks import CHORD_FACE, CHORD_SIZE, LETTER_ROOM
from fretwright.engrave.openings import AFTER_TAB_METER, TAB_METER_SCALE, meter_width, opening_width
from fretwright.engrave.pitches import accidentals, clef_of
from fretwright.engrave.reading import BarOfColumns, BarOfMoments, Moment, read
from fretwright.engrave.shapes import Layout, MomentShape, Shaper
from fretwright.engrave.small_diagrams import diagram_width, shown_voicings
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
from fretwright.engrave.verses import lyric_rooms
from fretwright.score.score import LabelKind, Score, Writing

BarLine = Literal["thin", "final", "repeat"]

REPEAT_DOTS: Final = 0.4 + REPEAT_DOT_GAP
"""Width of the dots of a repeat sign and the white between them and the line."""
_UNMEASURED: Final = BarRoom((), 0.0, 0.0, 0.0, 0)
_BETWEEN_NAMES: Final = 0.8
"""White between two chord names."""
_TAB_GAP: Final = 0.5
_STROKE_ROOM: Final = 1.8
"""From one stroke to the next, where some pass through the air in brackets."""
_TIE_ROOM: Final = 1.0
"""White between two columns that ties join."""
_BEFORE_REPEAT: Final = 0.55
"""White between the signs that open a system and a repeat sign."""


Wish = tuple[Fraction, Fraction, float]
"""A stretch of time inside one bar, and the room that what stands over or under it needs."""


@dataclass(frozen=True, slots=True)
class VoicePlan:
    """One voice's part of a bar."""

    content: BarOfColumns
    places: tuple[int, ...]
    """For each of its columns the index of the moment at which it stands."""
    beams: tuple[tuple[int, ...], ...]
    tuplets: tuple[TupletGroup, ...]

    @property
    def beamed(self) -> frozenset[int]:
        """The columns that are under a beam."""
        return frozenset(index for group in self.beams for index in group)


@dataclass(frozen=True, slots=True)
class BarPlan:
    """One bar, its moments shaped but not yet placed."""

    content: BarOfMoments
    shapes: tuple[MomentShape, ...]
    voices: tuple[VoicePlan, ...]
    opens_repeat: bool
    meter_room: float
    """Room for its time signature, where that is new and does not open the score; else 0."""
    bar_line: BarLine
    """The line that ends it."""
    room: BarRoom

    @property
    def has_marks(self) -> bool:
        """Whether brackets or strokes through stems crowd its columns."""
        return any(shape.brackets or shape.tremolo for moment in self.shapes for shape in moment.columns)

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
        return PAD_AFTER_BAR_LINE + (self.shapes[0].lead if self.shapes else 0.0)


def bar_line_width(kind: BarLine) -> float:
    """Width of a bar line, dots of a repeat included."""
    if kind == "thin":
        return THIN_BAR
    return THIN_BAR + BAR_LINE_GAP + THICK_BAR + (REPEAT_DOTS if kind == "repeat" else 0.0)


def layout_of(score: Score, style: PlateStyle) -> Layout:
    """Which staves a score is set on."""
    if score.writing is Writing.SLASHES:
        return "slashes"
    return "staff" if style.staff else "tab"


def plan_bars(score: Score, style: PlateStyle) -> tuple[BarPlan, ...]:
    """Plan every bar of a score."""
    bars = read(score)
    clef = clef_of(score.neck)
    layout = layout_of(score, style)
    signs = accidentals(bars, score.key) if layout == "staff" else {}
    shaper = Shaper(clef, signs, score.key, score.neck.tuning.string_count, layout)
    torn = _torn_arcs(score)
    wishes = _wishes(score, style)
    meters = _meter_rooms(bars, tab_alone=layout == "tab")
    plans: list[BarPlan] = []
    for index, content in enumerate(bars):
        groups = {voice.voice: beam_groups(voice) for voice in content.voices}
        shapes = shaper.shapes(content, groups)
        line: BarLine = (
            "repeat" if content.bar.closes_repeat else "final" if index == len(bars) - 1 else "thin"
        )
        repeats = content.bar.opens_repeat
        voices = tuple(_voice_plan(content, voice, groups[voice.voice]) for voice in content.voices)
        draft = BarPlan(content, shapes, voices, repeats, meters[index], line, _UNMEASURED)
        room = BarRoom(
            springs=_springs(content, shapes, wishes),
            fixed=draft.start_width + draft.lead + draft.end_width,
            at_start=opening_width(score, layout, first=index == 0) + (_BEFORE_REPEAT if repeats else 0.0),
            at_end=meters[index + 1],
            torn_arcs=torn.get(content.bar.end, 0),
        )
        plans.append(replace(draft, room=room))
    return tuple(plans)


def _voice_plan(content: BarOfMoments, voice: BarOfColumns, beams: tuple[tuple[int, ...], ...]) -> VoicePlan:
    place_of = {moment.at: place for place, moment in enumerate(content.moments)}
    places = tuple(place_of[column.at] for column in voice.columns)
    return VoicePlan(voice, places, beams, tuplet_groups(voice))


def _meter_rooms(bars: Sequence[BarOfMoments], *, tab_alone: bool) -> list[float]:
    """For each bar the room that a new time signature takes there, 0 where it stays; one 0 more at the end.

    The next bar's room is also kept at the end of a line, where the change is announced.
    """
    scale, behind = (TAB_METER_SCALE, AFTER_TAB_METER) if tab_alone else (1.0, 0.0)
    changes = [
        meter_width(after.bar.meter, scale) + behind if after.bar.meter != before.bar.meter else 0.0
        for before, after in pairwise(bars)
    ]
    return [0.0, *changes, 0.0]


def _springs(
    content: BarOfMoments, shapes: Sequence[MomentShape], wishes: Sequence[Wish]
) -> tuple[Spring, ...]:
    """From each moment to the next, and from the last to the bar line."""
    moments = content.moments
    least: list[float] = []
    for index, shape in enumerate(shapes):
        reach = shape.beside.tab_right
        if index + 1 < len(shapes):
            following, after = moments[index + 1], shapes[index + 1]
            reach_back = after.beside.tab_left
            room = max(
                shape.right + GAP + after.left,
                reach + _TAB_GAP + reach_back,
                reach + LETTER_ROOM + reach_back if _is_slurred(moments[index], following) else 0.0,
                shape.right + _TIE_ROOM + after.left if _is_tied(moments[index]) else 0.0,
            )
        else:
            room = max(shape.right, reach) + PAD_BEFORE_BAR_LINE
        least.append(room)
    _make_room(content, wishes, least)
    return tuple(Spring(natural_width(content.gap_after(index)), room) for index, room in enumerate(least))


def _is_slurred(moment: Moment, following: Moment) -> bool:
    ids = {head.note.id for head in moment.heads}
    return any(head.note.slur_from in ids and not head.is_held for head in following.heads)


def _is_tied(moment: Moment) -> bool:
    return any(head.is_tied_on for head in moment.heads)


def _make_room(content: BarOfMoments, wishes: Sequence[Wish], least: list[float]) -> None:
    """Widen the springs under chord names, diagrams and sung words so that each ends before the next one.

    A name may start between two moments; it then stands in proportion on the spring between them.
    """
    bar = content.bar
    starts = [moment.at for moment in content.moments]
    edges = [*starts, bar.end]
    for at, until, needed in wishes[_first(wishes, bar.start) : _first(wishes, bar.end)]:
        under = range(max(0, bisect_right(starts, at) - 1), bisect_left(starts, until))
        shares = (
            (min(until, edges[spring + 1]) - max(at, edges[spring])) / (edges[spring + 1] - edges[spring])
            for spring in under
        )
        room = sum(float(share) * least[spring] for spring, share in zip(under, shares, strict=True))
        if 0 < room < needed:
            for spring in under:
                least[spring] *= needed / room


def _first(wishes: Sequence[Wish], at: Fraction) -> int:
    return bisect_left(wishes, at, key=lambda wish: wish[0])


def _wishes(score: Score, style: PlateStyle) -> list[Wish]:
    """The room that names, diagrams and sung words need, in order of time."""
    names = {label.at: label.text for label in labels_of(score) if label.kind is LabelKind.CHORD}
    shown = shown_voicings(score, style)
    widths = {
        at: max(ink_of(name, CHORD_FACE, CHORD_SIZE).width, diagram_width(shown[at]) if at in shown else 0.0)
        + _BETWEEN_NAMES
        for at, name in names.items()
    }
    wishes = list(_until_next(score, widths))
    for row in lyric_rooms(score):
        wishes += _until_next(score, row)
    if score.air_strokes:
        strokes = sorted(
            {*(stroke.at for stroke in score.air_strokes), *(note.onset for note in score.notes)}
        )
        wishes += _until_next(score, dict.fromkeys(strokes, _STROKE_ROOM))
    return sorted(wishes, key=lambda wish: wish[0])


def _until_next(score: Score, widths: Mapping[Fraction, float]) -> Iterator[Wish]:
    """Each thing with the time until the next one or until its bar ends."""
    times = sorted(widths)
    for place, at in enumerate(times):
        end = score.bar_at(at).end
        until = min(end, times[place + 1]) if place + 1 < len(times) else end
        yield at, until, widths[at]


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
