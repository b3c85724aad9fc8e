"""The five lines and all that stands on them, one system at a time.

y counts from the top line downwards. Leaves the ink and, for arcs and marks, the places of heads and
columns.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from fretwright.engrave.bars import VoicePlan
from fretwright.engrave.beaming import beam_levels
from fretwright.engrave.beams import BEAM_STEP, beam_ends, single_tip
from fretwright.engrave.bonds import HeadKey
from fretwright.engrave.chords import BRACKET_WIDTH, DOT_WIDTH, ColumnShape, flag_name
from fretwright.engrave.clearance import clear_beam, clear_stem, rest_ink, solid_boxes
from fretwright.engrave.glyphs import glyph
from fretwright.engrave.heads import stem_start
from fretwright.engrave.ink import Box, Glyph, Ink, Layer, Line, Trace
from fretwright.engrave.pitches import MIDDLE_STEP, y_of
from fretwright.engrave.placing import PlacedBar, PlacedSystem
from fretwright.engrave.reading import ColumnKey
from fretwright.engrave.shapes import BEAT_SLASH, MomentShape
from fretwright.engrave.style import BEAM, LEDGER, LEDGER_EXTENSION, STAFF_LINE, STEM
from fretwright.engrave.tremolo import accidental_reach, tremolo, tremolo_reach

STAFF_HEIGHT: Final = 4.0
BEAMLET: Final = 1.1
"""Length of a beam that joins no other stem."""
_TREMOLO_WHITE: Final = 0.3


@dataclass(frozen=True, slots=True)
class HeadSpot:
    """Where a head stands, for arcs."""

    left: float
    right: float
    clear_left: float
    """Left edge of all that belongs to its moment."""
    clear_right: float
    """Right edge of all that belongs to its moment."""
    y: float
    up: bool
    """Which way its stem points."""
    outer: int
    """1 for the highest head of its column, -1 for the lowest, 0 for one between; a lone head is 1."""
    alone: bool
    side: int = 0
    """-1 for the upper of two voices, 1 for the lower, 0 where there is one: on which side its arcs stand."""
    is_crowded: bool = False
    """Whether more than heads or numbers stands at its moment."""


@dataclass(frozen=True, slots=True)
class ColumnSpot:
    """Where a column stands, for tuplets and marks."""

    x: float
    tip: float
    """y of the free end of its stem, or of its middle where it has none."""
    up: bool
    beamed: bool
    stem_x: float
    side: int = 0
    """As that of a head."""


@dataclass(slots=True)
class Drawing:
    """What a layer of a system has drawn so far. Filled by the functions that draw."""

    ink: list[Ink] = field(default_factory=list)
    heads: dict[HeadKey, HeadSpot] = field(default_factory=dict)
    columns: dict[ColumnKey, ColumnSpot] = field(default_factory=dict)


def draw_staff(system: PlacedSystem, asides: Sequence[Sequence[Ink]]) -> Drawing:
    """Heads, stems, beams, rests, dots and ledger lines of a system.

    ``asides`` holds for each bar what stands beside its columns already: grace notes, the goals of bends.
    """
    drawing = Drawing()
    for bar, aside in zip(system.bars, asides, strict=True):
        _draw_bar(bar, aside, drawing)
    return drawing


@dataclass(frozen=True, slots=True)
class _Crowd:
    """What the stems and beams of one bar have to know of all that stands in it."""

    heads: Mapping[ColumnKey, Sequence[Ink]]
    obstacles: Sequence[Box]
    """With white around them; empty where nothing can be in the way."""
    strokes: Mapping[ColumnKey, Glyph]
    """The strokes through stems."""
    is_shared: bool
    has_slashes: bool

    @classmethod
    def of(cls, bar: PlacedBar, aside: Sequence[Ink]) -> "_Crowd":
        """That of one bar."""
        columns = [(shape, x) for moment, x in bar.moments for shape in moment.columns]
        heads = {shape.column.key: list(_heads(shape, x)) for shape, x in columns}
        shared, slashes = bar.plan.content.is_shared, any(shape.is_slash for shape, _ in columns)
        obstacles: list[Box] = []
        if shared or slashes or aside or bar.plan.has_marks:
            obstacles = solid_boxes([*aside, *(each for ink in heads.values() for each in ink)])
        strokes = {shape.column.key: tremolo(shape, x, obstacles) for shape, x in columns if shape.tremolo}
        return cls(heads, obstacles, strokes, shared, slashes)

    def side(self, voice: int) -> int:
        """On which side the arcs and marks of a voice stand, 0 where that is open."""
        if self.has_slashes:
            return -1
        return 0 if not self.is_shared else -1 if voice == 1 else 1


def _draw_bar(bar: PlacedBar, aside: Sequence[Ink], drawing: Drawing) -> None:
    crowd = _Crowd.of(bar, aside)
    first = len(drawing.ink)
    for voice in bar.plan.voices:
        tips = _beam_bar(bar, voice, crowd, drawing)
        side = crowd.side(voice.content.voice)
        for index, (moment, shape, x) in enumerate(bar.columns(voice)):
            if not shape.column.is_rest:
                _draw_column(moment, shape, x, tips.get(index), side, crowd, drawing)
                continue
            if not crowd.is_shared:
                drawing.ink.extend(rest_ink(shape, x, 0, ()))
            spot = ColumnSpot(x, 2.0, shape.up, beamed=False, stem_x=x, side=side)
            drawing.columns[shape.column.key] = spot
    for moment, x in bar.moments:
        if not moment.columns:
            half = glyph(BEAT_SLASH).width_sp / 2
            drawing.ink.append(Glyph(BEAT_SLASH, x - half, y_of(MIDDLE_STEP), role="slash"))
    if crowd.is_shared:
        _draw_rests(bar, [*aside, *drawing.ink[first:]], drawing)


def _draw_column(
    moment: MomentShape,
    shape: ColumnShape,
    x: float,
    beam_y: float | None,
    side: int,
    crowd: _Crowd,
    drawing: Drawing,
) -> None:
    """Heads and stem of one column; its stem ends at ``beam_y`` where it is under a beam."""
    key = shape.column.key
    drawing.ink.extend(crowd.heads[key])
    if shape is next(each for each in moment.columns if each.heads):
        drawing.ink.extend(_ledger_lines(moment, x))
    strokes = crowd.strokes.get(key)
    tip = _single_tip(shape, x, crowd.obstacles, strokes) if beam_y is None else beam_y
    if shape.column.value.base < 1:
        drawing.ink.extend(_stem(shape, x, tip, flagged=beam_y is None))
    else:
        tip = y_of(shape.high) - 0.5 if shape.up else y_of(shape.low) + 0.5
    if strokes is not None:
        drawing.ink.append(strokes)
    drawing.columns[key] = ColumnSpot(
        x, tip, shape.up, beamed=beam_y is not None, stem_x=x + shape.stem_dx, side=side
    )
    drawing.heads.update(_spots(moment, shape, x, side))


def _draw_rests(bar: PlacedBar, standing: Sequence[Ink], drawing: Drawing) -> None:
    """The rests of two voices, each clear of all that stands in the bar; rests that agree become one."""
    taken = solid_boxes(standing)
    for moment, x in bar.moments:
        rests = [shape for shape in moment.columns if shape.column.is_rest]
        agree = len(rests) > 1 and rests[0].column.value == rests[1].column.value
        for shape in rests[:1] if agree else rests:
            side = 0 if agree else -1 if shape.column.voice == 1 else 1
            middle = (bar.axes[0] + bar.inner_right) / 2 if shape.column.fills_bar and not agree else x
            ink = list(rest_ink(shape, middle, side, taken))
            drawing.ink.extend(ink)
            taken += solid_boxes(ink)


def _single_tip(shape: ColumnShape, x: float, obstacles: Sequence[Box], strokes: Glyph | None) -> float:
    """The free end of a stem that no beam holds."""
    flags = shape.column.value.flags
    tip = single_tip(shape.low, shape.high, flags, up=shape.up)
    if shape.up and flags and any(head.dx > shape.dx for head in shape.heads):
        tip -= 0.4  # clears the flag of a head on the far side of the stem
    if strokes is not None:
        side = -1 if shape.up else 1
        far = y_of(shape.high if shape.up else shape.low) + side * (
            tremolo_reach(shape, strokes) + _TREMOLO_WHITE
        )
        tip = min(tip, far) if shape.up else max(tip, far)
    if flags and obstacles:
        marks = solid_boxes([strokes]) if strokes is not None else []
        tip = clear_stem(shape, x, tip, [*obstacles, *marks])
    return tip


def staff_lines(left: float, right: float) -> list[Ink]:
    """The five lines."""
    return [Line(left, float(y), right, float(y), STAFF_LINE, role="staff-line") for y in range(5)]


def _spots(
    moment: MomentShape, shape: ColumnShape, x: float, side: int
) -> Iterator[tuple[HeadKey, HeadSpot]]:
    last = len(shape.heads) - 1
    for index, head in enumerate(shape.heads):
        outer = 1 if index == last else -1 if index == 0 else 0
        left = x + head.dx
        spot = HeadSpot(
            left, left + head.width, x - moment.left, x + moment.right, y_of(head.step), shape.up, outer,
            last == 0, side, moment.beside.is_crowded,
        )  # fmt: skip
        yield (head.head.note.id, head.head.index), spot


def _heads(shape: ColumnShape, x: float) -> Iterator[Ink]:
    """Heads with their accidentals, brackets and dots; rests have theirs elsewhere."""
    for head in shape.heads:
        note = head.head.note.id
        if not head.is_shared:
            yield Glyph(head.glyph, x + head.dx, y_of(head.step), role="notehead", note=note)
        if head.accidental:
            yield Glyph(
                head.accidental, x + head.accidental_dx, y_of(head.step), role="accidental", note=note
            )
    note_of_dot = shape.heads[0].head.note.id if len(shape.heads) == 1 else None
    for low, high in shape.brackets:
        half = shape.heads[0].half_height + 0.15
        for foot, bulge in zip(shape.bracket_dx, (-1, 1), strict=True):
            yield bracket(x + foot, y_of(high) - half, y_of(low) + half, bulge, note=note_of_dot)
    if shape.heads:
        for step in shape.dot_steps:
            yield from dots(x + shape.dots_dx, y_of(step), shape.column.value.dots, note_of_dot)


def bracket(
    x: float, top: float, bottom: float, bulge: float, *, note: str | None = None, layer: Layer = "staff"
) -> Trace:
    """A round bracket with its feet at x, bulging to the left (below zero) or right."""
    reach = BRACKET_WIDTH * bulge
    points = tuple(
        (x + reach * (1 - (2 * t - 1) ** 2), top + (bottom - top) * t) for t in (i / 8 for i in range(9))
    )
    return Trace(points, 0.12, role="bracket", note=note, layer=layer)


def dots(x: float, y: float, count: int, note: str | None = None) -> Iterator[Ink]:
    """Augmentation dots in a row."""
    for index in range(count):
        yield Glyph("augmentationDot", x + index * (DOT_WIDTH + 0.2), y, role="dot", note=note)


def _ledger_lines(moment: MomentShape, x: float) -> Iterator[Ink]:
    """Those of all voices, so that heads side by side stand on one line."""
    heads = [head for shape in moment.columns for head in shape.heads]
    if any(shape.is_slash for shape in moment.columns):
        return
    low, high = min(head.step for head in heads), max(head.step for head in heads)
    for side in (1, -1):
        reach = high if side > 0 else low
        first = 10 if side > 0 else -2
        for step in range(first, reach + side, 2 * side):
            carried = [head for head in heads if (head.step - step) * side >= 0]
            left = x + min(head.dx for head in carried) - LEDGER_EXTENSION
            right = x + max(head.dx + head.width for head in carried) + LEDGER_EXTENSION
            yield Line(left, y_of(step), right, y_of(step), LEDGER, role="ledger")


def _stem(shape: ColumnShape, x: float, tip: float, *, flagged: bool) -> Iterator[Ink]:
    at = x + shape.stem_dx
    outer = shape.heads[0] if shape.up else shape.heads[-1]
    far = y_of(outer.step) + stem_start(outer.glyph, up=shape.up)
    yield Line(at, far, at, tip, STEM, role="stem")
    if flagged and shape.column.value.flags:
        name = flag_name(shape.column.value, up=shape.up)
        yield Glyph(name, at - STEM / 2, tip, role="flag")


def _beam_bar(bar: PlacedBar, voice: VoicePlan, crowd: _Crowd, drawing: Drawing) -> dict[int, float]:
    """Draw the beams of one voice in a bar; leaves the stem tip of each beamed column."""
    tips: dict[int, float] = {}
    columns = list(bar.columns(voice)) if voice.beams else []
    for group in voice.beams:
        shapes = [columns[index][1] for index in group]
        up = shapes[0].up
        xs = [columns[index][2] + shape.stem_dx for index, shape in zip(group, shapes, strict=True)]
        near = [shape.high if up else shape.low for shape in shapes]
        flags = [shape.column.value.flags for shape in shapes]
        tall = [_reach_to_beam(shape, crowd.strokes.get(shape.column.key)) for shape in shapes]
        left, right = beam_ends(xs, near, flags, tall, up=up)
        slope = (right - left) / (xs[-1] - xs[0])
        heights = [left + (x - xs[0]) * slope for x in xs]
        if crowd.obstacles:
            in_the_way = [*crowd.obstacles, *solid_boxes(list(crowd.strokes.values()))]
            shift = clear_beam(xs, heights, max(flags), in_the_way, up=up)
            heights = [height + shift for height in heights]
        tips.update(zip(group, heights, strict=True))
        levels = beam_levels([shape.column for shape in shapes], bar.plan.content.bar.meter.beat)
        drawing.ink.extend(beam_ink(xs, heights, levels, up=up))
    return tips


def _reach_to_beam(shape: ColumnShape, strokes: Glyph | None) -> float:
    """How far accidentals, and strokes through the stem, reach from the head next to the beam towards it."""
    return max(accidental_reach(shape), 0.0 if strokes is None else tremolo_reach(shape, strokes))


def beam_ink(
    xs: Sequence[float], heights: Sequence[float], levels: list[list[tuple[int, int, str]]], *, up: bool
) -> Iterator[Ink]:
    """Beams and beamlets between stems that end at the given heights."""
    slope = (heights[-1] - heights[0]) / (xs[-1] - xs[0])
    for level, runs in enumerate(levels):
        shift = level * BEAM_STEP * (1 if up else -1)
        for first, last, side in runs:
            left, right = xs[first] - STEM / 2, xs[last] + STEM / 2
            if side == "right":
                right = left + BEAMLET
            elif side == "left":
                left = right - BEAMLET
            y0 = heights[first] + (left - xs[first]) * slope + shift
            y1 = y0 + (right - left) * slope
            yield Line(left, y0, right, y1, BEAM, role="beam")
