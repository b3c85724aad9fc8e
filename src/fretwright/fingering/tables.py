"""Costs of all steps between two sets of grips, each worked out once.

A single line has at most one finger down, so that the cost of a step falls into three parts: the new
finger in its position, the two fingers against each other (with or without a shift between them), and the
shift. :meth:`Tables._plain_columns` adds those up from small tables; all else is priced grip by grip. Both
give the same numbers (a test compares them).
"""

from operator import add
from typing import Final, NamedTuple

from fretwright.fingering.cost import (
    DISPLACEMENT_PERMILLE,
    LIFT_UM,
    RELIEF_PERMILLE,
    WEAK_FINGER_UM,
    Step,
    broken_um,
    middle_um,
    move_um,
    pulling_um,
    same_finger_um,
    slur_faults,
    urgent,
    way_across_um,
    weak_slur_um,
)
from fretwright.fingering.events import Event, NewNote
from fretwright.fingering.grips import Choices, Grip, Pressed
from fretwright.fingering.price import coming_um, grip_um
from fretwright.fingering.ruler import FINGERS, NO_WAY, THUMB, Ruler
from fretwright.fretboard.neck import Place
from fretwright.score.note import Attack

_ANY_FINGER: Final = range(THUMB + 1)
"""What lists that go by finger are indexed by; 0 stands for none."""


class Columns(NamedTuple):
    """The costs of all steps from the grips of one event to those of the next, in micrometres."""

    steps: list[list[int]]
    """For each grip of the later event, what depends on the grip before, by that grip."""
    alone: list[int]
    """For each grip of the later event, what it costs whatever came before."""


class _Hands(NamedTuple):
    """The plain grips of one event, as the tables need them."""

    at: list[tuple[int, int]]
    """Position and finger of each grip; finger 0 where none is down."""
    alone: list[int]
    pressed: Pressed | None
    """String and fret of the one stopped note; its finger is of no account."""
    middle_um: int | None


class Tables:
    """The step costs of one search."""

    def __init__(self, ruler: Ruler) -> None:
        self._ruler = ruler
        self._columns: dict[tuple[Choices, Choices], Columns] = {}
        self._hands: dict[Choices, _Hands] = {}
        self._moves: dict[tuple[int, bool, bool, bool], list[list[int]]] = {}
        self._slur_pairs: dict[tuple[object, ...], list[tuple[list[int], list[int]]]] = {}
        self._stretches: dict[tuple[int, int], list[list[int]]] = {}

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
        ruler, event = self._ruler, choices.event
        steps = [
            [coming_um(ruler, Step(left, before.event, grip, event)) for left in before.grips]
            for grip in choices.grips
        ]
        return Columns(steps, [grip_um(ruler, grip, event) for grip in choices.grips])

    def _plain_columns(self, before: Choices, choices: Choices) -> Columns:
        lefts, rights = self._hands_of(before), self._hands_of(choices)
        crossing_um = way_across_um(lefts.middle_um, rights.middle_um)
        alone = [crossing_um + um for um in rights.alone]
        if rights.pressed is None:
            # With no finger down the hand stays; its next move is dearer by nothing.
            steps = [[0 if at == stands else NO_WAY for at, _ in lefts.at] for stands, _ in rights.at]
            return Columns(steps, alone)
        note = next(note for note in choices.event.notes if note.takes_finger)
        moves = self._moves_towards(choices.event, lefts.pressed, note)
        pairs = self._finger_pairs(lefts.pressed, note, choices.event)
        steps = []
        for position, finger in rights.at:
            (stay, moved), towards = pairs[finger], moves[position]
            steps.append(
                [stay[last] if at == position else towards[at] + moved[last] for at, last in lefts.at]
            )
        return Columns(steps, alone)

    def _hands_of(self, choices: Choices) -> _Hands:
        found = self._hands.get(choices)
        if found is None:
            grips = choices.grips
            pressed = grips[0].pressed[0] if grips[0].pressed else None
            at = [(grip.position, grip.pressed[0].finger if grip.pressed else 0) for grip in grips]
            stopped = next((note for note in choices.event.notes if note.takes_finger), None)
            alone = [_alone_um(self._ruler, grip, stopped) if grip.pressed else 0 for grip in grips]
            found = self._hands[choices] = _Hands(at, alone, pressed, middle_um(self._ruler, choices.event))
        return found

    def _moves_towards(self, event: Event, left: Pressed | None, note: NewNote) -> list[list[int]]:
        """The cost of coming to each position from each position."""
        on_string = left is not None and left.string == note.place.string
        slides = note.attack is Attack.SLIDE
        relieved = left is None or event.is_rested
        key = (event.urgency_permille, relieved, on_string, slides)
        found = self._moves.get(key)
        if found is None:
            frets = range(self._ruler.last_fret + 1)
            found = self._moves[key] = [
                [
                    _relieved(move_um(self._ruler, at, to, event, on_string=on_string), relieved)
                    for at in frets
                ]
                for to in frets
            ]
            for row in found:
                row[0] = 0  # setting the hand down for the first time is no move
        return found

    def _finger_pairs(
        self, left: Pressed | None, note: NewNote, event: Event
    ) -> list[tuple[list[int], list[int]]]:
        """What the last finger costs each next one, by last finger: in one position, and over a shift."""
        none = [0] * len(_ANY_FINGER)
        pairs = [(none, none)] * len(_ANY_FINGER)
        if left is not None and not event.is_rested:
            pairs = self._hindered(Place(left.string, left.fret), note, event)
        if not note.attack.is_slur:
            return pairs
        joined = left is not None and left.string == note.place.string
        slurs = self._slurs(note.attack, left.fret if left and joined else 0, note.place.fret)
        return [
            (list(map(add, stay, slurred_stay)), list(map(add, moved, slurred_moved)))
            for (stay, moved), (slurred_stay, slurred_moved) in zip(pairs, slurs, strict=True)
        ]

    def _hindered(self, left: Place, note: NewNote, event: Event) -> list[tuple[list[int], list[int]]]:
        """The finger pairs of two notes with no time in between: stretches and same-finger jumps."""
        ruler, place = self._ruler, note.place
        stay_um = moved_um = other_um = 0
        if left == place:
            other_um = urgent(LIFT_UM, event)
        elif note.attack is not Attack.SLIDE or left.string != place.string:
            stay_um = urgent(same_finger_um(ruler, left, place, carried=False), event)
            moved_um = urgent(same_finger_um(ruler, left, place, carried=True), event)
        pairs = []
        for finger, stretches in enumerate(self._stretches_between(left.fret, place.fret)):
            stay = [um + other_um for um in stretches] if other_um else stretches.copy()
            moved = [other_um] * len(_ANY_FINGER)
            stay[finger], moved[finger] = stay_um, moved_um
            pairs.append((stay, moved))
        return pairs

    def _stretches_between(self, left_fret: int, fret: int) -> list[list[int]]:
        """By next and last finger, the stretch between two fingers one after the other in one position.

        The first finger has none: it stands where its position is, which each note is priced against.
        """
        found = self._stretches.get((left_fret, fret))
        if found is None:
            found = [[0] * len(_ANY_FINGER) for _ in range(len(_ANY_FINGER))]
            for finger in FINGERS[1:]:
                for last in FINGERS[1:]:
                    if last != finger:
                        found[finger][last] = self._ruler.stretch_um(finger, fret, last, left_fret)
            self._stretches[left_fret, fret] = found
        return found

    def _slurs(self, attack: Attack, left_fret: int, fret: int) -> list[tuple[list[int], list[int]]]:
        """What a slur adds to each finger pair; ``left_fret`` is 0 where it leaves no stopped note."""
        # Frets matter only by their direction and by which fingers reach from one to the other.
        span_um = self._ruler.span_um(left_fret, fret)
        reach = tuple(span_um <= largest_um for largest_um in self._ruler.largest_um.values())
        key = (attack, left_fret > 0, (fret > left_fret) - (fret < left_fret), reach)
        found = self._slur_pairs.get(key)
        if found is None:
            found = self._slur_pairs[key] = [
                (
                    [
                        self._slur_um(attack, last, left_fret, finger, fret, shifts=False)
                        for last in _ANY_FINGER
                    ],
                    [
                        self._slur_um(attack, last, left_fret, finger, fret, shifts=True)
                        for last in _ANY_FINGER
                    ],
                )
                for finger in _ANY_FINGER
            ]
        return found

    def _slur_um(
        self, attack: Attack, last: int, left_fret: int, finger: int, fret: int, *, shifts: bool
    ) -> int:
        if not (left_fret and last and finger):
            return weak_slur_um(attack, 0, finger)
        left, one = Pressed(0, left_fret, last), Pressed(0, fret, finger)
        faults = slur_faults(self._ruler, attack, left, one, shifts=shifts)
        return weak_slur_um(attack, last, finger) + broken_um(faults)


def _alone_um(ruler: Ruler, grip: Grip, note: NewNote | None) -> int:
    """What one finger costs in its position, whatever came before."""
    ((_, fret, finger),) = grip.pressed
    cost_um = WEAK_FINGER_UM[finger] + broken_um(grip.faults)
    cost_um += pulling_um(note, finger) if note is not None else 0
    if 1 < finger < THUMB:
        displaced_um = ruler.displacement_um(grip.position, finger, fret)
        cost_um += displaced_um * DISPLACEMENT_PERMILLE // 1000
        cost_um += ruler.stretch_um(finger, fret, 1, grip.position)
    return cost_um


def _relieved(cost_um: int, relieved: bool) -> int:  # noqa: FBT001 - called in the inner loop
    return cost_um - cost_um * RELIEF_PERMILLE // 1000 if relieved else cost_um
