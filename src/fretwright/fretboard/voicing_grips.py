"""Fingers for the frets of a chord: which finger holds what, where one lies flat, and what it costs.

A grip is sound when

* no finger stops two frets; one that stops several strings at one fret lies flat over strings that sound no
  lower and are not silent, the first finger over any number of strings, the others over three at most;
* a flat finger does not silence a higher string that must sound lower: narrow ones are bent back, at a cost,
  wide ones cannot be;
* a higher finger stands at the same fret or further up than a lower one; at one fret the higher finger
  stands on the higher string, or two fingertips the other way round, at a cost;
* no two fingers stand further apart along the neck than the hand's largest spread
  (:mod:`fretwright.fretboard.reach`); reaching across the strings bends fingers and does not spread them;
* the thumb, where it is allowed, stops the lowest string, at most a fret from the first finger.

All sound grips are priced and the cheapest is taken; :class:`~fretwright.fretboard.voicing.Ease` says how.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import combinations, permutations, product
from typing import Final, NamedTuple

from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.reach import Hand
from fretwright.fretboard.voicing import THUMB, Barre, Ease, Frets, Grip

FINGER_MM: Final = 3.0
POSITION_MM: Final = 6.0
_WEAK_MM: Final = (0.0, 0.0, 0.0, 1.0, 2.0, 12.0)
BARRE_MM: Final = 10.0
BARRE_STRING_MM: Final = 1.0
_BEND_MM: Final = 8.0
_ORDER_MM: Final = 8.0
_HOVER_MM: Final = 0.5
_CROWDING_SHARE: Final = 0.1
_AHEAD_SHARE: Final = 0.25
_STRETCH_SHARE: Final = 0.5
_RING_LITTLE_RATE: Final = 2.0
WIDEST_PLAIN_BARRE: Final = 3
_FINGERS: Final = (1, 2, 3, 4)
MOST_FINGERS: Final = len(_FINGERS)
WEAK_MM_OF: Final = tuple(sum(_WEAK_MM[: count + 1]) for count in range(MOST_FINGERS + 1))
"""What so many fingers cost for weakness at the least."""
_CHOICES: Final = tuple(tuple(combinations(_FINGERS, count)) for count in range(5))
_FAR: Final = 1e9


class Contact(NamedTuple):
    """One finger's touch: a fret, and the strings from its tip to its base."""

    fret: int
    low_string: int
    high_string: int
    bends: bool
    """Whether it lies flat beside a higher string that must sound lower."""

    @property
    def is_flat(self) -> bool:
        """Whether it stops more than one string."""
        return self.low_string != self.high_string


class Measure:
    """A neck measured for one hand: distances along the neck and what each pair of fingers pays for them."""

    def __init__(self, neck: Neck, hand: Hand) -> None:
        string = (neck.tuning.string_count + 1) // 2
        self.last_fret = neck.last_fret
        self.along_mm = [neck.finger_point_mm(Place(string, fret))[0] for fret in range(neck.last_fret + 1)]
        self.pair_mm = {(low, high): self._pair(hand, low, high) for low, high in combinations(_FINGERS, 2)}
        """By two fingers, then by the fret of the lower and the higher one."""
        largest_mm = hand.index_little.largest_mm
        self.top_fret = [
            max(fret for fret in range(low, self.last_fret + 1) if self._span(low, fret) <= largest_mm)
            for low in range(self.last_fret + 1)
        ]
        """The furthest fret that the little finger reaches, by the fret of the first."""

    def _span(self, fret: int, other: int) -> float:
        return abs(self.along_mm[fret] - self.along_mm[other])

    def _pair(self, hand: Hand, low: int, high: int) -> list[list[float]]:
        spread = hand.spread(low, high)
        rate = _STRETCH_SHARE * (_RING_LITTLE_RATE if (low, high) == (3, 4) else 1.0)
        frets = range(self.last_fret + 1)

        def price(low_fret: int, high_fret: int) -> float:
            span_mm = self._span(low_fret, high_fret)
            if high_fret < low_fret or span_mm > spread.largest_mm:
                return _FAR
            return rate * max(0.0, span_mm - spread.comfortable_mm)

        return [[price(low_fret, high_fret) for high_fret in frets] for low_fret in frets]

    def crowding_mm(self, position: int, finger: int, fret: int) -> float:
        """What it costs a finger to stand elsewhere than at its own fret; reaching ahead costs more."""
        own = min(position + finger - 1, self.last_fret)
        way_mm = self.along_mm[fret] - self.along_mm[own]
        return way_mm * _AHEAD_SHARE if way_mm > 0 else -way_mm * _CROWDING_SHARE


@lru_cache(maxsize=32)
def measure_for(neck: Neck, hand: Hand) -> Measure:
    """The measure of a neck and hand; taken once."""
    return Measure(neck, hand)


class Taken(NamedTuple):
    """Fingers for touches, in the same order, and their price."""

    cost_mm: float
    fingers: tuple[int, ...]
    contacts: tuple[Contact, ...]


def cheapest(measure: Measure, frets: Frets) -> Taken | None:
    """The cheapest fingers for these frets, or None where no hand can hold them; the thumb stays away."""
    opens = frets.count(0)
    best: Taken | None = None
    for contacts in _all_contacts(frets):
        for fingers in _CHOICES[len(contacts)]:
            cost_mm = _cost_mm(measure, contacts, fingers, opens)
            if cost_mm < _FAR and (best is None or cost_mm < best.cost_mm - 1e-9):
                best = Taken(cost_mm, fingers, contacts)
    return best


def grips(measure: Measure, frets: Frets, *, thumb: bool = False) -> tuple[Grip, ...]:
    """Every sound grip for these frets, from the cheapest on, fingers in unusual order among them.

    ``ease`` holds the terms of the hand alone; those of the sound are the search's to add.
    """
    found: dict[tuple[int, ...], Grip] = {}
    for contacts, thumb_fret in _with_thumb(frets, thumb=thumb):
        for fingers in permutations(_FINGERS, len(contacts)):
            ease = _ease(measure, contacts, fingers, frets.count(0), thumb_fret)
            if ease is None:
                continue
            grip = _grip(len(frets), contacts, fingers, thumb_fret, ease)
            known = found.get(grip.fingers)
            if known is None or grip.ease.total < known.ease.total:
                found[grip.fingers] = grip
    return tuple(sorted(found.values(), key=lambda grip: (round(grip.ease.total, 6), grip.fingers)))


def _all_contacts(frets: Frets) -> Iterator[tuple[Contact, ...]]:
    """Every way to hold the frets with four fingers, each group of one fret split into touches.

    Touches come by fret and then from the lowest string up, as fingers stand on them in rising order.
    """
    groups: dict[int, list[int]] = {}
    for string in range(len(frets), 0, -1):
        fret = frets[string - 1]
        if fret:
            groups.setdefault(fret, []).append(string)
    if len(groups) > len(_FINGERS):
        return
    split = [tuple(_splits(frets, fret, groups[fret])) for fret in sorted(groups)]
    for parts in product(*split):
        contacts = tuple(contact for part in parts for contact in part)
        if len(contacts) <= len(_FINGERS):
            yield contacts


def _splits(frets: Frets, fret: int, strings: Sequence[int]) -> Iterator[tuple[Contact, ...]]:
    """Every way to cut the strings of one fret into touches, from the lowest string up."""
    if not strings:
        yield ()
        return
    low = strings[0]
    for size in range(1, len(strings) + 1):
        high = strings[size - 1]
        if size > 1 and not _lies_flat(frets, fret, low, high):
            return
        first = Contact(fret, low, high, size > 1 and _bends(frets, fret, high))
        for rest in _splits(frets, fret, strings[size:]):
            yield (first, *rest)


def _with_thumb(frets: Frets, *, thumb: bool) -> Iterator[tuple[tuple[Contact, ...], int]]:
    """The ways to hold the frets, and the thumb's fret on the lowest string, 0 where it stays away."""
    yield from ((contacts, 0) for contacts in _all_contacts(frets))
    lowest = frets[-1]
    if thumb and lowest:
        yield from ((contacts, lowest) for contacts in _all_contacts((*frets[:-1], None)) if contacts)


def _lies_flat(frets: Frets, fret: int, low: int, high: int) -> bool:
    """Whether every string from ``low`` to ``high`` sounds at the fret or above it."""
    return all((frets[string - 1] or 0) >= fret for string in range(high, low + 1))


def _bends(frets: Frets, fret: int, high: int) -> bool:
    """Whether a string beyond the base of a flat finger has to sound lower than it."""
    return any(other is not None and other < fret for other in frets[: high - 1])


def _cost_mm(measure: Measure, contacts: Sequence[Contact], fingers: Sequence[int], opens: int) -> float:
    """The total of :func:`_ease` for fingers in rising order, quickly; :data:`_FAR` or more for none."""
    cost_mm = FINGER_MM * len(contacts)
    for index, (contact, finger) in enumerate(zip(contacts, fingers, strict=True)):
        cost_mm += _WEAK_MM[finger]
        if contact.is_flat:
            cost_mm += _flat_mm(contact, finger) + (_BEND_MM if contact.bends else 0.0)
        for other in range(index + 1, len(contacts)):
            cost_mm += measure.pair_mm[finger, fingers[other]][contact.fret][contacts[other].fret]
        if cost_mm >= _FAR:
            return _FAR
    if contacts:
        position = _position(contacts, fingers)
        cost_mm += _HOVER_MM * opens * (position - 1)
        cost_mm += _crowding_mm(measure, contacts, fingers, position)
    return cost_mm


def _ease(
    measure: Measure, contacts: Sequence[Contact], fingers: Sequence[int], opens: int, thumb_fret: int
) -> Ease | None:
    """What these fingers cost, term by term, or None where a hand cannot stand so."""
    stretch_mm, swapped = 0.0, 0
    for (one, finger), (other, other_finger) in combinations(zip(contacts, fingers, strict=True), 2):
        if other_finger < finger:
            if one.fret != other.fret or one.is_flat or other.is_flat:
                return None
            swapped += 1
        else:
            stretch_mm += measure.pair_mm[finger, other_finger][one.fret][other.fret]
    flat_mm = sum(
        _flat_mm(contact, finger)
        for contact, finger in zip(contacts, fingers, strict=True)
        if contact.is_flat
    )
    position = _position(contacts, fingers)
    if stretch_mm >= _FAR or flat_mm >= _FAR or (thumb_fret and abs(thumb_fret - position) > 1):
        return None
    return Ease(
        fingers=FINGER_MM * (len(contacts) + bool(thumb_fret)),
        stretch=stretch_mm,
        crowding=_crowding_mm(measure, contacts, fingers, position),
        weak_finger=sum(_WEAK_MM[finger] for finger in fingers) + (_WEAK_MM[THUMB] if thumb_fret else 0.0),
        barre=flat_mm,
        bend=_BEND_MM * sum(contact.bends for contact in contacts),
        order=_ORDER_MM * swapped,
        hover=_HOVER_MM * opens * (position - 1),
    )


def _grip(
    string_count: int, contacts: Sequence[Contact], fingers: Sequence[int], thumb_fret: int, ease: Ease
) -> Grip:
    by_string = [0] * string_count
    barres = []
    for contact, finger in zip(contacts, fingers, strict=True):
        for string in range(contact.high_string, contact.low_string + 1):
            by_string[string - 1] = finger  # a finger that stops one of these further up comes later
        if contact.is_flat:
            barres.append(Barre(finger, contact.fret, contact.low_string, contact.high_string))
    if thumb_fret:
        by_string[-1] = THUMB
    return Grip(tuple(by_string), tuple(barres), _position(contacts, fingers), ease)


def _flat_mm(contact: Contact, finger: int) -> float:
    """What it costs to lay a finger flat."""
    width = contact.low_string - contact.high_string + 1
    if width > WIDEST_PLAIN_BARRE and (finger != 1 or contact.bends):
        return _FAR
    return (BARRE_MM + BARRE_STRING_MM * width) * (1 if finger == 1 else 2)


def _crowding_mm(
    measure: Measure, contacts: Sequence[Contact], fingers: Sequence[int], position: int
) -> float:
    return sum(
        measure.crowding_mm(position, finger, contact.fret)
        for contact, finger in zip(contacts, fingers, strict=True)
    )


def _position(contacts: Sequence[Contact], fingers: Sequence[int]) -> int:
    """Fret of the first finger, or where it hovers: its own fret away from the lowest finger that is down."""
    finger, fret = min(zip(fingers, (contact.fret for contact in contacts), strict=True), default=(1, 1))
    return max(1, fret - finger + 1)
