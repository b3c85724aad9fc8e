"""What stands beside columns, drawn: grace notes, slides without a second note, goals of bends, rakes, rolls.

Their places were found with the columns (``beside.py``). y counts from the top line of the staff, or from the
line of string 1 in the tab.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from fretwright.engrave.beside import (
    GOAL_BRACKET,
    SLIDE_LENGTH,
    TRILL_GAP,
    Goal,
    GraceSlot,
    small_sign_gap,
)
from fretwright.engrave.glyphs import glyph
from fretwright.engrave.heads import GRACE_SCALE, SMALL_FRET_SIZE, fret_width, head_width
from fretwright.engrave.ink import Glyph, Ink, Line, Text, Trace, centred, ink_of
from fretwright.engrave.outlines import Face
from fretwright.engrave.pitches import y_of
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.rolls import staff_rolls, tab_rolls
from fretwright.engrave.shapes import MomentShape
from fretwright.engrave.staff import bracket
from fretwright.engrave.style import LEDGER, TAB_SPACE
from fretwright.score.note import Note
from fretwright.score.techniques import SlideEnd

GRACE_STEM: Final = 2.5
"""Length of a grace note's stem."""
_THIN: Final = 0.09
_LEAN: Final = 0.42
"""How far a slide's stroke rises or falls on either side of its middle."""
_TAB_LEAN: Final = 0.4
_BEAM: Final = 0.3
_BEAM_STEP: Final = 0.48


def staff_asides(system: PlacedSystem) -> list[list[Ink]]:
    """For each bar what stands beside its columns on the staff."""
    return [[each for shape, x in bar.moments for each in _beside_staff(shape, x)] for bar in system.bars]


def _beside_staff(shape: MomentShape, x: float) -> Iterator[Ink]:
    room = shape.beside
    for voice in (1, 2):
        slots = [slot for slot in room.graces if slot.voice == voice]
        if slots:
            yield from _graces(slots, x, up=slots[0].up)
    steps = {(head.head.note.id): y_of(head.step) for column in shape.columns for head in column.heads}
    strokes: dict[tuple[float, float, bool], Line] = {}
    for note, dx, _ in room.slides_in:
        rises = note.techniques.slide_in is SlideEnd.BELOW
        left, y = x + dx - SLIDE_LENGTH, steps[note.id]
        strokes.setdefault((left, y, rises), _slide(left, left + SLIDE_LENGTH, y, note, rises=rises))
    for note, dx, _ in room.slides_out:
        rises = note.techniques.slide_out is SlideEnd.ABOVE
        left, y = x + dx, steps[note.id]
        strokes.setdefault((left, y, rises), _slide(left, left + SLIDE_LENGTH, y, note, rises=rises))
    yield from strokes.values()  # two strings in unison share theirs
    for goal in room.goals:
        yield from _goal(goal, x, steps[goal.note.id], x + goal.start)
    yield from staff_rolls(room, shape.columns, x)


def _slide(left: float, right: float, y: float, note: Note, *, rises: bool) -> Line:
    away = _LEAN if rises else -_LEAN
    return Line(left, y + away, right, y - away, 0.16, role="slide", note=note.id)


def _graces(slots: Sequence[GraceSlot], x: float, *, up: bool) -> Iterator[Ink]:
    """Small notes with one flag and a stroke through it, or under two small beams."""
    half = head_width("noteheadBlack") / 2 * GRACE_SCALE
    side = -1 if up else 1
    tips = [y_of(slot.heads[-1].step if up else slot.heads[0].step) + side * GRACE_STEM for slot in slots]
    tip = min(tips) if up else max(tips)
    stems = [x + slot.dx + (half - _THIN / 2 if up else _THIN / 2 - half) for slot in slots]
    for slot, at in zip(slots, stems, strict=True):
        note = slot.heads[0].note.id
        for head in slot.heads:
            y = y_of(head.step)
            at_x = x + slot.dx + head.dx
            yield Glyph("noteheadBlack", at_x - half, y, GRACE_SCALE, role="grace-head", note=head.note.id)
            if head.accidental:
                wide = glyph(head.accidental).width_sp * GRACE_SCALE
                left = (
                    x
                    + slot.dx
                    - half
                    - small_sign_gap([each.step for each in slot.heads])
                    - head.sign_dx
                    - wide
                )
                yield Glyph(head.accidental, left, y, GRACE_SCALE, role="accidental", note=head.note.id)
        yield from _ledgers(slot, x, half)
        far = y_of(slot.heads[0].step) if up else y_of(slot.heads[-1].step)
        yield Line(at, far + side * 0.1, at, tip, _THIN, role="stem", note=note)
    if len(slots) > 1:
        for level in range(2):
            y = tip - side * level * _BEAM_STEP
            yield Line(stems[0] - _THIN / 2, y, stems[-1] + _THIN / 2, y, _BEAM, role="grace-beam")
        return
    note = slots[0].heads[0].note.id
    at = stems[0]
    yield Glyph(
        f"flag8th{'Up' if up else 'Down'}", at - _THIN / 2, tip, GRACE_SCALE, role="grace-flag", note=note
    )
    low, high = tip - side * 1.35, tip - side * 0.55
    points = ((at - 0.5, low), (at + 0.62, high))
    yield Trace(points, 0.1, role="grace-stroke", note=note)


def _ledgers(slot: GraceSlot, x: float, half: float) -> Iterator[Ink]:
    low, high = slot.heads[0].step, slot.heads[-1].step
    for at in [*range(10, high + 1, 2), *range(-2, low - 1, -2)]:
        dxs = [head.dx for head in slot.heads if (head.step >= at if at > 0 else head.step <= at)]
        left, right = x + slot.dx + min(dxs) - half, x + slot.dx + max(dxs) + half
        yield _ledger(at, left, right)


def _ledger(step: int, left: float, right: float) -> Line:
    return Line(left - 0.2, y_of(step), right + 0.2, y_of(step), LEDGER * 0.8, role="ledger")


def _goal(goal: Goal, x: float, y: float, start: float) -> Iterator[Ink]:
    """A stroke from the note to the small head it is bent to; the stroke alone where no head tells it."""
    note = goal.note.id
    if goal.step is None:
        yield Trace(((start, y - 0.1), (start + 0.7, y - 0.55)), 0.12, role="bend", note=note)
        return
    left, top = x + goal.dx, y_of(goal.step)
    yield Trace(
        ((start, y - 0.1), (left - 0.12, (y + top) / 2 if y - top > 1 else top)), 0.12, role="bend", note=note
    )
    at = left + GOAL_BRACKET
    if goal.accidental:
        yield Glyph(goal.accidental, at, top, GRACE_SCALE, role="accidental", note=note)
        at += glyph(goal.accidental).width_sp * GRACE_SCALE + small_sign_gap([goal.step])
    wide = head_width("noteheadBlack") * GRACE_SCALE
    yield Glyph("noteheadBlack", at, top, GRACE_SCALE, role="bend-goal", note=note)
    for ledger in [*range(10, goal.step + 1, 2), *range(-2, goal.step - 1, -2)]:
        yield _ledger(ledger, at, at + wide)
    for foot, side in ((left + 0.22, -1), (at + wide + 0.08, 1)):
        yield bracket(foot, top - 0.48, top + 0.48, 0.6 * side, note=note)
    if goal.note.techniques.bend and goal.note.techniques.bend.is_released:
        right = at + wide + 0.42
        yield Trace(((right, top + 0.1), (right + 0.6, top + 0.6)), 0.12, role="bend", note=note)


def tab_asides(system: PlacedSystem) -> list[Ink]:
    """What stands beside the fret numbers of a system, the arrows of bends left out."""
    return [each for shape, x in system.moments for each in _beside_tab(shape, x)]


def _beside_tab(shape: MomentShape, x: float) -> Iterator[Ink]:
    room = shape.beside
    for slot in room.graces:
        for head in slot.heads:
            string = head.note.techniques.graces[head.index].place.string
            yield _small(head.text, x + slot.dx, string, "grace-fret", head.note)
    for note, _, dx in room.slides_in:
        rises = note.techniques.slide_in is SlideEnd.BELOW
        yield _tab_slide(x + dx - SLIDE_LENGTH, note, rises=rises)
    for note, _, dx in room.slides_out:
        rises = note.techniques.slide_out is SlideEnd.ABOVE
        yield _tab_slide(x + dx, note, rises=rises)
    for note, crosses in room.rakes:
        for string, dx in crosses:
            yield _small("X", x + dx, string, "rake", note)
    yield from tab_rolls(room, x)
    for each in shape.moment.heads:
        trill = each.note.techniques.trill
        if trill is not None and not each.is_held:
            text = f"({trill.fret})"
            wide = ink_of(text, Face.SANS_SEMIBOLD, SMALL_FRET_SIZE).width
            middle = x + fret_width(each) / 2 + TRILL_GAP + wide / 2
            yield _small(text, middle, each.note.string, "auxiliary", each.note)


def _small(text: str, x: float, string: int, role: str, note: Note) -> Text:
    y = (string - 1) * TAB_SPACE - ink_of("0", Face.SANS_SEMIBOLD, SMALL_FRET_SIZE).top / 2
    return centred(text, Face.SANS_SEMIBOLD, SMALL_FRET_SIZE, x, y, role=role, note=note.id, layer="tab")


def _tab_slide(left: float, note: Note, *, rises: bool) -> Line:
    y = (note.string - 1) * TAB_SPACE
    away = _TAB_LEAN if rises else -_TAB_LEAN
    return Line(left, y + away, left + SLIDE_LENGTH, y - away, 0.13, role="slide", note=note.id, layer="tab")
