"""Where everything stands on the screen.

All measures are in units of a 1080th of the screen's shorter side, so that every size shows the same
picture. A twentieth of the screen stays free on every side (the graphics safe area of EBU R 95, from memory),
and in a complete film the foot stays free for captions.
"""

from dataclasses import dataclass
from typing import Final

from fretwright.film.canvas import Rect
from fretwright.film.size import FilmSize

MARGIN: Final = 0.05
"""Share of each side that stays free."""
NECK_SHAPE: Final = 1.6
"""Room for a fretboard, width to height."""
SLOT_GAP: Final = 26.0
"""Between two slots."""


@dataclass(frozen=True, slots=True)
class Screen:
    """The places of one kind of film at one size."""

    size: FilmSize
    unit: float
    """Pixels to a unit."""
    card: Rect | None
    """The paper that an overlay stands on; a complete film is paper throughout."""
    plate: Rect
    """Where lines of music stand."""
    side_by_side: bool
    """Whether two slots stand beside each other; otherwise one stands above the other."""
    staff: bool
    """Whether there is room for a staff over the tab."""
    neck: Rect | None
    title_at: tuple[float, float]
    """Left end and baseline of the title."""
    title_size: float
    count_at: tuple[float, float]
    """Right end and middle of the visual count."""
    count_size: float

    def slots(self, count: int) -> tuple[Rect, ...]:
        """Places of one or two lines of music."""
        zone = self.plate
        if count == 1:
            return (zone,)
        gap = _even(SLOT_GAP * self.unit)
        if self.side_by_side:
            width = _even((zone.width - gap) / 2)
            return (
                Rect(zone.x, zone.y, width, zone.height),
                Rect(zone.right - width, zone.y, width, zone.height),
            )
        height = _even((zone.height - gap) / 2)
        return (
            Rect(zone.x, zone.y, zone.width, height),
            Rect(zone.x, zone.bottom - height, zone.width, height),
        )


def _even(value: float) -> int:
    return 2 * round(value / 2)


@dataclass(frozen=True, slots=True)
class _Measures:
    """Heights in units."""

    head: float
    plate: float
    neck: float
    """0 where the fretboard stands beside the plate."""
    foot: float
    """Free below; from the lower edge of the screen."""


_COMPLETE: Final = {
    "wide": _Measures(head=110, plate=470, neck=262, foot=130),
    "square": _Measures(head=106, plate=610, neck=180, foot=100),
    "tall": _Measures(head=170, plate=900, neck=400, foot=260),
}
_OVERLAY: Final = {
    "wide": _Measures(head=46, plate=296, neck=0, foot=54),
    "square": _Measures(head=46, plate=330, neck=230, foot=54),
    "tall": _Measures(head=56, plate=600, neck=330, foot=200),
}
_PAD: Final = 16.0
"""Inside an overlay's card."""


def screen_of(size: FilmSize, *, overlay: bool, fretboard: bool) -> Screen:
    """The places of a film of that size."""
    unit = size.short_px / 1080
    kind = "wide" if size.width > size.height else "tall" if size.height > size.width else "square"
    return (_overlay if overlay else _complete)(size, unit, kind, fretboard=fretboard)


def _complete(size: FilmSize, unit: float, kind: str, *, fretboard: bool) -> Screen:
    high = _COMPLETE[kind]
    left, top = MARGIN * size.width, MARGIN * size.height
    width = size.width - 2 * left
    plate_y = top + high.head * unit
    gap = 30 * unit
    below = size.height - max(high.foot * unit, top)
    plate_height = high.plate * unit if fretboard else min(below - plate_y, 1.35 * high.plate * unit)
    neck = None
    if fretboard:
        neck_y = plate_y + plate_height + gap
        neck = _rect(left, neck_y, width, min(high.neck * unit, below - neck_y))
    return Screen(
        size,
        unit,
        None,
        _rect(left, plate_y, width, plate_height),
        side_by_side=kind == "wide",
        staff=kind != "square",
        neck=neck,
        title_at=(left, top + 44 * unit),
        title_size=46 * unit,
        count_at=(left + width, top + (28 if kind == "wide" else 122 if kind == "tall" else 28) * unit),
        count_size=46 * unit,
    )


def _overlay(size: FilmSize, unit: float, kind: str, *, fretboard: bool) -> Screen:
    high = _OVERLAY[kind]
    pad = _PAD * unit
    left = MARGIN * size.width
    width = size.width - 2 * left
    beside = fretboard and kind == "wide"
    below = high.neck * unit if fretboard and not beside else 0.0
    height = (high.head + high.plate) * unit + below + 2 * pad
    card = _rect(left, size.height - max(high.foot * unit, MARGIN * size.height) - height, width, height)
    inner_x, inner_y = card.x + pad, card.y + pad
    plate_width, plate_y = width - 2 * pad, inner_y + high.head * unit
    neck = None
    if beside:
        neck_width = NECK_SHAPE * high.plate * unit * 0.9
        plate_width -= neck_width + 2 * pad
        neck = _rect(card.right - pad - neck_width, plate_y, neck_width, high.plate * unit)
    elif fretboard:
        neck = _rect(inner_x, plate_y + high.plate * unit, plate_width, below)
    return Screen(
        size,
        unit,
        card,
        _rect(inner_x, plate_y, plate_width, high.plate * unit),
        side_by_side=kind != "tall",
        staff=False,
        neck=neck,
        title_at=(inner_x + 6 * unit, inner_y + 30 * unit),
        title_size=28 * unit,
        count_at=(card.right - pad - 6 * unit, inner_y + 20 * unit),
        count_size=32 * unit,
    )


def _rect(x: float, y: float, width: float, height: float) -> Rect:
    return Rect(_even(x), _even(y), _even(width), _even(height))
