"""How far a fretting hand's fingers spread along the neck, in millimetres.

No published measurement of what guitarists span on the neck was found. What is known: free fingers spread
17.2, 14.3 and 32.1 degrees from index to little (51 hands, 2024, Anatomy & Cell Biology), which with the
finger lengths of the same study and knuckles 20 mm apart (from memory) puts index and little fingertips
about 118 mm apart; and thumb and little finger span 201 mm in the mean of women among 473 pianists
(Boyle 2015). The spreads below start from there and follow what method books ask for (common practice, no
source): one finger for each fret is free of strain from the fifth fret up, and costs a stretch at the
nut; an average hand just reaches five frets from the first one; index and middle part more easily than
ring and little, which share a tendon.
"""

from dataclasses import dataclass
from typing import Final, Self

from fretwright.base.errors import FretboardError

REFERENCE_SPAN_MM: Final = 210.0
"""Thumb to little finger of the medium hand, between the means of women and men (from memory)."""

_SHORTEST_SPAN_MM: Final = 120.0
_LONGEST_SPAN_MM: Final = 300.0


@dataclass(frozen=True, slots=True)
class Spread:
    """How far apart two fingertips can stand along the neck."""

    comfortable_mm: float
    """Up to here it costs nothing."""
    largest_mm: float
    """Beyond this the hand cannot reach."""

    def scaled(self, factor: float) -> "Spread":
        """The spread of a hand ``factor`` times as large."""
        return Spread(self.comfortable_mm * factor, self.largest_mm * factor)


@dataclass(frozen=True, slots=True)
class Hand:
    """One size of hand: a spread for each pair of fingers."""

    name: str
    span_mm: float
    """Thumb to little finger, fully spread: what a student can measure with a ruler."""
    index_middle: Spread
    middle_ring: Spread
    ring_little: Spread
    index_ring: Spread
    middle_little: Spread
    index_little: Spread

    @classmethod
    def of_span(cls, span_mm: float, name: str = "") -> Self:
        """The medium hand scaled to another span from thumb to little finger.

        Raises :class:`~fretwright.base.errors.FretboardError` for a span no hand has.
        """
        if not _SHORTEST_SPAN_MM <= span_mm <= _LONGEST_SPAN_MM:
            message = f"a hand that spans {span_mm:g} mm cannot be used"
            possible = f"{_SHORTEST_SPAN_MM:g} to {_LONGEST_SPAN_MM:g} mm is possible"
            raise FretboardError(message, f"Measure from thumb to little finger; {possible}.")
        spreads = (spread.scaled(span_mm / REFERENCE_SPAN_MM) for spread in _MEDIUM_SPREADS)
        return cls(name or f"{span_mm:g} mm", span_mm, *spreads)

    def spread(self, finger: int, other: int) -> Spread:
        """The spread between two different fingers, 1 to 4, in either order."""
        return getattr(self, _PAIR_NAMES[min(finger, other), max(finger, other)])  # type: ignore[no-any-return]  # every name is a Spread


_PAIR_NAMES: Final = {
    (1, 2): "index_middle",
    (2, 3): "middle_ring",
    (3, 4): "ring_little",
    (1, 3): "index_ring",
    (2, 4): "middle_little",
    (1, 4): "index_little",
}

_MEDIUM_SPREADS: Final = (
    Spread(44.0, 68.0),
    Spread(34.0, 54.0),
    Spread(22.0, 54.0),
    Spread(68.0, 100.0),
    Spread(54.0, 94.0),
    Spread(84.0, 128.0),
)
"""In the order of the fields of :class:`Hand` (common practice, no source)."""

SMALL: Final = Hand.of_span(190.0, "small")
MEDIUM: Final = Hand.of_span(REFERENCE_SPAN_MM, "medium")
LARGE: Final = Hand.of_span(230.0, "large")

HANDS: Final = {hand.name: hand for hand in (SMALL, MEDIUM, LARGE)}
"""The named sizes."""
