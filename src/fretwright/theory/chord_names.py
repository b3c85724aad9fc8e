"""Naming what sounds: pitch classes and the lowest of them enter, ranked chord names leave.

The same notes have several names, and only the music around them decides. Each name comes with a price in
points, and with the reasons that a teacher would give; the cheapest is first. Points (common practice, no
source):

==========================  =====================================================
the bass is another tone    3, and 1.5 more for each inversion beyond the first
the bass is no chord tone   4.5
a tone is left out          4 for each
the symbol is unusual       up to 6, by its place in the list of common symbols
==========================  =====================================================

So C E G A is C6 over C and Am7 over A, each with the other as its second name.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Final

from fretwright.theory.chord import Chord, simplest_root
from fretwright.theory.chord_quality import Quality
from fretwright.theory.chord_symbol import COMMON_SYMBOLS, read_quality
from fretwright.theory.pitch import NoteName

_INVERSION: Final = 3.0
_HIGHER_INVERSION: Final = 1.5
_FOREIGN_BASS: Final = 4.5
_LEFT_OUT: Final = 4.0
_UNUSUAL: Final = 6.0
_NEVER_NAMED: Final = frozenset({"m#5", "m7#5"})
"""Kinds that are always taken for the inversion of a simpler chord."""
_POSITIONS: Final = ("first", "second", "third", "fourth", "fifth", "sixth")
_TONES: Final = {
    "b3": "minor third", "3": "major third", "2": "second", "4": "fourth", "5": "fifth", "b5": "flat fifth",
    "#5": "sharp fifth", "6": "sixth", "b7": "seventh", "7": "major seventh", "bb7": "diminished seventh",
    "b9": "flat ninth", "9": "ninth", "#9": "sharp ninth", "11": "eleventh", "#11": "sharp eleventh",
    "b13": "flat thirteenth", "13": "thirteenth",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ChordName:
    """One name for what sounds."""

    chord: Chord
    points: float
    """What speaks against the name; 0 is a plain triad on its root."""
    reasons: tuple[str, ...]
    """Why it is so named, in a teacher's words: ``the root is in the bass``."""


def names_of(pitch_classes: Iterable[int], bass: int) -> tuple[ChordName, ...]:
    """Every chord that these pitch classes (or MIDI numbers) are, with ``bass`` the lowest, best first.

    Empty where they are no chord of the common kinds; a single note and a bare third are none.
    """
    sounding = frozenset(pitch % 12 for pitch in pitch_classes) | {bass % 12}
    found = [
        *_matches(sounding, bass % 12, is_foreign=False),
        *_matches(sounding - {bass % 12}, bass % 12, is_foreign=True),
    ]
    found.sort(key=lambda name: (name.points, len(name.chord.symbol), name.chord.symbol))
    return tuple(found)


def _matches(sounding: frozenset[int], bass: int, *, is_foreign: bool) -> Iterator[ChordName]:
    """Names of what sounds; ``is_foreign`` has the bass stand outside the chord."""
    if len(sounding) < (3 if is_foreign else 2):
        return
    for root in sorted(sounding):
        above = frozenset((pitch - root) % 12 for pitch in sounding)
        for quality, place, everything, needed in _common():
            if not needed <= above <= everything:
                continue
            if is_foreign and (bass - root) % 12 in everything:
                continue
            yield _named(root, quality, bass, place=place, missing=everything - above)


@cache
def _common() -> tuple[tuple[Quality, int, frozenset[int], frozenset[int]], ...]:
    """Common qualities with their place in the list, all their semitones, and those that must sound."""
    rows = []
    for place, symbol in enumerate(COMMON_SYMBOLS):
        if symbol in _NEVER_NAMED:
            continue
        quality = read_quality(symbol)
        everything = frozenset(degree.semitones % 12 for degree in quality.degrees)
        everything -= {degree.semitones % 12 for degree in quality.avoided}
        needed = everything - {degree.semitones % 12 for degree in quality.omittable}
        rows.append((quality, place, everything, needed))
    return tuple(rows)


def _named(root: int, quality: Quality, bass: int, *, place: int, missing: frozenset[int]) -> ChordName:
    root_name = simplest_root(root, quality)
    plain = Chord(root_name, quality, root_name)
    chord = Chord(root_name, quality, _bass_name(plain, bass)) if bass != root else plain
    points = _UNUSUAL * place / len(COMMON_SYMBOLS) + _LEFT_OUT * len(missing)
    inversion = chord.inversion
    if inversion is None:
        points += _FOREIGN_BASS
        reasons = [f"the bass {chord.bass.spoken} is no note of {plain.symbol}"]
    elif inversion == 0:
        reasons = ["the root is in the bass"]
    else:
        points += _INVERSION + _HIGHER_INVERSION * (inversion - 1)
        reasons = [f"{_POSITIONS[inversion - 1]} inversion, the {_tone(chord, bass)} is in the bass"]
    reasons += [f"the {_tone(chord, root + semitones)} is left out" for semitones in sorted(missing)]
    return ChordName(chord, points, tuple(reasons))


def _bass_name(chord: Chord, bass: int) -> NoteName:
    return chord.spell(bass).name


def _tone(chord: Chord, pitch_class: int) -> str:
    degree = chord.degree_of(pitch_class)
    return _TONES.get(degree.degree, degree.degree) if degree else "bass"
