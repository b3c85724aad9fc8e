"""What a plate looks like: the caller's choices, and the measures of the trade.

Lengths are in staff spaces (the distance between two staff lines) unless a name says otherwise. The
thicknesses are the engraving defaults of Bravura's SMuFL metadata (from memory); the rest is common
practice without a source, tuned by eye on printed plates.
"""

from dataclasses import dataclass
from typing import Final

from fretwright.base.errors import RenderError

NARROWEST_MM: Final = 60.0


@dataclass(frozen=True, slots=True)
class PlateStyle:
    """The choices that a caller makes for one plate."""

    width_mm: float = 170.0
    staff_space_mm: float = 1.75
    """A staff 7 mm high by default, as in method books."""
    staff: bool = True
    """Staff over tab; otherwise tab alone, with its rhythm below."""
    fingers: bool = True
    """Fingers of the fretting hand under the tab."""
    strokes: bool = True
    """Pick strokes over the tab."""
    diagrams: bool = True
    """A small chord diagram under each chord name that comes with its voicing, where that changes."""
    left_handed: bool | None = None
    """Whether chord diagrams are mirrored, the lowest string on the right; None where the neck says it."""
    bar_numbers: bool = True
    """The bar's number at the start of each system but the first."""

    def __post_init__(self) -> None:
        if self.width_mm < NARROWEST_MM or not 0.5 <= self.staff_space_mm <= 5.0:
            raise RenderError(
                f"A plate {self.width_mm:g} mm wide with a staff space of {self.staff_space_mm:g} mm "
                "cannot be set.",
                f"Use at least {NARROWEST_MM:g} mm and a staff space from 0.5 to 5 mm.",
            )

    @property
    def width_sp(self) -> float:
        """Width in staff spaces."""
        return self.width_mm / self.staff_space_mm


STAFF_LINE: Final = 0.13
STEM: Final = 0.12
BEAM: Final = 0.5
BEAM_GAP: Final = 0.25
LEDGER: Final = 0.16
LEDGER_EXTENSION: Final = 0.4
ARC_MIDDLE: Final = 0.22
ARC_END: Final = 0.08
THIN_BAR: Final = 0.16
THICK_BAR: Final = 0.5
BAR_LINE_GAP: Final = 0.4
REPEAT_DOT_GAP: Final = 0.22
TUPLET_BRACKET: Final = 0.14
ENDING_BRACKET: Final = 0.16

TAB_SPACE: Final = 1.5
"""Distance between two tab lines."""
TAB_LINE: Final = 0.1
"""Thinner than a staff line: the digits are what is read."""
DIGIT_HEIGHT: Final = 1.22
"""Of a fret number."""
DIGIT_CLEARANCE: Final = 0.16
"""White between a fret number and the ends of its broken line."""

HEAD_WIDTH: Final = 1.18
"""Of a black note head (SMuFL box of ``noteheadBlack``)."""
STEM_LENGTH: Final = 3.5
"""An octave."""
SHORTEST_STEM: Final = 2.5
DOT_GAP: Final = 0.32
ACCIDENTAL_GAP: Final = 0.22

PAD_AFTER_BAR_LINE: Final = 1.15
"""White between a bar line and the first sign after it."""
PAD_BEFORE_BAR_LINE: Final = 0.75
GAP: Final = 0.35
"""Least white between the signs of two neighbouring columns."""
ROW_GAP: Final = 0.6
"""Least white between a row of marks and what stands nearest."""
SYSTEM_GAP: Final = 5.2
"""Least white between the skylines of two systems."""
STAFF_TO_TAB: Final = 2.6
"""Least white between the skylines of a staff and its tab, where nothing stands between the two."""
