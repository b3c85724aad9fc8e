"""Every way a hand can hold what sounds at one moment.

A grip is a position and a finger for each stopped string. It is sound when

* no finger stops two frets; one that stops several strings at one fret lies flat (a barre) over no string
  that must sound lower or open, the first finger over any number, the others over three at most;
* a higher finger stands further up than a lower one, or at the same fret on a string that sounds higher
  (the teacher may fix it otherwise);
* no two fingers stand further apart along the neck than the hand's largest spread;
* the thumb stops the two lowest strings only, and only where the teacher says so.

Reaching across the strings bends fingers and does not spread them, so spreads count along the neck.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Final, NamedTuple

from fretwright.fingering.events import Event
from fretwright.fingering.ruler import FINGERS, THUMB, Ruler
from fretwright.fretboard.neck import Place

_CROWDED_FRETS: Final = 3
"""In a chord all four fingers may share one fret."""
_WIDEST_PLAIN_BARRE: Final = 3
_MOST_BROKEN_GRIPS: Final = 24
"""Where no grip is sound, only so many of those whose faults weigh least are looked at."""
_MOST_GRIPS: Final = 128
"""A chord that can be held in more ways (many strings at one fret) is searched over the likeliest of them;
no chord on six strings with fewer than five at one fret comes near."""


class FaultKind(StrEnum):
    """Why a note, a grip, or the step to it, cannot be played."""

    TWO_FRETS = "one-finger-two-frets"
    FINGERS_CROSSED = "fingers-crossed"
    REACH = "beyond-reach"
    BARRE = "barre-stops-string"
    THUMB = "thumb-too-far"
    HOLD = "cannot-hold"
    HAMMER = "hammer-on-finger"
    PULL = "pull-off-finger"
    SLIDE = "slide-finger"
    SLUR_SHIFT = "slur-over-shift"
    FINGER_ON_OPEN = "finger-on-open-string"
    OPEN_ON_FRET = "open-on-fret"
    OFF_NECK = "off-the-neck"


_CHOSEN: Final = 10
FAULT_WEIGHTS: Final = {
    FaultKind.REACH: 1,
    FaultKind.HOLD: 1,
    FaultKind.SLUR_SHIFT: 1,
    FaultKind.TWO_FRETS: _CHOSEN,
    FaultKind.FINGERS_CROSSED: _CHOSEN,
    FaultKind.BARRE: _CHOSEN,
    FaultKind.THUMB: _CHOSEN,
    FaultKind.HAMMER: _CHOSEN,
    FaultKind.PULL: _CHOSEN,
    FaultKind.SLIDE: _CHOSEN,
}
"""How much each fault of a grip or a step weighs. What follows from the notes weighs least, so that the
search does not cross fingers, say, to hide that two notes are too far apart; it rather takes on up to nine of
the lighter faults. Faults of single notes that no choice of fingers changes are not weighed."""


class Fault(NamedTuple):
    """One thing wrong with a grip or a step."""

    kind: FaultKind
    string: int
    """The string of the note that it is reported at."""
    other: int = 0
    """The string of the other note, where two contradict each other."""
    stretch_um: int = 0
    """Distance along the neck between the two fingertips."""


def fault_weight(faults: Iterable[Fault]) -> int:
    """What the faults of a grip or a step weigh together."""
    return sum(FAULT_WEIGHTS[fault.kind] for fault in faults)


class Pressed(NamedTuple):
    """A finger on a string."""

    string: int
    fret: int
    finger: int


@dataclass(frozen=True, slots=True)
class Grip:
    """How the hand holds one moment."""

    position: int
    """Fret of the first finger, or where it hovers; 0 before the hand has been set down."""
    pressed: tuple[Pressed, ...] = ()
    """New notes from the lowest string up, then held ones in the same order."""
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Choices:
    """The grips of one event; the search picks one. Each is equal to itself alone."""

    event: Event
    grips: tuple[Grip, ...]
    dropped: tuple[Place, ...] = ()
    """Held places that no grip can hold on to."""
    bias_um: int = 0
    """What these places cost by themselves, where others could be chosen."""


def choices_for(ruler: Ruler, event: Event, positions: Iterable[int]) -> Choices:
    """The grips of an event, the likeliest first.

    With no finger down the hand stays where it was: one grip for each of ``positions``, those that it may
    have had before.
    """
    if not event.needs_fingers:
        return Choices(event, tuple(Grip(position) for position in positions))
    if event.is_plain:
        stopped = [note for note in event.notes if note.takes_finger]
        note = stopped[0]
        return Choices(event, single_grips(ruler, note.place, note.finger))
    return _chord_choices(ruler, event)


@lru_cache(maxsize=4096)
def single_grips(ruler: Ruler, place: Place, fixed: int | None) -> tuple[Grip, ...]:
    """The grips of one stopped note, nearest to one finger per fret first."""
    found = []
    for finger in (fixed,) if fixed else FINGERS:
        positions = ruler.positions(finger, place.fret)
        if fixed and not positions:
            positions = ruler.positions(finger, place.fret, _CROWDED_FRETS)
        faults = _thumb_faults(ruler, place, finger)
        pressed = (Pressed(place.string, place.fret, finger),)
        found += [Grip(position, pressed, faults) for position in positions]
    found.sort(key=lambda grip: _likeliness(ruler, grip))
    return tuple(found)


def _likeliness(ruler: Ruler, grip: Grip) -> tuple[int, tuple[int, ...], int]:
    off_um = sum(
        ruler.displacement_um(grip.position, finger, fret)
        for _, fret, finger in grip.pressed
        if 1 < finger < 5
    )
    return off_um, tuple(finger for _, _, finger in grip.pressed), grip.position


def _thumb_faults(ruler: Ruler, place: Place, finger: int) -> tuple[Fault, ...]:
    if finger != THUMB or place.string >= ruler.neck.tuning.string_count - 1:
        return ()
    return (Fault(FaultKind.THUMB, place.string),)


def _chord_choices(ruler: Ruler, event: Event) -> Choices:
    """The grips of several fingers at once, letting go of held notes where nothing else helps."""
    held = event.held
    least, grips = _chord_grips(ruler, event, held)
    while least and held:
        less, freer = _chord_grips(ruler, event, held[1:])
        held = held[1:]
        if less < least:
            least, grips = less, freer
        elif not held:
            held = event.held
            break
    kept = _kept(grips, event)
    dropped = tuple(place for place in event.held if place not in kept)
    if dropped:
        event = _without(event, dropped)
    return Choices(event, grips, dropped)


def _kept(grips: Sequence[Grip], event: Event) -> set[Place]:
    new = {note.place for note in event.notes}
    return {Place(string, fret) for string, fret, _ in grips[0].pressed} - new if grips else set()


def _without(event: Event, dropped: Sequence[Place]) -> Event:
    held = tuple(place for place in event.held if place not in dropped)
    return Event(event.notes, held, event.held_open, event.urgency_permille, event.is_rested)


def _chord_grips(ruler: Ruler, event: Event, held: Sequence[Place]) -> tuple[int, tuple[Grip, ...]]:
    """The least that the faults of any grip weigh, and the grips whose faults weigh no more."""
    new = [note for note in event.notes if note.takes_finger]
    places = [note.place for note in new] + list(held)
    if not places:
        return 0, (Grip(0),)
    fixed = [note.finger for note in new] + [None] * len(held)
    sounding = {place.string: place.fret for place in places}
    sounding |= dict.fromkeys(event.held_open, 0)
    sounding |= {note.place.string: 0 for note in event.notes if note.place.fret == 0}
    search = _Assignments(ruler, places, fixed, sounding)
    grips = [
        Grip(position, pressed, faults)
        for pressed, faults in search.found
        for position in _chord_positions(ruler, pressed)
    ]
    grips.sort(key=lambda grip: (sum(fault.stretch_um for fault in grip.faults), *_likeliness(ruler, grip)))
    del grips[_MOST_BROKEN_GRIPS if search.least else _MOST_GRIPS :]
    return search.least, tuple(grips)


def _chord_positions(ruler: Ruler, pressed: Sequence[Pressed]) -> Sequence[int]:
    """The positions that suit every finger, or else the one that suits the lowest."""
    ranges = [ruler.positions(finger, fret, _CROWDED_FRETS) for _, fret, finger in pressed]
    common = range(max(r.start for r in ranges), min(r.stop for r in ranges))
    if common:
        return common
    return (max(1, min(fret for _, fret, _ in pressed)),)


_MOST_STEPS: Final = 6000
"""How far the search for assignments goes: enough for all of them on six strings. On more strings it ends
early only where no sound grip exists."""


class _Assignments:
    """All assignments of fingers to places whose faults weigh least, found depth first with a bound."""

    def __init__(
        self, ruler: Ruler, places: Sequence[Place], fixed: Sequence[int | None], sounding: dict[int, int]
    ) -> None:
        self._ruler = ruler
        self._places = places
        self._fixed = fixed
        self._sounding = sounding
        frets = sorted({place.fret for place in places})
        # The likeliest finger first, so that the bound is good from the start.
        self._likeliest = {
            fret: sorted(FINGERS, key=lambda finger: abs(finger - rank))
            for rank, fret in enumerate(frets, start=1)
        }
        self._steps = 0
        self.least = len(places) ** 2 * max(FAULT_WEIGHTS.values())
        self.found: list[tuple[tuple[Pressed, ...], tuple[Fault, ...]]] = []
        self._extend((), (), 0)

    def _extend(self, pressed: tuple[Pressed, ...], faults: tuple[Fault, ...], weight: int) -> None:
        self._steps += 1
        if self._steps > _MOST_STEPS and self.found:
            return
        enough = self.least > 0 and len(self.found) >= _MOST_BROKEN_GRIPS
        if weight > self.least or (enough and weight == self.least):
            return
        if len(pressed) == len(self._places):
            if weight < self.least:
                self.least = weight
                self.found.clear()
            self.found.append((pressed, faults))
            return
        place, fixed = self._places[len(pressed)], self._fixed[len(pressed)]
        for finger in (fixed,) if fixed else self._likeliest[place.fret]:
            one = Pressed(place.string, place.fret, finger)
            more = list(_thumb_faults(self._ruler, place, finger))
            for other in pressed:
                fault = self._fault_between(other, one)
                if fault:
                    more.append(fault)
            self._extend((*pressed, one), (*faults, *more), weight + fault_weight(more))

    def _fault_between(self, a: Pressed, b: Pressed) -> Fault | None:
        """What is wrong with two fingers down together; ``b`` is the one it is reported at."""
        span_um = self._ruler.span_um(a.fret, b.fret)
        if a.finger == b.finger:
            if a.fret != b.fret:
                return Fault(FaultKind.TWO_FRETS, b.string, a.string, span_um)
            return Fault(FaultKind.BARRE, b.string, a.string) if self._barre_fails(a, b) else None
        if THUMB in (a.finger, b.finger):
            return None
        if self._crossed(a, b):
            return Fault(FaultKind.FINGERS_CROSSED, b.string, a.string, span_um)
        if not self._ruler.reaches(a.finger, a.fret, b.finger, b.fret):
            return Fault(FaultKind.REACH, b.string, a.string, span_um)
        return None

    def _crossed(self, a: Pressed, b: Pressed) -> bool:
        """Whether two fingers stand in an order that hands do not take by themselves."""
        low, high = (a, b) if a.finger < b.finger else (b, a)
        if low.fret != high.fret:
            return low.fret > high.fret
        return low.string < high.string and not self._is_fixed(a) and not self._is_fixed(b)

    def _is_fixed(self, one: Pressed) -> bool:
        return self._fixed[self._places.index(Place(one.string, one.fret))] is not None

    def _barre_fails(self, a: Pressed, b: Pressed) -> bool:
        """Whether a finger laid from one string to the other would stop a string that must sound lower."""
        low, high = sorted((a.string, b.string))
        if a.finger != 1 and high - low >= _WIDEST_PLAIN_BARRE:
            return True
        return any(self._sounding.get(string, a.fret) < a.fret for string in range(low + 1, high))
