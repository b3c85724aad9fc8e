"""The cost of one step of the hand, note by note: the definition that every search agrees with.

A step's cost has two parts: what the grip costs whatever came before, and what coming to it costs.
"""

from operator import add
from typing import Final

from fretwright.fingering.cost import (
    BARRE_STRING_UM,
    BARRE_UM,
    CROWDED_PERMILLE,
    DISPLACEMENT_PERMILLE,
    LIFT_UM,
    ORDER_UM,
    RELIEF_PERMILLE,
    WEAK_FINGER_UM,
    Step,
    Terms,
    broken_um,
    crossing_um,
    pulling_um,
    same_finger_um,
    shift_um,
    step_faults,
    urgent,
    weak_slur_um,
)
from fretwright.fingering.events import Event, NewNote
from fretwright.fingering.grips import Grip, Pressed
from fretwright.fingering.ruler import NO_WAY, THUMB, Ruler
from fretwright.fretboard.neck import Place
from fretwright.score.note import Attack

_NOTHING: Final = Terms()


def step_um(ruler: Ruler, step: Step) -> int:
    """What a step costs in all."""
    return grip_um(ruler, step.grip, step.event) + coming_um(ruler, step)


def grip_um(ruler: Ruler, grip: Grip, event: Event) -> int:
    """What a grip costs whatever came before."""
    return sum(map(sum, _grip_terms(ruler, grip, event)))


def coming_um(ruler: Ruler, step: Step) -> int:
    """What coming to a grip costs."""
    if not step.grip.pressed and step.shifts:
        return NO_WAY  # with no finger down the hand stays; its next move is dearer by nothing
    return sum(map(sum, _coming_terms(ruler, step)))


def step_terms(ruler: Ruler, step: Step) -> tuple[Terms, ...]:
    """What each new note of a step costs, in the order of the event's notes.

    What belongs to the whole event (its shift, the way across the strings, what is broken) is counted on
    its first stopped note, or on its first note where none is stopped.
    """
    alone = _grip_terms(ruler, step.grip, step.event)
    coming = _coming_terms(ruler, step)
    return tuple(Terms(*map(add, one, other)) for one, other in zip(alone, coming, strict=True))


def _stopped(grip: Grip, event: Event) -> list[tuple[NewNote, Pressed | None, bool]]:
    """The new notes, what stops each, and whether its finger leads there.

    A finger leads on the first string that it stops anew: a barre is one finger and counts once.
    """
    new = sum(note.takes_finger for note in event.notes)
    taken = {one.finger for one in grip.pressed[new:]}
    pressed = iter(grip.pressed)
    found: list[tuple[NewNote, Pressed | None, bool]] = []
    for note in event.notes:
        one = next(pressed) if note.takes_finger else None
        found.append((note, one, one is not None and one.finger not in taken))
        if one is not None:
            taken.add(one.finger)
    return found


def _grip_terms(ruler: Ruler, grip: Grip, event: Event) -> list[Terms]:
    rate = CROWDED_PERMILLE if len(grip.pressed) > 1 else DISPLACEMENT_PERMILLE
    rows = []
    for note, one, leads in _stopped(grip, event):
        if one is None or not leads:
            rows.append(_NOTHING)
            continue
        in_range = 1 < one.finger < THUMB
        displaced_um = ruler.displacement_um(grip.position, one.finger, one.fret) if in_range else 0
        rows.append(
            Terms(
                stretch=_spread_um(ruler, grip, event, one),
                displacement=displaced_um * rate // 1000,
                weak_finger=WEAK_FINGER_UM[one.finger],
                pulling=pulling_um(note, one.finger),
                order=_order_um(grip, one),
            )
        )
    return rows


def _coming_terms(ruler: Ruler, step: Step) -> list[Terms]:
    relieved, shifts = step.is_relieved, step.shifts
    left_on = {one.string: one for one in step.before.pressed}
    rows, first = [], None
    laid: set[int] = set()
    for i, (note, one, leads) in enumerate(_stopped(step.grip, step.event)):
        if one is None:
            rows.append(_NOTHING)
            continue
        first = i if first is None else first
        slur_um = 0
        if note.attack.is_slur:
            left = left_on.get(one.string)
            slur_um = weak_slur_um(note.attack, left.finger if left else 0, one.finger)
        barre_um = 0 if one.finger in laid else _barre_um(step, one)
        laid.add(one.finger)
        if not leads:
            rows.append(Terms(weak_slur=slur_um, barre=barre_um))
            continue
        jump_um = (
            0 if relieved else urgent(_same_finger_um(ruler, step, note, one, shifts=shifts), step.event)
        )
        rows.append(
            Terms(
                stretch=0 if relieved or shifts else _lingering_um(ruler, step, one),
                same_finger=jump_um,
                weak_slur=slur_um,
                barre=barre_um,
            )
        )
    moved_um = shift_um(ruler, step)
    rows[first or 0] = rows[first or 0]._replace(
        shift=moved_um,
        relief=-(moved_um * RELIEF_PERMILLE // 1000) if relieved else 0,
        crossing=crossing_um(ruler, step.before_event, step.event),
        broken=broken_um(step_faults(ruler, step)),
    )
    return rows


def _spread_um(ruler: Ruler, grip: Grip, event: Event, one: Pressed) -> int:
    """Spread beyond comfort from the first finger's place, and from the other fingers of the grip."""
    if one.finger in (1, THUMB):
        return 0
    stretch_um = ruler.stretch_um(one.finger, one.fret, 1, grip.position)
    if len(grip.pressed) == 1:
        return stretch_um
    down = {other.finger: other.fret for other in reversed(grip.pressed)}
    new = sum(note.takes_finger for note in event.notes)
    held = {other.finger for other in grip.pressed[new:]}
    for finger, fret in down.items():
        if finger not in (1, one.finger, THUMB) and (finger < one.finger or finger in held):
            stretch_um += ruler.stretch_um(one.finger, one.fret, finger, fret)
    return stretch_um


def _lingering_um(ruler: Ruler, step: Step, one: Pressed) -> int:
    """Spread beyond comfort from a finger that has been down just before, in the same position."""
    if one.finger in (1, THUMB):
        return 0
    down = {other.finger for other in step.grip.pressed}
    return max(
        (
            ruler.stretch_um(one.finger, one.fret, other.finger, other.fret)
            for other in step.before.pressed
            if other.finger not in (1, THUMB) and other.finger not in down
        ),
        default=0,
    )


def _same_finger_um(ruler: Ruler, step: Step, note: NewNote, one: Pressed, *, shifts: bool) -> int:
    """What the finger pays for having just been elsewhere, or for taking a place over from another."""
    mine = [other for other in step.before.pressed if other.finger == one.finger]
    if mine:
        if any(other.string == one.string and other.fret == one.fret for other in mine):
            return 0
        if note.attack is Attack.SLIDE and any(other.string == one.string for other in mine):
            return 0
        place = Place(one.string, one.fret)
        return min(
            same_finger_um(ruler, Place(other.string, other.fret), place, carried=shifts) for other in mine
        )
    taken_over = any(other.string == one.string and other.fret == one.fret for other in step.before.pressed)
    return LIFT_UM if taken_over else 0


def _barre_um(step: Step, one: Pressed) -> int:
    """Laying a finger flat; a barre that already lies costs nothing."""
    if len(step.grip.pressed) == 1:
        return 0
    strings = [other.string for other in step.grip.pressed if other.finger == one.finger]
    lies = sum(other.finger == one.finger and other.fret == one.fret for other in step.before.pressed) > 1
    if len(strings) < 2 or lies:
        return 0
    cost_um = BARRE_UM + BARRE_STRING_UM * (max(strings) - min(strings) + 1)
    return cost_um if one.finger == 1 else 2 * cost_um


def _order_um(grip: Grip, one: Pressed) -> int:
    """Fingers that share a fret usually stand with the lower one on the lower-sounding string."""
    unusual = {
        other.finger
        for other in grip.pressed
        if other.fret == one.fret and other.finger < one.finger < THUMB and other.string < one.string
    }
    return ORDER_UM * len(unusual)
