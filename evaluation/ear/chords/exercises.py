"""Exercises with notes that sound together, made by chance.

Strummed, plucked, power chords, bass and chord, and chords with lines between them.

Shapes of usual open chords and of some that can be moved, as printed in any chord book (common practice).
"""

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Final

import numpy as np

from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.score import Score
from fretwright.score.techniques import Stroke
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH, HALF, QUARTER, WHOLE
from fretwright.theory.key import Key

Frets = tuple[int | None, ...]
"""From string 6 to string 1; ``None`` where a string is not struck."""

_NECK: Final = Neck()
_OPEN_CHORDS: Final[Mapping[str, Frets]] = MappingProxyType(
    {
        "C": (None, 3, 2, 0, 1, 0), "G": (3, 2, 0, 0, 0, 3), "D": (None, None, 0, 2, 3, 2),
        "A": (None, 0, 2, 2, 2, 0), "E": (0, 2, 2, 1, 0, 0), "Am": (None, 0, 2, 2, 1, 0),
        "Em": (0, 2, 2, 0, 0, 0), "Dm": (None, None, 0, 2, 3, 1), "F": (1, 3, 3, 2, 1, 1),
        "B7": (None, 2, 1, 2, 0, 2), "G7": (3, 2, 0, 0, 0, 1), "Cmaj7": (None, 3, 2, 0, 0, 0),
        "D7": (None, None, 0, 2, 1, 2), "Asus2": (None, 0, 2, 2, 0, 0),
    }
)  # fmt: skip
_MOVED: Final[tuple[Frets, ...]] = (
    (0, 2, 2, 1, 0, 0), (0, 2, 2, 0, 0, 0), (None, 0, 2, 2, 2, 0), (None, 0, 2, 2, 1, 0), (0, 2, 0, 1, 0, 0),
)  # fmt: skip
_POWER: Final[tuple[Frets, ...]] = (
    (0, 2, 2, None, None, None), (None, 0, 2, 2, None, None), (0, 2, None, None, None, None),
)  # fmt: skip
_STRUMS: Final = ("d d d d", "d - d u - u d u", "d d u - u d u", "d - d u d u d u")
"""A bar of strokes: four are quarters, more are eighths; ``-`` goes on sounding."""


def exercise(rng: np.random.Generator) -> tuple[str, Score]:
    """One exercise of eight bars or so and its kind."""
    kind = str(rng.choice(list(KINDS), p=[0.45, 0.15, 0.12, 0.14, 0.14]))
    low, high, make = KINDS[kind]
    bpm = float(round(rng.uniform(low, high)))
    heading = Heading("made", "Made", _NECK, Key(0), TempoMap.constant(bpm))
    return kind, assemble(heading, into_bars(make(rng)))


def heads_of(frets: Frets, stroke: Stroke | None = None) -> tuple[Head, ...]:
    """The strings of a chord."""
    places = [Place(6 - row, fret) for row, fret in enumerate(frets) if fret is not None]
    return tuple(Head(place, _NECK.pitch_at(place), stroke=stroke) for place in places)


def progression(rng: np.random.Generator, count: int) -> list[Frets]:
    """Chords one after another: most open, some barred."""
    names = list(_OPEN_CHORDS)
    chords: list[Frets] = []
    for _ in range(count):
        if rng.random() < 0.75:
            chords.append(_OPEN_CHORDS[names[int(rng.integers(len(names)))]])
        else:
            chords.append(_at(_MOVED[int(rng.integers(len(_MOVED)))], int(rng.integers(1, 8))))
    return chords


def _at(frets: Frets, fret: int) -> Frets:
    return tuple(None if one is None else one + fret for one in frets)


def _strummed(rng: np.random.Generator) -> Iterator[Event]:
    pattern = _STRUMS[int(rng.integers(len(_STRUMS)))].split()
    beat = QUARTER if len(pattern) == 4 else EIGHTH
    for frets in progression(rng, 8):
        at = 0
        while at < len(pattern):
            held = 1
            while at + held < len(pattern) and pattern[at + held] == "-":
                held += 1
            stroke = Stroke.DOWN if pattern[at] == "d" else Stroke.UP
            value = beat if held == 1 else QUARTER
            yield Event(value, heads_of(frets, stroke))
            at += held
    yield Event(WHOLE, heads_of(frets, Stroke.DOWN))


def _plucked(rng: np.random.Generator) -> Iterator[Event]:
    value = HALF if rng.random() < 0.5 else QUARTER
    for frets in progression(rng, 8):
        held = [row for row, fret in enumerate(frets) if fret is not None]
        chosen = {held[0], *held[-3:]}
        some = tuple(fret if row in chosen else None for row, fret in enumerate(frets))
        for _ in range(2 if value is HALF else 4):
            yield Event(value, heads_of(some))


def _power(rng: np.random.Generator) -> Iterator[Event]:
    shape = _POWER[int(rng.integers(len(_POWER)))]
    for _ in range(6):
        frets = _at(shape, int(rng.integers(0, 9)))
        for value in ([EIGHTH] * 8, [QUARTER] * 4, [QUARTER, EIGHTH, EIGHTH] * 2)[int(rng.integers(3))]:
            yield Event(value, heads_of(frets, Stroke.DOWN))


def _bass_and_chord(rng: np.random.Generator) -> Iterator[Event]:
    """Bass, chord, other bass, chord: the lowest string alone, then the upper ones."""
    for frets in progression(rng, 8):
        held = [row for row, fret in enumerate(frets) if fret is not None]
        upper = tuple(fret if row in held[-3:] else None for row, fret in enumerate(frets))
        for bass in (held[0], held[1]):
            yield Event(QUARTER, heads_of(tuple(f if r == bass else None for r, f in enumerate(frets))))
            yield Event(QUARTER, heads_of(upper, Stroke.DOWN))


def _mixed(rng: np.random.Generator) -> Iterator[Event]:
    """A bar of chord, a bar of single notes inside it."""
    for frets in progression(rng, 5):
        for _ in range(2):
            yield Event(HALF, heads_of(frets, Stroke.DOWN))
        held = [row for row, fret in enumerate(frets) if fret is not None]
        for index in range(8):
            row = held[(index * int(rng.integers(1, 3))) % len(held)]
            fret = (frets[row] or 0) + (2 if rng.random() < 0.3 else 0)
            yield Event(EIGHTH, heads_of(tuple(fret if r == row else None for r in range(6))))


KINDS: Final[Mapping[str, tuple[int, int, Callable[[np.random.Generator], Iterator[Event]]]]] = (
    MappingProxyType(
        {
            "strummed": (60, 110, _strummed),
            "plucked": (60, 100, _plucked),
            "power": (70, 130, _power),
            "bass and chord": (70, 130, _bass_and_chord),
            "mixed": (60, 100, _mixed),
        }
    )
)
"""Slowest and fastest tempo, and how it is made."""
