"""What playing costs a hand, term by term, in millimetres.

The unit of every term is the millimetre of fingertip travel or spread along the neck, so that a teacher
can hold a ruler to it. Terms that are no distance (a weak finger, a barre) are set to the number of
millimetres that a player would move to be spared them: mm-equivalents (common practice, no source).

==============  =========================================================================================
stretch         spread beyond the comfortable one: between this finger and the first finger's place, and
                between this finger and the others down with it or, within one position, just before it;
                double between ring and little finger
displacement    half of the distance from the fret that the finger has to itself in this position; a
                tenth where several fingers are down, which crowd as the chord asks
shift           6 mm to start a move of the hand, and its length along the neck; 15 mm more between two
                notes of one string, whose line it breaks; in a slide its length alone
relief          half of the shift back where an open string or a rest covers it (never above 0)
same_finger     a finger that must stop another place next: its way across the strings when it rolls over
                to the neighbouring string at one fret; else 10 mm to lift it, its way across, and its
                way along the neck where the hand's own shift does not carry it; nothing in a slide, and
                nothing after an open string or a rest. 10 mm as well where another finger takes over a
                place that is already stopped
crossing        half of the picking hand's way across the strings, from the middle of the last event
weak_finger     1 mm for the ring finger, 2 mm for the little one, 12 mm for the thumb
weak_slur       what a slur asks of ring and little finger: 1 and 3 mm, and 2 and 4 mm more when both
                fingers of it are middle-ring and ring-little
barre           10 mm to lay a finger flat and 1 mm for each string under it; other fingers than the
                first double
pulling         what a bend asks of a finger other than the ring finger, which the others help from behind:
                6 mm of the middle finger, 12 of the little one, 24 of the first, 60 of the thumb; of a
                vibrato 3 mm for the little finger and 30 for the thumb
order           12 mm for each pair of fingers at one fret that stand in the unusual order
broken          100 km for each thing that cannot be done because of the notes (too far apart, held too
                long), ten times that for each that the fingers do wrong, so that the search does it only
                if it must and names what is really wrong
==============  =========================================================================================

Shift, same_finger and relief are multiplied by the event's urgency: 1 an eighth note after the last
event, from 0.5 with more time to 2 with less.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Final, NamedTuple

from fretwright.fingering.events import Event, NewNote
from fretwright.fingering.grips import Fault, FaultKind, Grip, Pressed, fault_weight
from fretwright.fingering.ruler import THUMB, UM_PER_MM, Ruler
from fretwright.fretboard.neck import Place
from fretwright.score.note import Attack

SHIFT_START_UM: Final = 6_000
ON_STRING_UM: Final = 15_000
LIFT_UM: Final = 10_000
BARRE_UM: Final = 10_000
BARRE_STRING_UM: Final = 1_000
ORDER_UM: Final = 12_000
BROKEN_UM: Final = 10**11
"""For each unit of weight of a fault."""
DISPLACEMENT_PERMILLE: Final = 500
CROWDED_PERMILLE: Final = 100
CROSSING_PERMILLE: Final = 500
RELIEF_PERMILLE: Final = 500
WEAK_FINGER_UM: Final = (0, 0, 0, 1_000, 2_000, 12_000)
"""By finger; 0 is an open string, 5 the thumb."""
WEAK_SLUR_UM: Final = (0, 0, 0, 1_000, 3_000, 0)
"""By the finger that hammers or pulls."""
BEND_UM: Final = (0, 24_000, 6_000, 0, 12_000, 60_000)
"""By the finger that pulls the string; the third has two helpers behind it (common practice, no source)."""
VIBRATO_UM: Final = (0, 0, 0, 0, 3_000, 30_000)
"""By the finger that shakes the string."""
_PAIR_SLUR_UM: Final = {(2, 3): 2_000, (3, 4): 4_000}


@dataclass(frozen=True, slots=True)
class NoteCost:
    """What one note costs, in mm-equivalents; every field is one term of the table above."""

    stretch: float = 0.0
    displacement: float = 0.0
    shift: float = 0.0
    relief: float = 0.0
    same_finger: float = 0.0
    crossing: float = 0.0
    weak_finger: float = 0.0
    weak_slur: float = 0.0
    barre: float = 0.0
    pulling: float = 0.0
    order: float = 0.0
    broken: float = 0.0

    @property
    def total(self) -> float:
        """All terms together."""
        return self._total_um / UM_PER_MM

    @property
    def terms(self) -> dict[str, float]:
        """The terms that are not 0, by name."""
        named = {field.name: getattr(self, field.name) for field in fields(self)}
        return {name: value for name, value in named.items() if value}

    @property
    def _total_um(self) -> int:
        return sum(round(getattr(self, field.name) * UM_PER_MM) for field in fields(self))


class Terms(NamedTuple):
    """The same terms in whole micrometres, as the search adds them up."""

    stretch: int = 0
    displacement: int = 0
    shift: int = 0
    relief: int = 0
    same_finger: int = 0
    crossing: int = 0
    weak_finger: int = 0
    weak_slur: int = 0
    barre: int = 0
    pulling: int = 0
    order: int = 0
    broken: int = 0


def pulling_um(note: NewNote, finger: int) -> int:
    """What a bend or a vibrato asks of the finger that stops the note."""
    if note.is_bent:
        return BEND_UM[finger]
    return VIBRATO_UM[finger] if note.is_shaken else 0


@lru_cache(maxsize=4096)
def note_cost(terms: Terms) -> NoteCost:
    """The terms in millimetres."""
    return NoteCost(*(term / UM_PER_MM for term in terms))


@dataclass(frozen=True, slots=True)
class Step:
    """From one held moment to the next."""

    before: Grip
    before_event: Event
    """Without notes at the start of the score."""
    grip: Grip
    event: Event

    @property
    def is_relieved(self) -> bool:
        """Whether the hand may move while no finger has to stay down."""
        return self.event.is_rested or not self.before.pressed

    @property
    def shifts(self) -> bool:
        """Whether the hand moves along the neck; setting it down for the first time is no move."""
        return self.before.position not in (0, self.grip.position)


def step_faults(ruler: Ruler, step: Step) -> tuple[Fault, ...]:
    """Everything about a step that cannot be played, the faults of its grip included."""
    before = {one.string: one for one in step.before.pressed}
    faults = list(step.grip.faults)
    stopped = [note for note in step.event.notes if note.takes_finger]
    for note, one in zip(stopped, step.grip.pressed, strict=False):
        left = before.get(one.string)
        if note.attack.is_slur and left is not None:
            faults += slur_faults(ruler, note.attack, left, one, shifts=step.shifts)
    for one in step.grip.pressed[len(stopped) :]:
        held = before.get(one.string)
        if held is None or held.finger != one.finger or step.shifts:
            faults.append(Fault(FaultKind.HOLD, one.string))
    return tuple(faults)


def broken_um(faults: Sequence[Fault]) -> int:
    """What the faults of a grip or a step cost."""
    return BROKEN_UM * fault_weight(faults) if faults else 0


def slur_faults(ruler: Ruler, attack: Attack, left: Pressed, one: Pressed, *, shifts: bool) -> list[Fault]:
    """What is wrong with slurring from one stopped place to another on the same string."""
    span_um = ruler.span_um(left.fret, one.fret)
    if attack is Attack.SLIDE:
        return [] if left.finger == one.finger else [Fault(FaultKind.SLIDE, one.string, 0, span_um)]
    faults = []
    if one.fret > left.fret and one.finger <= left.finger:
        faults.append(Fault(FaultKind.HAMMER, one.string, 0, span_um))
    if one.fret < left.fret and one.finger >= left.finger:
        faults.append(Fault(FaultKind.PULL, one.string, 0, span_um))
    if not faults and (shifts or not _reaches(ruler, left, one)):
        faults.append(Fault(FaultKind.SLUR_SHIFT, one.string, 0, span_um))
    return faults


def _reaches(ruler: Ruler, left: Pressed, one: Pressed) -> bool:
    if one.finger == left.finger or THUMB in (one.finger, left.finger):
        return True
    return ruler.reaches(left.finger, left.fret, one.finger, one.fret)


def weak_slur_um(attack: Attack, left_finger: int, finger: int) -> int:
    """What a hammer-on or pull-off costs its fingers; 0 is an open string."""
    if attack not in (Attack.HAMMER_ON, Attack.PULL_OFF):
        return 0
    working = finger if attack is Attack.HAMMER_ON else left_finger
    pair = (min(left_finger, finger), max(left_finger, finger))
    return WEAK_SLUR_UM[working] + _PAIR_SLUR_UM.get(pair, 0)


def crossing_um(ruler: Ruler, before: Event, event: Event) -> int:
    """What the picking hand's way across the strings costs."""
    return way_across_um(middle_um(ruler, before), middle_um(ruler, event))


def way_across_um(left_um: int | None, right_um: int | None) -> int:
    """The same from the middles of the two events."""
    if left_um is None or right_um is None:
        return 0
    return abs(right_um - left_um) * CROSSING_PERMILLE // 1000


def middle_um(ruler: Ruler, event: Event) -> int | None:
    """Where the picking hand is for an event, across the strings; ``None`` before the first one.

    It stays near the bridge, so that the spacing there is what it crosses.
    """
    if not event.notes:
        return None
    return sum(note.place.string for note in event.notes) * ruler.spacing_um // len(event.notes)


def same_finger_um(ruler: Ruler, left: Place, one: Place, *, carried: bool) -> int:
    """What it costs a finger to stop another place than the one it has just stopped.

    ``carried`` says that the hand shifts, which brings the finger along the neck.
    """
    across_um = abs(ruler.across_um(left) - ruler.across_um(one)) if left.string != one.string else 0
    if left.fret == one.fret and abs(left.string - one.string) == 1:
        return across_um
    return LIFT_UM + across_um + (0 if carried else ruler.span_um(left.fret, one.fret))


def shift_um(ruler: Ruler, step: Step) -> int:
    """What moving the hand costs, before any relief."""
    if not step.shifts:
        return 0
    strings = [one.string for grip in (step.before, step.grip) for one in grip.pressed]
    on_string = len(strings) == 2 and strings[0] == strings[1] and bool(step.before.pressed)
    return move_um(ruler, step.before.position, step.grip.position, step.event, on_string=on_string)


def move_um(ruler: Ruler, position: int, other: int, event: Event, *, on_string: bool) -> int:
    """What moving the hand from one position to another costs, before any relief.

    ``on_string`` says that it moves between two single notes of one string.
    """
    cost_um = ruler.span_um(position, other)
    if not any(note.attack is Attack.SLIDE for note in event.notes):
        cost_um += SHIFT_START_UM + (ON_STRING_UM if on_string else 0)
    return urgent(cost_um, event)


def urgent(cost_um: int, event: Event) -> int:
    """A cost of moving, by the time there is to move."""
    return cost_um * event.urgency_permille // 1000
