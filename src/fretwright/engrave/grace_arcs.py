"""Small slurs from grace notes to the notes they are played into, on the staff and in the tab."""

from collections.abc import Iterator, Sequence
from typing import Final

from fretwright.engrave.beside import GraceHead
from fretwright.engrave.heads import GRACE_SCALE, head_width, small_fret_width
from fretwright.engrave.ink import Arc, Box, Ink
from fretwright.engrave.pitches import y_of
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.shapes import MomentShape
from fretwright.engrave.staff import Drawing, HeadSpot
from fretwright.engrave.style import TAB_SPACE
from fretwright.score.note import Note

_THIN: Final = 0.16
_TAB_RISE: Final = 0.34
_TAB_FOOT: Final = 0.78


def grace_arcs(system: PlacedSystem, drawing: Drawing) -> list[Ink]:
    """On the staff: from the first slurred grace note to its note, on the side away from the small stems.

    Of a chord only the outermost note's is drawn.
    """
    drawn: list[Ink] = []
    for shape, x in system.moments:
        if not shape.beside.graces:
            continue
        reach = shape.beside.left + 1
        near = [
            box
            for each in [*drawing.ink, *drawn]
            for box in each.boxes
            if x - reach < box.right and box.left < x + 1.5
        ]
        for voice, side in ((1, 1), (2, -1)):
            slurred = [each for each in _slurred(shape) if _voice(shape, each[0]) == voice]
            if slurred:
                note, dx = min(slurred, key=lambda each: side * _first_head(shape, each[0]).step)
                arc = _staff_arc(shape, note, x + dx, x, drawing.heads[note.id, 0], side, near)
                drawn.append(arc)
                near += arc.boxes
    return drawn


def _staff_arc(
    shape: MomentShape, note: Note, x0: float, x: float, spot: HeadSpot, side: int, taken: Sequence[Box]
) -> Arc:
    """As wide as there is room for: to the middle of the head, to its edge, to the edge of its accidentals."""
    small = y_of(_first_head(shape, note).step)
    half = head_width("noteheadBlack") / 2 * GRACE_SCALE
    nearest = min(x - shape.columns[0].left, *(x - column.left for column in shape.columns)) - 0.1
    ways = [
        (towards, start, end)
        for towards in (side, -side)
        for start, end in (
            ((x0, small + towards * 0.52), ((spot.left + spot.right) / 2 - 0.1, spot.y + towards * 0.72)),
            ((x0, small + towards * 0.52), (spot.left - 0.12, spot.y + towards * 0.35)),
            ((x0 + half + 0.1, small + towards * 0.25), (spot.left - 0.12, spot.y + towards * 0.35)),
            ((x0 + half + 0.1, small + towards * 0.25), (nearest, spot.y + towards * 0.3)),
            ((x0 + half + 0.1, small + towards * 0.25), (nearest, small + towards * 0.25)),
        )
    ]
    best: tuple[int, Arc] | None = None
    for towards, start, end in ways:
        rise = towards * min(0.5, 0.25 + 0.08 * (end[0] - start[0]))
        arc = Arc(*start, *end, rise, _THIN, role="slur")
        met = sum(piece.meets(box) for piece in arc.boxes for box in taken)
        if best is None or met < best[0]:
            best = met, arc
        if not met:
            break
    assert best is not None  # noqa: S101 - the list is not empty
    return best[1]


def _voice(shape: MomentShape, note: Note) -> int:
    return next(slot.voice for slot in shape.beside.graces for head in slot.heads if head.note is note)


def _slurred(shape: MomentShape) -> list[tuple[Note, float]]:
    """Notes that are reached from a grace note without a new pluck, and the axis of the first such."""
    found: dict[str, tuple[Note, float]] = {}
    for slot in shape.beside.graces:
        for head in slot.heads:
            if head.note.techniques.graces[head.index].is_slurred_on:
                found.setdefault(head.note.id, (head.note, slot.dx))
    return list(found.values())


def _first_head(shape: MomentShape, note: Note) -> GraceHead:
    return next(
        head
        for slot in shape.beside.graces
        for head in slot.heads
        if head.note is note and note.techniques.graces[head.index].is_slurred_on
    )


def tab_grace_arcs(system: PlacedSystem, drawing: Drawing) -> list[Ink]:
    """In the tab: from each slurred small number to the next number, over its string or under it."""
    drawn: list[Ink] = []
    for shape, x in system.moments:
        if not shape.beside.graces:
            continue
        near = [
            box
            for each in [*drawing.ink, *drawn]
            for box in each.boxes
            if x - shape.beside.tab_left - 1 < box.right and box.left < x + 1
        ]
        for arc in _tab_arcs(shape, x, near):
            drawn.append(arc)
            near += arc.boxes
    return drawn


def _tab_arcs(shape: MomentShape, x: float, taken: Sequence[Box]) -> Iterator[Arc]:
    spots = {
        (head.note.id, head.index): (slot.dx, small_fret_width(head.text) / 2)
        for slot in shape.beside.graces
        for head in slot.heads
    }
    for (note_id, index), (dx, half) in spots.items():
        note = next(head.note for head in shape.moment.heads if head.note.id == note_id)
        graces = note.techniques.graces
        if not graces[index].is_slurred_on:
            continue
        last = index + 1 == len(graces)
        end, end_half = (0.0, 0.45) if last else spots[note_id, index + 1]
        y = (note.string - 1) * TAB_SPACE
        centred = (x + dx + 0.05, x + end - 0.1)
        between = (x + dx + half + 0.08, x + end - end_half - 0.08)
        best: tuple[int, Arc] | None = None
        for side, (x0, x1), off in (
            (-1, centred, _TAB_FOOT), (1, centred, _TAB_FOOT), (-1, between, _TAB_FOOT),
            (1, between, _TAB_FOOT), (-1, between, 0.3), (1, between, 0.3),
        ):  # fmt: skip
            foot = y + side * off
            arc = Arc(x0, foot, x1, foot, side * _TAB_RISE, _THIN, role="slur", note=note_id, layer="tab")
            met = sum(piece.meets(box) for piece in arc.boxes for box in taken)
            if best is None or met < best[0]:
                best = met, arc
            if not met:
                break
        assert best is not None  # noqa: S101 - the loop runs
        yield best[1]
