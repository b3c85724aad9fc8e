"""What fits into the minutes that a student has, and where to rest.

Rest for five minutes in each twenty to thirty is expert advice and not the outcome of a trial (from memory);
it is kept all the same, since more than half of all guitarists have had trouble with their hands or arms
(meta-analysis of 22 studies, n = 2,119, 2025).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

REST_MINUTES: Final = 5
LONGEST_STRETCH_MINUTES: Final = 25
"""Playing between two rests."""


class ItemKind(StrEnum):
    """What a part of the day is for."""

    WARM_UP = "warm-up"
    FIX = "fix"
    REVIEW = "review"
    CLIMB = "climb"
    MUSIC = "music"
    REST = "rest"


@dataclass(frozen=True, slots=True)
class _Share:
    """How long one part may be."""

    least: int
    most: int
    weight: int
    """Of what is left once every part has its least."""


_SHARES: Final = {
    ItemKind.WARM_UP: _Share(1, 4, 1),
    ItemKind.FIX: _Share(2, 6, 3),
    ItemKind.REVIEW: _Share(2, 6, 2),
    ItemKind.CLIMB: _Share(2, 10, 4),
    ItemKind.MUSIC: _Share(2, 12, 4),
}
_FIRST: Final = (ItemKind.WARM_UP, ItemKind.CLIMB, ItemKind.FIX, ItemKind.MUSIC, ItemKind.REVIEW)
"""What goes in first where not everything fits."""


@dataclass(frozen=True, slots=True)
class Slot:
    """One part of the day with its time."""

    wanted: int
    """Index of the part among those asked for."""
    minutes: int
    rest_before: bool
    """Whether to put the guitar down first, for :data:`REST_MINUTES`."""


def timetable(wanted: Sequence[ItemKind], minutes: int) -> tuple[Slot, ...]:
    """Which of the wanted parts fit, how long each is, and where to rest; never more than ``minutes`` in all.

    Every kind of part comes in before any comes twice. Minutes that no part can use are left to the student.
    """
    chosen = _that_fit(wanted, minutes)
    parts = [wanted[index] for index in chosen]
    rests = 0
    while True:
        lengths = _shared_out(parts, minutes - rests * REST_MINUTES)
        before = _rests_before(lengths)
        if len(before) <= rests:
            return tuple(
                Slot(index, length, rest_before=place in before)
                for place, (index, length) in enumerate(zip(chosen, lengths, strict=True))
            )
        rests += 1


def _that_fit(wanted: Sequence[ItemKind], minutes: int) -> tuple[int, ...]:
    """Indices of the parts that fit at their shortest, in the order given."""
    chosen: list[int] = []
    left = minutes
    for index in sorted(range(len(wanted)), key=lambda one: (_round(wanted, one), _FIRST.index(wanted[one]))):
        least = _SHARES[wanted[index]].least
        if least <= left:
            chosen.append(index)
            left -= least
    return tuple(sorted(chosen))


def _shared_out(parts: Sequence[ItemKind], playing: int) -> tuple[int, ...]:
    """Minutes for each part: its least, then minute by minute to the part that is shortest for its weight."""
    lengths = [_SHARES[part].least for part in parts]
    for _ in range(playing - sum(lengths)):
        growing = [index for index, part in enumerate(parts) if lengths[index] < _SHARES[part].most]
        if not growing:
            break
        lengths[min(growing, key=lambda one: (lengths[one] / _SHARES[parts[one]].weight, one))] += 1
    return tuple(lengths)


def _rests_before(lengths: Sequence[int]) -> frozenset[int]:
    """Indices of the parts before which to rest, so that no stretch of playing is too long."""
    found: set[int] = set()
    stretch = 0
    for index, length in enumerate(lengths):
        if stretch + length > LONGEST_STRETCH_MINUTES:
            found.add(index)
            stretch = 0
        stretch += length
    return frozenset(found)


def _round(wanted: Sequence[ItemKind], index: int) -> int:
    """0 for the first part of its kind, 1 for the second."""
    return list(wanted[:index]).count(wanted[index])
