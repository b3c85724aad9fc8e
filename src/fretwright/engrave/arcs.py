"""Slurs, ties and slides, drawn between heads that already have their places.

An arc starts close to its heads and is bowed further, and then lifted, until it is clear of all ink that it
spans. One that runs over the end of a system is drawn in two parts, each open towards the other.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final, Literal

from fretwright.engrave.bonds import Bond, Chain
from fretwright.engrave.ink import Arc, Box, Ink, Line
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.staff import STAFF_HEIGHT, ColumnSpot, Drawing, HeadSpot
from fretwright.engrave.style import ARC_MIDDLE
from fretwright.engrave.taken import Taken, count_met
from fretwright.score.note import Attack

Opens = Literal["", "left", "right"]
"""The side on which an arc goes on in another system."""
_OPEN_RISE: Final = 0.8
"""How much further out a slur stands where it is cut than where it starts or ends."""
_STAFF_AND_LEDGER: Final = 2.6
"""Heads further than this from the middle line have ledger lines."""
_OFF_LINE: Final = 0.22
"""How far the top of a tie stays from a staff line."""
_CLEARANCE: Final = 0.18
_MOST_STEPS: Final = 120
_TOUCH: Final = 0.03
_FREE_END: Final = 0.2
"""Near its ends an arc is as close to its own heads as it should be."""


def tie_arcs(
    ties: Sequence[Bond],
    drawing: Drawing,
    system: PlacedSystem,
    sky: dict[int, Skyline],
    marks: Sequence[Ink] = (),
) -> list[Ink]:
    """The ties of the staff that have an end in this system.

    ``sky`` maps -1 to the upper skyline, 1 to the lower; ``marks`` is what stands near heads already.
    """
    drawn: list[Ink] = []
    taken = Taken([*drawing.ink, *marks]) if ties else Taken()
    for tie in ties:
        first, last = drawing.heads.get(tie.first), drawing.heads.get(tie.last)
        known = first or last
        if known is None:
            continue
        arc = _tie(first, last, known, system)
        if arc in drawn:
            continue  # two strings in unison share their tie
        arc = _past(arc, taken)
        drawn.append(arc)
        taken.add(arc.boxes)
        _stand_in(sky, arc)
    return drawn


def _past(arc: Arc, taken: Taken) -> Arc:
    """A tie in a crowd, bowed and then moved outwards until nothing else is in it."""
    side = -1 if arc.rise < 0 else 1
    near = [
        Box(left + _TOUCH, top + _TOUCH, right - _TOUCH, bottom - _TOUCH)
        for left, top, right, bottom in taken.near(arc.x0, arc.x1)
    ]
    for step in range(_MOST_STEPS // 2):
        tried = replace(arc, rise=arc.rise + side * 0.15 * min(step, 6))
        tried = tried.moved(0.0, side * 0.2 * max(0, step - 6))
        if not count_met(tried.boxes, near):
            return tried
    return arc


def _tie(first: HeadSpot | None, last: HeadSpot | None, known: HeadSpot, system: PlacedSystem) -> Arc:
    """Outside lone heads, on the side away from their stems; between the heads of chords and mixed stems."""
    opens: Opens = "" if first and last else "right" if first else "left"
    if known.side:
        return _tie_of_voice(first, last, known, system, opens)
    stems = {spot.up for spot in (first, last) if spot is not None}
    alone = all(spot.alone for spot in (first, last) if spot is not None)
    outside = alone and len(stems) == 1
    if alone:
        side = 1 if stems == {True} else -1
    else:
        side = -1 if known.outer > 0 or (known.outer == 0 and not known.up) else 1
    tuck = 0.3 if outside else -0.1
    x0 = opening_x(system) if first is None else first.right - tuck
    x1 = system.bars[-1].inner_right - 0.5 if last is None else last.left + tuck
    if first is not None and (not outside or side < 0) and first.clear_right > first.right:
        x0 = first.clear_right + 0.08
    if last is not None and not outside:
        x1 = last.clear_left - 0.08 if not alone else last.left + 0.3
    y = known.y + side * (0.66 if outside or (alone and side < 0) else 0.2)
    rise = 0.42 + min(0.4, 0.03 * (x1 - x0)) if alone else 0.4
    return Arc(x0, y, x1, y, side * _off_the_lines(y, rise, side), ARC_MIDDLE, opens, role="tie")


def _tie_of_voice(
    first: HeadSpot | None, last: HeadSpot | None, known: HeadSpot, system: PlacedSystem, opens: Opens
) -> Arc:
    """One of two voices: between the heads, over them in the upper voice and under them in the lower."""
    x0 = opening_x(system) if first is None else first.right + 0.15
    x1 = system.bars[-1].inner_right - 0.5 if last is None else last.left - 0.15
    if first is not None and abs(first.y - 2.0) > _STAFF_AND_LEDGER:
        x0 += 0.35  # past the ledger line that its head stands on or under
    if last is not None and abs(last.y - 2.0) > _STAFF_AND_LEDGER:
        x1 -= 0.35
    if first is not None and first.clear_right > first.right + 0.3:
        x0 = min(first.clear_right + 0.08, x1 - 0.8)
    if last is not None and last.clear_left < last.left - 0.2:
        x1 = max(last.clear_left - 0.08, x0 + 0.8)
    y = known.y + known.side * 0.3
    rise = 0.42 + min(0.4, 0.03 * (x1 - x0))
    return Arc(x0, y, x1, y, known.side * _off_the_lines(y, rise, known.side), ARC_MIDDLE, opens, role="tie")


def _off_the_lines(y: float, rise: float, side: int) -> float:
    """A rise that does not lay the flat top of a tie along a staff line, where it would thicken the line."""
    top = y + side * rise
    beyond = (top - round(top)) * side
    if not -0.5 < top < STAFF_HEIGHT + 0.5 or abs(beyond) >= _OFF_LINE:
        return rise
    return rise + _OFF_LINE - beyond


def slur_arcs(
    chains: Sequence[Chain],
    drawing: Drawing,
    system: PlacedSystem,
    sky: dict[int, Skyline],
) -> list[Ink]:
    """The slurs of the staff: on the side of the heads where all stems agree, else above."""
    times = list(drawing.columns)
    drawn: list[Ink] = []
    for chain in chains:
        start, end = (chain.voice, chain.start), (chain.voice, chain.end)
        inside = [drawing.columns[key] for key in times if start <= key <= end]
        if not inside:
            continue
        side = inside[0].side or (1 if all(spot.up for spot in inside) else -1)
        opens: Opens = ""
        x0, x1 = inside[0].x, inside[-1].x
        if start not in drawing.columns:
            x0, opens = opening_x(system), "left"
        elif end not in drawing.columns:
            x1, opens = system.bars[-1].inner_right - 0.15, "right"
        y0 = _slur_foot(inside[0], side, sky[side])
        y1 = _slur_foot(inside[-1], side, sky[side])
        if opens == "left":
            y0 = sky[side].edge(x0, x0 + 1.5, 0.3, at_least=y1 + side * _OPEN_RISE)
        elif opens == "right":
            y1 = sky[side].edge(x1 - 1.5, x1, 0.3, at_least=y0 + side * _OPEN_RISE)
        rise = min(1.6, 0.55 + 0.05 * (x1 - x0))
        arc = settle(sky[side], (x0, y0), (x1, y1), side, rise, "slur", opens)
        drawn.append(arc)
        _stand_in(sky, arc)
    return drawn


def _slur_foot(spot: ColumnSpot, side: int, sky: Skyline) -> float:
    """Where a slur starts: just outside all that stands on the column's axis."""
    return sky.edge(spot.x - 0.55, spot.x + 0.55, 0.3, at_least=-side * 99.0)


def settle(
    sky: Skyline,
    start: tuple[float, float],
    end: tuple[float, float],
    side: int,
    rise: float,
    role: str,
    opens: Opens,
) -> Arc:
    """The flattest arc from ``rise`` on that clears the skyline between its ends."""
    (x0, y0), (x1, y1) = start, end
    most = rise + 0.15 * (x1 - x0)
    bow = rise
    arc = Arc(x0, y0, x1, y1, side * bow, ARC_MIDDLE, opens, role=role)
    for _ in range(_MOST_STEPS):
        short, place = _shortfall(arc, sky, side)
        if short <= 0:
            return arc
        if place < 0.25:
            y0 += side * 0.2
        elif place > 0.75:
            y1 += side * 0.2
        elif bow < most:
            bow += 0.15
        else:
            y0, y1 = y0 + side * 0.2, y1 + side * 0.2
        arc = Arc(x0, y0, x1, y1, side * bow, ARC_MIDDLE, opens, role=role)
    return arc


def _shortfall(arc: Arc, sky: Skyline, side: int) -> tuple[float, float]:
    """By how much the arc comes too near to ink under it, 0 where it is clear, and where along its width."""
    worst, place = 0.0, 0.5
    width, half = arc.x1 - arc.x0, ARC_MIDDLE / 2
    pieces = max(16, int(2.5 * width))
    for (xa, ya), (xb, yb) in pairwise(arc.points(pieces)):
        if xa - arc.x0 > _FREE_END and arc.x1 - xb > _FREE_END:
            inner = min(ya * side, yb * side) - half
            short = sky.reach(xa, xb) + _CLEARANCE - inner
            if short > worst:
                worst, place = short, (xa - arc.x0) / width
    return worst, place


def _stand_in(sky: dict[int, Skyline], arc: Arc) -> None:
    for box in arc.boxes:
        for skyline in sky.values():
            skyline.add(box)


def slide_lines(pairs: Sequence[Bond], drawing: Drawing) -> list[Ink]:
    """On the staff: a stroke from head to head for each slide inside the system.

    Where something of another voice lies between, only its last piece is drawn, and only if that is free.
    """
    drawn: list[Ink] = []
    taken = Taken(drawing.ink) if pairs else Taken()
    for pair in pairs:
        first, last = drawing.heads.get(pair.first), drawing.heads.get(pair.last)
        if pair.attack is not Attack.SLIDE or first is None or last is None:
            continue
        x0, x1 = first.clear_right + 0.25, last.clear_left - 0.25
        if x1 - x0 > 0.6:
            run = (last.y - first.y) / (last.left - first.right)
            y0, y1 = first.y + run * (x0 - first.right), first.y + run * (x1 - first.right)
            line = Line(x0, y0, x1, y1, 0.16, role="slide")
            if _of_two_voices(first, last) and not _is_free(line, taken):
                lean = 0.3 if pair.falls else -0.3
                line = Line(max(x0, x1 - 1.2), last.y - lean, x1, last.y + lean, 0.16, role="slide")
                if not _is_free(line, taken):
                    continue
            drawn.append(line)
    return drawn


def _of_two_voices(first: HeadSpot, last: HeadSpot) -> bool:
    """Whether either head stands in a bar of two voices."""
    return bool(first.side or last.side)


def _is_free(line: Line, taken: Taken) -> bool:
    return not count_met(line.boxes, taken.near(line.x0, line.x1))


def opening_x(system: PlacedSystem) -> float:
    """Where an arc from the system before starts: just right of the signs that open the system."""
    return system.bars[0].left + system.bars[0].plan.start_width - 0.1
