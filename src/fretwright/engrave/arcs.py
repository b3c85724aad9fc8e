"""Slurs, ties and slides, drawn between heads that already have their places.

An arc starts close to its heads and is bowed further, and then lifted, until it is clear of all ink that it
spans. One that runs over the end of a system is drawn in two parts, each open towards the other.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final, Literal

from fretwright.engrave.bonds import LETTERS, Bond
from fretwright.engrave.ink import Arc, Box, Ink, Line, Text, centred, ink_of
from fretwright.engrave.marks import LETTER_FACE, LETTER_SIZE
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.staff import ColumnSpot, Drawing, HeadSpot
from fretwright.engrave.style import ARC_MIDDLE, DIGIT_HEIGHT, TAB_SPACE
from fretwright.score.note import Attack

_CLEARANCE: Final = 0.18
_OPEN_LENGTH: Final = 1.6
"""Least length of the part of an arc that comes from the system before."""
_TAB_RISE: Final = 0.42
_TAB_FOOT: Final = DIGIT_HEIGHT / 2 + 0.14
"""How far above its string's line an arc of the tab starts."""


def tie_arcs(
    ties: Sequence[Bond], drawing: Drawing, system: PlacedSystem, sky: dict[int, Skyline]
) -> list[Ink]:
    """The ties of the staff that have an end in this system. ``sky`` maps -1 to the upper skyline, 1 to the lower."""
    drawn: list[Ink] = []
    for tie in ties:
        first, last = drawing.heads.get(tie.first), drawing.heads.get(tie.last)
        known = first or last
        if known is None:
            continue
        x0, x1, opens = _tie_reach(first, last, system)
        if known.alone:
            stems = {spot.up for spot in (first, last) if spot is not None}
            side = 1 if stems == {True} else -1
            y = known.y + side * 0.66
            arc = settle(sky[side], (x0, y), (x1, y), side, 0.42 + min(0.4, 0.03 * (x1 - x0)), "tie", opens)
        else:
            side = -1 if known.outer > 0 or (known.outer == 0 and not known.up) else 1
            x0, x1 = x0 + (0.35 if first else 0.0), x1 - (0.35 if last else 0.0)
            y = known.y + side * 0.2
            arc = Arc(x0, y, x1, y, side * 0.4, ARC_MIDDLE, opens, role="tie")
        drawn.append(arc)
        _stand_in(sky, arc)
    return drawn


def _tie_reach(
    first: HeadSpot | None, last: HeadSpot | None, system: PlacedSystem
) -> tuple[float, float, Literal["", "left", "right"]]:
    if first is not None and last is not None:
        return first.right - 0.3, last.left + 0.3, ""
    if first is not None:
        return first.right - 0.3, system.bars[-1].inner_right - 0.15, "right"
    assert last is not None  # noqa: S101 - one of the two is always there
    return min(_opening(system), last.clear_left - _OPEN_LENGTH), last.left + 0.3, "left"


def slur_arcs(
    chains: Sequence[tuple[Fraction, Fraction]],
    drawing: Drawing,
    system: PlacedSystem,
    sky: dict[int, Skyline],
) -> list[Ink]:
    """The slurs of the staff: on the side of the heads where all stems agree, else above."""
    times = list(drawing.columns)
    drawn: list[Ink] = []
    for start, end in chains:
        inside = [drawing.columns[at] for at in times if start <= at <= end]
        if not inside:
            continue
        side = 1 if all(spot.up for spot in inside) else -1
        opens: Literal["", "left", "right"] = ""
        x0, x1 = inside[0].x, inside[-1].x
        if start not in drawing.columns:
            x0, opens = min(_opening(system), x1 - _OPEN_LENGTH), "left"
        elif end not in drawing.columns:
            x1, opens = system.bars[-1].inner_right - 0.15, "right"
        y0 = _slur_foot(inside[0], side, sky[side])
        y1 = _slur_foot(inside[-1], side, sky[side])
        y0, y1 = (y1, y1) if opens == "left" else (y0, y0) if opens == "right" else (y0, y1)
        rise = min(1.6, 0.55 + 0.05 * (x1 - x0))
        arc = settle(sky[side], (x0, y0), (x1, y1), side, rise, "slur", opens)
        drawn.append(arc)
        _stand_in(sky, arc)
    return drawn


def _slur_foot(spot: ColumnSpot, side: int, sky: Skyline) -> float:
    """Where a slur starts: just outside all that stands on the column's axis."""
    return sky.edge(spot.x - 0.3, spot.x + 0.3, 0.3, at_least=-side * 99.0)


def settle(
    sky: Skyline,
    start: tuple[float, float],
    end: tuple[float, float],
    side: int,
    rise: float,
    role: str,
    opens: Literal["", "left", "right"],
) -> Arc:
    """The flattest arc from ``rise`` on that clears the skyline between its ends."""
    (x0, y0), (x1, y1) = start, end
    most = rise + 0.22 * (x1 - x0)
    bow = rise
    for _ in range(60):
        arc = Arc(x0, y0, x1, y1, side * bow, ARC_MIDDLE, opens, role=role)
        short = _shortfall(arc, sky, side)
        if short <= 0:
            return arc
        if bow < most:
            bow += 0.15
        else:
            y0, y1 = y0 + side * 0.2, y1 + side * 0.2
    return arc


def _shortfall(arc: Arc, sky: Skyline, side: int) -> float:
    """By how much the arc comes too near to ink under it; 0 or less where it is clear."""
    worst = 0.0
    for box in arc.boxes:
        middle = (box.left + box.right) / 2
        if min(middle - arc.x0, arc.x1 - middle) < 0.4:
            continue
        inner = box.top if side > 0 else -box.bottom
        worst = max(worst, sky.reach(box.left, box.right) + _CLEARANCE - inner)
    return worst


def _stand_in(sky: dict[int, Skyline], arc: Arc) -> None:
    for box in arc.boxes:
        for skyline in sky.values():
            skyline.add(box)


def slide_lines(pairs: Sequence[Bond], drawing: Drawing) -> list[Ink]:
    """On the staff: a stroke from head to head for each slide inside the system."""
    drawn: list[Ink] = []
    for pair in pairs:
        first, last = drawing.heads.get(pair.first), drawing.heads.get(pair.last)
        if pair.attack is not Attack.SLIDE or first is None or last is None:
            continue
        x0, x1 = first.right + 0.5, last.clear_left - 0.5
        if x1 - x0 > 0.6:
            run = (last.y - first.y) / (last.left - first.right)
            y0, y1 = first.y + run * (x0 - first.right), first.y + run * (x1 - first.right)
            drawn.append(Line(x0, y0, x1, y1, 0.16, role="slide"))
    return drawn


def tab_arcs(pairs: Sequence[Bond], drawing: Drawing, system: PlacedSystem) -> Iterator[Ink]:
    """In the tab: an arc over each slurred pair, its letter over the arc, and the stroke of a slide."""
    frets = [box for each in drawing.ink for box in each.boxes]
    for pair in pairs:
        first, last = drawing.heads.get(pair.first), drawing.heads.get(pair.last)
        known = first or last
        if known is None or pair.attack is None:
            continue
        x0 = (
            (first.left + first.right) / 2 + 0.12
            if first
            else min(_opening(system), known.left - _OPEN_LENGTH)
        )
        x1 = (last.left + last.right) / 2 - 0.12 if last else system.bars[-1].inner_right - 0.15
        opens: Literal["", "left", "right"] = "" if first and last else "right" if first else "left"
        y = known.y - _TAB_FOOT
        yield Arc(x0, y, x1, y, -_TAB_RISE, ARC_MIDDLE, opens, role="slur", note=pair.last[0], layer="tab")
        if last is not None:
            yield _letter(pair, (x0 + x1) / 2, known.y, frets, system)
        if pair.attack is Attack.SLIDE:
            yield from _tab_slide(first, last, x0, x1, pair)


def _letter(pair: Bond, x: float, string_y: float, frets: Sequence[Box], system: PlacedSystem) -> Text:
    """The letter in the space over its arc, clear of bar lines and of fret numbers."""
    text = LETTERS[pair.attack or Attack.HAMMER_ON]
    half = ink_of(text, LETTER_FACE, LETTER_SIZE).width / 2
    y = string_y - (TAB_SPACE + 0.3 if string_y else _TAB_FOOT + _TAB_RISE + 0.28)
    at = x
    if y > 0:
        for bar in system.bars:
            near = bar.inner_right - half - 0.3, bar.right + half + 0.3
            if near[0] < at < near[1]:
                at = min(near, key=lambda edge: abs(edge - x))
    letter = centred(text, LETTER_FACE, LETTER_SIZE, at, y, role="letter", note=pair.last[0], layer="tab")
    while any(letter.box.meets(fret) for fret in frets):
        letter = letter.moved(0, -TAB_SPACE)
    return letter


def _tab_slide(
    first: HeadSpot | None, last: HeadSpot | None, x0: float, x1: float, pair: Bond
) -> Iterator[Ink]:
    left = first.right + 0.25 if first else x0
    right = last.left - 0.25 if last else x1
    known = first or last
    if known is not None and right - left > 0.3:
        lean = -0.4 if pair.falls else 0.4
        yield Line(
            left, known.y + lean, right, known.y - lean, 0.13, role="slide", note=pair.last[0], layer="tab"
        )


def _opening(system: PlacedSystem) -> float:
    """Where an arc from the system before starts: just right of the signs that open the system."""
    return system.bars[0].left + system.bars[0].plan.start_width - 0.1
