"""The cost of one step of the hand, note by note: the definition that every search agrees with."""

from fretwright.fingering.cost import (
    BARRE_STRING_UM,
    BARRE_UM,
    BROKEN_UM,
    CROWDED_PERMILLE,
    DISPLACEMENT_PERMILLE,
    LIFT_UM,
    ORDER_UM,
    RELIEF_PERMILLE,
    WEAK_FINGER_UM,
    Step,
    Terms,
    crossing_um,
    same_finger_um,
    shift_um,
    step_faults,
    urgent,
    weak_slur_um,
)
from fretwright.fingering.events import NewNote
from fretwright.fingering.grips import Pressed
from fretwright.fingering.ruler import NO_WAY, THUMB, Ruler
from fretwright.fretboard.neck import Place
from fretwright.score.note import Attack


def step_um(ruler: Ruler, step: Step) -> int:
    """What a step costs in all."""
    if not step.grip.pressed and step.shifts:
        return NO_WAY  # with no finger down the hand stays; its next move is dearer by nothing
    return sum(sum(terms) for terms in step_terms(ruler, step))


def step_terms(ruler: Ruler, step: Step) -> tuple[Terms, ...]:
    """What each new note of a step costs, in the order of the event's notes.

    What belongs to the whole event (its shift, the way across the strings, what is broken) is counted on
    its first stopped note, or on its first note where none is stopped.
    """
    stopped = [i for i, note in enumerate(step.event.notes) if note.takes_finger]
    of_note = dict(zip(stopped, step.grip.pressed, strict=False))
    leads = _leading(step, len(stopped))
    rows = [
        _note_terms(ruler, step, note, of_note[i], leads=of_note[i] in leads) if i in of_note else Terms()
        for i, note in enumerate(step.event.notes)
    ]
    first = stopped[0] if stopped else 0
    moved_um = shift_um(ruler, step)
    rows[first] = rows[first]._replace(
        shift=moved_um,
        relief=-(moved_um * RELIEF_PERMILLE // 1000) if step.is_relieved else 0,
        crossing=crossing_um(ruler, step.before_event, step.event),
        broken=BROKEN_UM * len(step_faults(ruler, step)),
    )
    return tuple(rows)


def _leading(step: Step, new: int) -> set[Pressed]:
    """The first string that each finger stops anew: a barre is one finger and counts once."""
    taken = {one.finger for one in step.grip.pressed[new:]}
    leads = set()
    for one in step.grip.pressed[:new]:
        if one.finger not in taken:
            taken.add(one.finger)
            leads.add(one)
    return leads


def _note_terms(ruler: Ruler, step: Step, note: NewNote, one: Pressed, *, leads: bool) -> Terms:
    left = next((other for other in step.before.pressed if other.string == one.string), None)
    left_finger = left.finger if left is not None and note.attack.is_slur else 0
    slur_um = weak_slur_um(note.attack, left_finger, one.finger) if note.attack.is_slur else 0
    if not leads:
        return Terms(weak_slur=slur_um)
    position = step.grip.position
    in_range = 1 < one.finger < THUMB
    displaced_um = ruler.displacement_um(position, one.finger, one.fret) if in_range else 0
    rate = CROWDED_PERMILLE if len(step.grip.pressed) > 1 else DISPLACEMENT_PERMILLE
    return Terms(
        stretch=_stretch_um(ruler, step, one),
        displacement=displaced_um * rate // 1000,
        same_finger=urgent(_same_finger_um(ruler, step, note, one), step.event),
        weak_finger=WEAK_FINGER_UM[one.finger],
        weak_slur=slur_um,
        barre=_barre_um(step, one),
        order=_order_um(step, one),
    )


def _stretch_um(ruler: Ruler, step: Step, one: Pressed) -> int:
    """Spread beyond comfort: from the first finger's place, within the grip, and from just before."""
    if one.finger in (1, THUMB):
        return 0
    stretch_um = ruler.stretch_um(one.finger, one.fret, 1, step.grip.position)
    down = {other.finger: other.fret for other in reversed(step.grip.pressed)}
    new = sum(note.takes_finger for note in step.event.notes)
    held = {other.finger for other in step.grip.pressed[new:]}
    for finger, fret in down.items():
        if finger not in (1, one.finger, THUMB) and (finger < one.finger or finger in held):
            stretch_um += ruler.stretch_um(one.finger, one.fret, finger, fret)
    if not step.is_relieved and not step.shifts:
        stretch_um += max(
            (
                ruler.stretch_um(one.finger, one.fret, other.finger, other.fret)
                for other in step.before.pressed
                if other.finger not in (1, THUMB) and other.finger not in down
            ),
            default=0,
        )
    return stretch_um


def _same_finger_um(ruler: Ruler, step: Step, note: NewNote, one: Pressed) -> int:
    if step.is_relieved:
        return 0
    before = step.before.pressed
    mine = [other for other in before if other.finger == one.finger]
    if mine:
        if any(other.string == one.string and other.fret == one.fret for other in mine):
            return 0
        if note.attack is Attack.SLIDE and any(other.string == one.string for other in mine):
            return 0
        place = Place(one.string, one.fret)
        return min(
            same_finger_um(ruler, Place(other.string, other.fret), place, carried=step.shifts)
            for other in mine
        )
    taken_over = any(other.string == one.string and other.fret == one.fret for other in before)
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


def _order_um(step: Step, one: Pressed) -> int:
    """Fingers that share a fret usually stand with the lower one on the lower-sounding string."""
    if len(step.grip.pressed) == 1:
        return 0
    unusual = {
        other.finger
        for other in step.grip.pressed
        if other.fret == one.fret and other.finger < one.finger < THUMB and other.string < one.string
    }
    return ORDER_UM * len(unusual)
