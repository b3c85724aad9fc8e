"""Changing from one chord to the next: what each finger does, and what it costs.

Two voicings enter; a :class:`Change` leaves. A finger

* *stays* where it holds the same fret of the same string (or lies flat at the same fret): it is the anchor of
  the change and costs nothing;
* *guides* where it slides along one string that it need not leave;
* *moves* through the air to another string;
* *comes down* or *lifts off*.

Costs are mm-equivalents as the fingering counts them: the way of each fingertip over the fretboard, and what
a player would move to be spared the rest (common practice, no source).
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Final

from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.voicing import Frets, Grip, Voicing

_GUIDED_SHARE: Final = 0.5
_MOVE_MM: Final = 6.0
_LAND_MM: Final = 5.0
_LIFT_MM: Final = 1.0
_FLAT_MM: Final = 12.0
_SHIFT_SHARE: Final = 0.5


class Part(StrEnum):
    """What a finger has to do in a change."""

    STAYS = "stays"
    GUIDES = "guides"
    MOVES = "moves"
    COMES_DOWN = "comes down"
    LIFTS = "lifts off"


@dataclass(frozen=True, slots=True)
class FingerMove:
    """One finger's part in a change."""

    finger: int
    """1 to 4, or 5 for the thumb."""
    part: Part
    leaves: tuple[Place, ...]
    """What it held, from the lowest string up."""
    takes: tuple[Place, ...]
    """What it holds then."""
    way_mm: float
    """How far its tip travels over the fretboard."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeCost:
    """What a change costs, term by term, in mm-equivalents; less is easier."""

    way: float = 0.0
    """Way of the fingertips; half where a string guides them."""
    lifted: float = 0.0
    """6 for each finger that moves through the air, 5 for each that comes down, 1 for each that lifts off."""
    barre: float = 0.0
    """12 for each finger that has to be laid flat anew."""
    shift: float = 0.0
    """Half of the way of the hand along the neck where no finger shows it the way."""

    @property
    def total(self) -> float:
        """All terms together."""
        return float(sum(getattr(self, field.name) for field in fields(self)))


@dataclass(frozen=True, slots=True)
class Change:
    """From one voicing to another."""

    before: Voicing
    after: Voicing
    moves: tuple[FingerMove, ...]
    """For each finger that is down before or after, from the first to the thumb."""
    cost: ChangeCost

    def fingers(self, part: Part) -> tuple[FingerMove, ...]:
        """The fingers that do one thing."""
        return tuple(move for move in self.moves if move.part is part)

    @property
    def together(self) -> int:
        """How many fingers have to land at once: all that move, come down or are laid flat anew."""
        return len(self.fingers(Part.MOVES)) + len(self.fingers(Part.COMES_DOWN))


def change(before: Voicing, after: Voicing) -> Change:
    """The change between two voicings on the same neck, with their grips as they are."""
    neck = after.neck
    moves = tuple(_moves(neck, _held(before.frets, before.grip), _held(after.frets, after.grip)))
    return Change(before, after, moves, _cost(neck, before, after, moves))


def _held(frets: Frets, grip: Grip) -> dict[int, tuple[Place, ...]]:
    """What each finger holds, from the lowest string up."""
    held: dict[int, tuple[Place, ...]] = {}
    for string in range(len(frets), 0, -1):
        finger, fret = grip.fingers[string - 1], frets[string - 1]
        if finger and fret:
            held[finger] = (*held.get(finger, ()), Place(string, fret))
    return dict(sorted(held.items()))


def _moves(
    neck: Neck, before: dict[int, tuple[Place, ...]], after: dict[int, tuple[Place, ...]]
) -> Iterator[FingerMove]:
    for finger in sorted(before.keys() | after.keys()):
        leaves, takes = before.get(finger, ()), after.get(finger, ())
        if not takes:
            yield FingerMove(finger, Part.LIFTS, leaves, takes, 0.0)
        elif not leaves:
            yield FingerMove(finger, Part.COMES_DOWN, leaves, takes, 0.0)
        else:
            yield FingerMove(finger, _part(leaves, takes), leaves, takes, _way_mm(neck, leaves, takes))


def _part(leaves: tuple[Place, ...], takes: tuple[Place, ...]) -> Part:
    if set(leaves) & set(takes):
        return Part.STAYS
    shared = {place.string for place in leaves} & {place.string for place in takes}
    return Part.GUIDES if shared else Part.MOVES


def _way_mm(neck: Neck, leaves: tuple[Place, ...], takes: tuple[Place, ...]) -> float:
    """The way of the fingertip, which stands on the lowest string that a flat finger covers."""
    if set(leaves) & set(takes):
        return 0.0
    shared = sorted({place.string for place in leaves} & {place.string for place in takes})
    if shared:
        string = shared[-1]
        from_fret = next(place.fret for place in leaves if place.string == string)
        to_fret = next(place.fret for place in takes if place.string == string)
        return neck.distance_mm(Place(string, from_fret), Place(string, to_fret))
    return neck.distance_mm(leaves[0], takes[0])


def _cost(neck: Neck, before: Voicing, after: Voicing, moves: tuple[FingerMove, ...]) -> ChangeCost:
    ways = [move.way_mm * (_GUIDED_SHARE if move.part is Part.GUIDES else 1.0) for move in moves]
    each = {Part.MOVES: _MOVE_MM, Part.COMES_DOWN: _LAND_MM, Part.LIFTS: _LIFT_MM}
    lies = {(barre.finger, barre.fret) for barre in before.barres}
    laid = sum((barre.finger, barre.fret) not in lies for barre in after.barres)
    is_shown = any(move.part in {Part.STAYS, Part.GUIDES} for move in moves)
    return ChangeCost(
        way=sum(ways),
        lifted=sum(each.get(move.part, 0.0) for move in moves),
        barre=_FLAT_MM * laid,
        shift=0.0 if is_shown else _SHIFT_SHARE * _shift_mm(neck, before, after),
    )


def _shift_mm(neck: Neck, before: Voicing, after: Voicing) -> float:
    here, there = (
        neck.fret_position_mm(min(voicing.grip.position, neck.last_fret)) for voicing in (before, after)
    )
    return abs(there - here)
