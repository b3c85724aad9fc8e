"""What a grip on the fretboard is called.

    name_of(places of x32010, neck)[0].chord   ->   C

The naming itself is :func:`fretwright.theory.chord_names.names_of`; here frets become sounding notes.
"""

from collections.abc import Iterable

from fretwright.base.errors import FretboardError
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.voicing import Frets
from fretwright.theory.chord_names import ChordName, names_of


def name_of(places: Iterable[Place], neck: Neck | None = None) -> tuple[ChordName, ...]:
    """Every name for what sounds at these places, best first, each with its reasons.

    The lowest sounding note is the bass, on whichever string it lies. Empty where the notes are no chord
    of the common kinds.
    Raises :class:`FretboardError` for no place at all, and off the neck.
    """
    held = neck or Neck()
    sounding = [held.midi_at(place) for place in places]
    if not sounding:
        raise FretboardError("Silence has no chord name.", "Give at least one string a fret.")
    return names_of(sounding, min(sounding))


def name_of_frets(frets: Frets, neck: Neck | None = None) -> tuple[ChordName, ...]:
    """The same for frets by string, index 0 being string 1. Raises as :func:`name_of` does."""
    return name_of(
        (Place(string, fret) for string, fret in enumerate(frets, start=1) if fret is not None), neck
    )
