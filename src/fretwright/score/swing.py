"""Swing: pairs of equal written notes played long and short."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from fretwright.base.errors import ScoreError


@dataclass(frozen=True, slots=True)
class Swing:
    """How much of a pair of written ``unit`` notes the first one takes."""

    share: Fraction = Fraction(1, 2)
    """1/2 is straight, 2/3 the triplet feel of a shuffle."""
    unit: Fraction = Fraction(1, 8)

    def __post_init__(self) -> None:
        if not Fraction(1, 2) <= self.share < 1:
            message = f"a swing share of {self.share} is outside 1/2 (straight) to below 1"
            raise ScoreError(message)

    def played(self, offset: Fraction) -> Fraction:
        """The played place of a written place, both counted from the bar's start in whole notes.

        Only the binary grid swings: a written triplet is already where it belongs and stays there.
        """
        if self.share == Fraction(1, 2) or not _is_binary(offset / self.unit):
            return offset
        pair = 2 * self.unit
        start = offset // pair * pair
        inside = offset - start
        if inside <= self.unit:
            return start + inside * self.share * 2
        return start + pair * self.share + (inside - self.unit) * (1 - self.share) * 2


STRAIGHT: Final = Swing()
SHUFFLE: Final = Swing(Fraction(2, 3))


def _is_binary(ratio: Fraction) -> bool:
    return ratio.denominator & (ratio.denominator - 1) == 0
