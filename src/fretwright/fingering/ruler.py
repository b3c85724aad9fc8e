"""A neck measured for one hand, once, in whole micrometres.

Positions are frets of the first finger; position 0 means that the hand has not been set down yet.
"""

from functools import lru_cache
from typing import Final

from fretwright.fingering.hand import Hand
from fretwright.fretboard.neck import Neck, Place

UM_PER_MM: Final = 1000
FINGERS: Final = (1, 2, 3, 4)
THUMB: Final = 5

RING_LITTLE_RATE: Final = 2
"""A millimetre between ring and little finger counts double: they share a tendon (common practice, no
source). Between all other fingers it counts once."""

CLOSER_FRETS: Final = 1
"""In a single line a finger stands at most so many frets nearer to the first than one finger per fret."""
FURTHER_FRETS: Final = 2
"""And at most so many frets further away; the largest spread of the hand may allow less."""


class Ruler:
    """Distances and spreads that the search looks up."""

    def __init__(self, neck: Neck, hand: Hand) -> None:
        self.neck = neck
        self.hand = hand
        self.last_fret = neck.last_fret
        string = (neck.tuning.string_count + 1) // 2
        self.along_um = tuple(
            round(neck.finger_point_mm(Place(string, fret))[0] * UM_PER_MM)
            for fret in range(neck.last_fret + 1)
        )
        """Where a fingertip stands, from the nut or capo, by fret."""
        pairs = {(f, g): hand.spread(f, g) for f in FINGERS for g in FINGERS if f != g}
        self.comfortable_um = {pair: round(s.comfortable_mm * UM_PER_MM) for pair, s in pairs.items()}
        self.largest_um = {pair: round(s.largest_mm * UM_PER_MM) for pair, s in pairs.items()}
        self.spacing_um = round(neck.string_spacing_bridge_mm * UM_PER_MM)
        """Distance between neighbouring strings where the picking hand is."""
        self._across_um: dict[Place, int] = {}

    def span_um(self, fret: int, other: int) -> int:
        """Distance along the neck between the fingertips at two frets."""
        return abs(self.along_um[fret] - self.along_um[other])

    def across_um(self, place: Place) -> int:
        """Distance of a place, or of the nearest one on the neck, from its middle line, towards string 1."""
        found = self._across_um.get(place)
        if found is None:
            on_neck = Place(
                min(place.string, self.neck.tuning.string_count), min(place.fret, self.neck.last_fret)
            )
            found = self._across_um[place] = round(self.neck.finger_point_mm(on_neck)[1] * UM_PER_MM)
        return found

    def stretch_um(self, finger: int, fret: int, other: int, other_fret: int) -> int:
        """What two fingers stand apart beyond their comfortable spread, weighted by the pair's rate."""
        beyond = self.span_um(fret, other_fret) - self.comfortable_um[finger, other]
        if beyond <= 0:
            return 0
        return beyond * RING_LITTLE_RATE if {finger, other} == {3, 4} else beyond

    def reaches(self, finger: int, fret: int, other: int, other_fret: int) -> bool:
        """Whether two fingers can stop these frets at one time."""
        return self.span_um(fret, other_fret) <= self.largest_um[finger, other]

    def displacement_um(self, position: int, finger: int, fret: int) -> int:
        """How far a finger stands from its own fret, where every finger has one fret to itself."""
        return self.span_um(fret, min(position + finger - 1, self.last_fret))

    def positions(self, finger: int, fret: int, closer_frets: int = CLOSER_FRETS) -> range:
        """The positions in which a finger can stop a fret; it may be empty.

        ``closer_frets`` is larger for chords, whose fingers crowd into fewer frets.
        """
        if finger == THUMB:
            return range(max(1, fret - 1), min(fret + 1, self.last_fret) + 1)
        if finger == 1:
            return range(fret, fret + 1)
        own = fret - finger + 1
        lowest = max(1, own - FURTHER_FRETS)
        while lowest < fret and self.span_um(fret, lowest) > self.largest_um[1, finger]:
            lowest += 1
        return range(lowest, min(fret, own + closer_frets) + 1)


@lru_cache(maxsize=32)
def ruler_for(neck: Neck, hand: Hand) -> Ruler:
    """The ruler of a neck and hand; measured once."""
    return Ruler(neck, hand)


NO_WAY: Final = 10**18
"""A cost that no path may take."""
