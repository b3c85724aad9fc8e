"""Tuning by ear: which strings are compared, and how far each ends up from equal temperament.

Two ways are as old as the guitar (common practice, no source): a string already tuned is stopped at the fret
where it sounds the next one, or harmonics of both are compared until they stop beating. Fretted notes are
those of equal temperament; harmonics are whole multiples of the open string, so that the second way is out
by as much as the two scales differ: a fourth tuned by harmonics is 1200 log2(4/3) - 500 = -1.955 cents off,
and the errors of several strings add up.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import log2
from typing import Final

from fretwright.base.errors import FretboardError
from fretwright.fretboard.neck import Place
from fretwright.fretboard.tuning import Tuning

_NODES: Final = {1: 0, 2: 12, 3: 7, 4: 5}
"""Fret over which a string is touched, by the partial that sounds then; partial 1 is the open string."""
_CLOSE_CENTS: Final = 3.0
"""Harmonics further apart than this do not serve for tuning."""
_LAST_FRET: Final = 12


@dataclass(frozen=True, slots=True)
class Compared:
    """What is heard of one string in a step."""

    place: Place
    """The fret that is pressed, or over which the string is touched; 0 is the open string."""
    partial: int
    """1 for an open or stopped string, else which harmonic sounds."""
    frequency_hz: float
    """In equal temperament, the partial counted."""

    @property
    def is_harmonic(self) -> bool:
        """Whether the string is touched and not pressed."""
        return self.partial > 1


@dataclass(frozen=True, slots=True)
class TuningStep:
    """One string is tuned to another one."""

    string: int
    reference: Compared
    """On the string that is in tune already."""
    own: Compared
    """On the string that is being tuned."""
    off_cents: float
    """How far the string ends up from equal temperament against its reference, where the two stop beating."""
    off_in_all_cents: float
    """The same with the errors of the strings before it."""

    @property
    def beats_per_s(self) -> float:
        """How often a second the two beat where both strings are in equal temperament."""
        return abs(self.reference.frequency_hz - self.own.frequency_hz)


def steps_by_frets(tuning: Tuning) -> tuple[TuningStep, ...]:
    """Each string by a fretted one beside it, from the lowest-numbered thick one on.

    Raises :class:`FretboardError` where two neighbours lie further apart than an octave.
    """
    return tuple(_by_frets(tuning))


def _by_frets(tuning: Tuning) -> Iterator[TuningStep]:
    for string in reversed(tuning.strings[:-1]):
        known = range(string + 1, tuning.string_count + 1)
        other = min(known, key=lambda other: (_frets_apart(tuning, string, other) > _LAST_FRET, other))
        rise = tuning.open_pitch(string).midi - tuning.open_pitch(other).midi
        if abs(rise) > _LAST_FRET:
            raise FretboardError(
                f"String {string} lies further than an octave from every other string.",
                "Tune it by a reference tone.",
            )
        own, reference = Place(string, max(0, -rise)), Place(other, max(0, rise))
        yield TuningStep(string, _open(tuning, reference), _open(tuning, own), 0.0, 0.0)


def _frets_apart(tuning: Tuning, string: int, other: int) -> int:
    return abs(tuning.open_pitch(string).midi - tuning.open_pitch(other).midi)


def steps_by_harmonics(tuning: Tuning) -> tuple[TuningStep, ...]:
    """Each string by harmonics of one that is tuned already, the nearest that serves.

    A string for which none serves is left out.
    """
    off_in_all = {tuning.string_count: 0.0}
    steps = []
    for string in reversed(tuning.strings[:-1]):
        found = min(_pairs(tuning, string, off_in_all), key=_worth, default=None)
        if found is None:
            continue
        reference, own, off = found
        off_in_all[string] = off_in_all[reference.place.string] + off
        steps.append(TuningStep(string, reference, own, off, off_in_all[string]))
    return tuple(steps)


def _pairs(tuning: Tuning, string: int, known: Iterable[int]) -> Iterator[tuple[Compared, Compared, float]]:
    """What can be compared, and how far the string then is from equal temperament."""
    for other in known:
        for partial in _NODES:
            for own_partial in _NODES:
                reference, own = (_touched(tuning, other, partial), _touched(tuning, string, own_partial))
                off = 1200 * log2(reference.frequency_hz / own.frequency_hz)
                if abs(off) <= _CLOSE_CENTS and max(partial, own_partial) > 1:
                    yield reference, own, off


def _worth(pair: tuple[Compared, Compared, float]) -> tuple[bool, int, int]:
    """Two harmonics before one, then neighbours, then low partials."""
    reference, own, _ = pair
    one_is_open = not (reference.is_harmonic and own.is_harmonic)
    return one_is_open, reference.place.string - own.place.string, reference.partial + own.partial


def _open(tuning: Tuning, place: Place) -> Compared:
    hz = tuning.open_pitch(place.string).frequency_hz()
    return Compared(place, 1, hz * 2 ** (place.fret / 12))


def _touched(tuning: Tuning, string: int, partial: int) -> Compared:
    hz = tuning.open_pitch(string).frequency_hz()
    return Compared(Place(string, _NODES[partial]), partial, hz * partial)
