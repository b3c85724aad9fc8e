"""A finger sliding along a string: one short glide for each fret on its way."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from fretwright.score.note import Attack
from fretwright.sound.contacts import Contact

SLUR_GLIDE: Final = 240
"""5 ms: what a finger takes from touching the string to pressing it on the fret."""
_LONGEST_SLIDE: Final = 7_200
_SLIDE_PER_FRET: Final = 1_700
_SHORTEST_GLIDE: Final = 8


@dataclass(frozen=True, slots=True)
class FretStep:
    """From one fret to the next."""

    start: int
    """Sample at which it starts."""
    from_midi: int
    to_midi: int
    length: int
    """In samples."""


@dataclass(frozen=True, slots=True)
class Slide:
    """All frets of one slide."""

    steps: tuple[FretStep, ...]
    start: int
    length: int
    """Samples that the finger is on its way."""


def slide_before(before: Contact, contact: Contact) -> Slide | None:
    """The slide by which a contact is reached from the one before it on the string; None where it is not.

    The last step of a slurred slide starts on the note's onset, that of a shift ends there.
    """
    frets = abs(contact.midi - before.midi)
    is_slurred = contact.attack is Attack.SLIDE
    if frets == 0 or contact is before or not (is_slurred or contact.touch.shifts):
        return None
    length = min(_LONGEST_SLIDE, frets * _SLIDE_PER_FRET, (contact.onset - before.onset) // 2)
    spacing = length // frets
    first = contact.onset - (frets - 1 if is_slurred else frets) * spacing
    return Slide(_steps(first, spacing, before.midi, contact.midi), contact.onset - length, length)


def slide_in(contact: Contact) -> Slide | None:
    """The slide from no particular fret that a pluck starts with."""
    return _between(contact, contact.touch.slides_from, contact.midi, contact.onset, contact.touch.arrives_s)


def slide_out(contact: Contact) -> Slide | None:
    """The slide to no particular fret that a note ends with."""
    leaves = contact.at(contact.touch.leaves_s)
    ends_s = contact.touch.until_s
    return _between(contact, contact.midi, contact.touch.slides_to, leaves, ends_s)


def _between(
    contact: Contact, from_midi: int | None, to_midi: int | None, start: int, end_s: float
) -> Slide | None:
    if from_midi is None or to_midi is None or from_midi == to_midi:
        return None
    length = max(1, contact.at(end_s) - start)
    spacing = length // abs(to_midi - from_midi)
    return Slide(_steps(start, spacing, from_midi, to_midi), start, length)


def _steps(first: int, spacing: int, from_midi: int, to_midi: int) -> tuple[FretStep, ...]:
    """One step per fret, evenly spaced."""
    up = 1 if to_midi > from_midi else -1
    length = min(SLUR_GLIDE, max(_SHORTEST_GLIDE, spacing))
    midis = range(from_midi, to_midi + up, up)
    return tuple(
        FretStep(first + index * spacing, low, high, length)
        for index, (low, high) in enumerate(pairwise(midis))
    )
