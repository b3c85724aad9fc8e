"""Costs of all steps between two sets of grips, each worked out once.

A single line has at most one finger down, so that a step's cost falls into three parts: the new finger in
its position, the two fingers against each other (with or without a shift between them), and the shift.
:func:`_plain_columns` adds those up from small tables; all else is priced grip by grip. Both give the same
numbers (a test compares them).
"""

from typing import Final

from fretwright.fingering.cost import (
    BROKEN_UM,
    DISPLACEMENT_PERMILLE,
    LIFT_UM,
    RELIEF_PERMILLE,
    WEAK_FINGER_UM,
    Step,
    crossing_um,
    move_um,
    same_finger_um,
    slur_faults,
    urgent,
    weak_slur_um,
)
from fretwright.fingering.events import Event, NewNote
from fretwright.fingering.grips import Choices, Grip, Pressed
from fretwright.fingering.price import step_um
from fretwright.fingering.ruler import NO_WAY, THUMB, Ruler
from fretwright.fretboard.neck import Place
from fretwright.score.note import Attack

Columns = list[list[int]]
"""For each grip of an event, the cost of coming to it from each grip of the event before, in micrometres."""

_ANY_FINGER: Final = range(THUMB + 1)


class Tables:
    """The step costs of one search."""

    def __init__(self, ruler: Ruler) -> None:
        self._ruler = ruler
        self._columns: dict[tuple[Choices, Choices], Columns] = {}
        self._moves: dict[tuple[int, int, bool, bool, bool], list[int]] = {}

    def columns(self, before: Choices, choices: Choices) -> Columns:
        """The step costs from every grip of one event to every grip of the next."""
        found = self._columns.get((before, choices))
        if found is None:
            if before.event.is_plain and choices.event.is_plain:
                found = self._plain_columns(before, choices)
            else:
                found = self._priced_columns(before, choices)
            self._columns[before, choices] = found
        return found

    def _priced_columns(self, before: Choices, choices: Choices) -> Columns:
        return [
            [step_um(self._ruler, Step(left, before.event, grip, choices.event)) for left in before.grips]
            for grip in choices.grips
        ]

    def _plain_columns(self, before: Choices, choices: Choices) -> Columns:
        event = choices.event
        crossing = crossing_um(self._ruler, before.event, event)
        note = next((note for note in event.notes if note.takes_finger), None)
        if note is None:
            return [
                [crossing if left.position == grip.position else NO_WAY for left in before.grips]
                for grip in choices.grips
            ]
        lefts = [(left.position, left.pressed[0].finger if left.pressed else 0) for left in before.grips]
        pressed = before.grips[0].pressed
        relieved = event.is_rested or not pressed
        on_string = bool(pressed) and pressed[0].string == note.place.string
        pairs = _FingerPairs(self._ruler, pressed, note, event, relieved=relieved)
        columns = []
        for grip in choices.grips:
            position = grip.position
            alone = crossing + _alone_um(self._ruler, grip)
            finger = grip.pressed[0].finger
            moves = self._moves_to(position, event, relieved=relieved, on_string=on_string)
            stay, moved = pairs.towards(finger)
            columns.append(
                [
                    alone + (stay[last] if at == position else moves[at] + moved[last])
                    for at, last in lefts
                ]
            )
        return columns

    def _moves_to(self, position: int, event: Event, *, relieved: bool, on_string: bool) -> list[int]:
        """The cost of coming to a position from each position."""
        slides = any(note.attack is Attack.SLIDE for note in event.notes)
        key = (position, event.urgency_permille, relieved, slides, on_string)
        found = self._moves.get(key)
        if found is None:
            frets = range(self._ruler.last_fret + 1)
            whole = [move_um(self._ruler, at, position, event, on_string=on_string) for at in frets]
            whole[0] = 0  # setting the hand down for the first time is no move
            found = [um - um * RELIEF_PERMILLE // 1000 for um in whole] if relieved else whole
            self._moves[key] = found
        return found


def _alone_um(ruler: Ruler, grip: Grip) -> int:
    """What one finger costs in its position, whatever came before."""
    ((_, fret, finger),) = grip.pressed
    cost_um = WEAK_FINGER_UM[finger] + BROKEN_UM * len(grip.faults)
    if 1 < finger < THUMB:
        displaced_um = ruler.displacement_um(grip.position, finger, fret)
        cost_um += displaced_um * DISPLACEMENT_PERMILLE // 1000
        cost_um += ruler.stretch_um(finger, fret, 1, grip.position)
    return cost_um


class _FingerPairs:
    """What the last finger and the next one cost each other."""

    def __init__(
        self, ruler: Ruler, before: tuple[Pressed, ...], note: NewNote, event: Event, *, relieved: bool
    ) -> None:
        self._ruler = ruler
        self._left = before[0] if before else None
        self._note = note
        self._event = event
        self._relieved = relieved
        self._slurred = note.attack.is_slur
        self._known: dict[int, tuple[list[int], list[int]]] = {}
        place = note.place
        if self._left is None or relieved:
            self._same_stay = self._same_moved = self._other = 0
            return
        left = Place(self._left.string, self._left.fret)
        self._other = urgent(LIFT_UM, event) if left == place else 0
        if left == place or (note.attack is Attack.SLIDE and left.string == place.string):
            self._same_stay = self._same_moved = 0
        else:
            self._same_stay = urgent(same_finger_um(ruler, left, place, carried=False), event)
            self._same_moved = urgent(same_finger_um(ruler, left, place, carried=True), event)

    def towards(self, finger: int) -> tuple[list[int], list[int]]:
        """The cost by last finger (0 where none was down): in one position, and over a shift."""
        found = self._known.get(finger)
        if found is None:
            found = self._known[finger] = self._towards(finger)
        return found

    def _towards(self, finger: int) -> tuple[list[int], list[int]]:
        stay = [self._other] * len(_ANY_FINGER)
        moved = stay.copy()
        stay[finger], moved[finger] = self._same_stay, self._same_moved
        left = self._left
        if left is not None and not self._relieved and finger not in (1, THUMB):
            for other in (2, 3, 4):
                if other != finger:
                    stay[other] += self._ruler.stretch_um(finger, self._note.place.fret, other, left.fret)
        if self._slurred:
            self._add_slur(finger, stay, moved)
        return stay, moved

    def _add_slur(self, finger: int, stay: list[int], moved: list[int]) -> None:
        place, attack, left = self._note.place, self._note.attack, self._left
        if left is None or left.string != place.string:
            cost_um = weak_slur_um(attack, 0, finger)
            stay[:] = [um + cost_um for um in stay]
            moved[:] = [um + cost_um for um in moved]
            return
        one = Pressed(place.string, place.fret, finger)
        for other in range(1, THUMB + 1):
            from_one = left._replace(finger=other)
            cost_um = weak_slur_um(attack, other, finger)
            for table, shifts in ((stay, False), (moved, True)):
                faults = slur_faults(self._ruler, attack, from_one, one, shifts=shifts)
                table[other] += cost_um + BROKEN_UM * len(faults)
