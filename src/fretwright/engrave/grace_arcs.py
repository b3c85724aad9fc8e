"""Small slurs from grace notes to the notes they are played into, on the staff and in the tab."""

from collections.abc import Iterator, Sequence
from itertools import product
from typing import Final

from fretwright.engrave.beside import GraceHead
from fretwright.engrave.heads import (
    FRET_SIZE,
    GRACE_SCALE,
    fret_text,
    fret_width,
    head_width,
    small_fret_width,
)
from fretwright.engrave.ink import Arc, Box, Ink, ink_of
from fretwright.engrave.outlines import Face
from fretwright.engrave.pitches import y_of
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.shapes import MomentShape
from fretwright.engrave.staff import Drawing, HeadSpot
from fretwright.engrave.style import DIGIT_HEIGHT, TAB_SPACE
from fretwright.engrave.taken import Taken, count_met
from fretwright.score.heads import Head
from fretwright.score.note import Note

_THIN: Final = 0.16
_TAB_RISE: Final = 0.24
_SMALL_FOOT: Final = 0.56
"""How far from its string an arc starts over a small number."""
_WHITE: Final = 0.15


def grace_arcs(system: PlacedSystem, drawing: Drawing) -> list[Ink]:
    """On the staff: from the first slurred grace note to its note, on the side away from the small stems.

    Of a chord only the outermost note's is drawn.
    """
    drawn: list[Ink] = []
    if not any(shape.beside.graces for shape, _ in system.moments):
        return drawn
    taken = Taken(drawing.ink)
    for shape, x in system.moments:
        if not shape.beside.graces:
            continue
        near = taken.near(x - shape.beside.left - 1, x + shape.beside.right + 1)
        for voice in (1, 2):
            side = next((1 if slot.up else -1 for slot in shape.beside.graces if slot.voice == voice), 1)
            slurred = [note for note in _slurred(shape) if _voice(shape, note) == voice]
            if slurred:
                note = min(slurred, key=lambda note: side * _first_head(shape, note).step)
                arc = _staff_arc(shape, note, x, drawing.heads[note.id, 0], side, near)
                if arc is not None:
                    drawn.append(arc)
                    taken.add(arc.boxes)
                    near += arc.boxes
    return drawn


def _staff_arc(
    shape: MomentShape, note: Note, x: float, spot: HeadSpot, side: int, taken: Sequence[Box]
) -> Arc | None:
    """As wide as there is room for: to the middle of the head, to its edge, to the edge of its accidentals.

    None where there is no room at all; the tab tells of the slur in any case.
    """
    own = [
        (x + slot.dx, y_of(head.step))
        for slot in shape.beside.graces
        for head in slot.heads
        if head.note is note and note.techniques.graces[head.index].is_slurred_on
    ]
    half = head_width("noteheadBlack") / 2 * GRACE_SCALE
    nearest = x - max(column.left for column in shape.columns) - 0.1
    middle = (spot.left + spot.right) / 2 - 0.1
    for (start, small), extra in product(dict.fromkeys((own[0], own[-1])), (0.0, 0.5, 1.0)):
        for towards in (side, -side):
            under, beside = (start, small + towards * 0.52), (start + half + 0.1, small + towards * 0.25)
            for (x0, y0), (x1, y1) in (
                (under, (middle, spot.y + towards * 0.72)),
                (under, (spot.left - 0.12, spot.y + towards * 0.35)),
                (beside, (spot.left - 0.12, spot.y + towards * 0.35)),
                (beside, (nearest, spot.y + towards * 0.3)),
                (beside, (nearest, small + towards * 0.25)),
            ):
                rise = towards * (min(0.5, 0.25 + 0.08 * (x1 - x0)) + extra)
                arc = Arc(x0, y0, x1, y1, rise, _THIN, role="slur")
                if x1 - x0 > 0.4 and not count_met(arc.boxes, taken):
                    return arc
    return None


def _voice(shape: MomentShape, note: Note) -> int:
    return next(slot.voice for slot in shape.beside.graces for head in slot.heads if head.note is note)


def _slurred(shape: MomentShape) -> list[Note]:
    """Notes that are reached from a grace note without a new pluck."""
    found: dict[str, Note] = {}
    for slot in shape.beside.graces:
        for head in slot.heads:
            if head.note.techniques.graces[head.index].is_slurred_on:
                found.setdefault(head.note.id, head.note)
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
    # An arc to a note of a rolled chord has to cross the wave before it.
    taken = Taken([each for each in drawing.ink if each.role != "roll"])
    for shape, x in system.moments:
        if not shape.beside.graces:
            continue
        near = taken.near(x - shape.beside.tab_left - 1, x + 1)
        for arc in _tab_arcs(shape, x, near):
            drawn.append(arc)
            taken.add(arc.boxes)
            near += arc.boxes
    return drawn


def _over(head: Head) -> float:
    """The same over a number of the usual size, brackets included."""
    return _WHITE - DIGIT_HEIGHT / 2 - ink_of(fret_text(head), Face.SANS_SEMIBOLD, FRET_SIZE).top


def _tab_arcs(shape: MomentShape, x: float, taken: Sequence[Box]) -> Iterator[Arc]:
    spots = {
        (head.note.id, head.index): (slot.dx, small_fret_width(head.text) / 2)
        for slot in shape.beside.graces
        for head in slot.heads
    }
    for (note_id, index), (dx, half) in spots.items():
        main = next(head for head in shape.moment.heads if head.note.id == note_id)
        note = main.note
        graces = note.techniques.graces
        if not graces[index].is_slurred_on:
            continue
        last = index + 1 == len(graces)
        end, end_half = (0.0, fret_width(main) / 2) if last else spots[note_id, index + 1]
        y = (graces[index].place.string - 1) * TAB_SPACE
        end_foot = _over(main) if last else _SMALL_FOOT
        centred = (x + dx + 0.05, x + end - 0.1)
        between = (x + dx + half + 0.08, x + end - end_half - 0.08)
        best: tuple[int, Arc] | None = None
        for side, (x0, x1), foot in (
            (-1, centred, end_foot), (1, centred, end_foot), (-1, between, _SMALL_FOOT),
            (1, between, _SMALL_FOOT), (-1, between, 0.2), (1, between, 0.2),
        ):  # fmt: skip
            y0, y1 = y + side * min(_SMALL_FOOT, foot), y + side * foot
            arc = Arc(x0, y0, x1, y1, side * _TAB_RISE, _THIN, role="slur", note=note_id, layer="tab")
            met = count_met(arc.boxes, taken)
            if best is None or met < best[0]:
                best = met, arc
            if not met:
                break
        assert best is not None  # noqa: S101 - the loop runs
        yield best[1]
