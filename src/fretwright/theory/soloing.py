"""What to play over chords: scales for each of them and for all together, and the notes that chords share.

A scale goes with a chord where it holds its tones; of a pentatonic scale it is enough that it holds the
triad. Those that stay nearest to the key come first. Over a blues of seventh chords the blues scale of its
key is played throughout although its flat third rubs against theirs (common practice, no source).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from fretwright.theory.chord import Chord
from fretwright.theory.chord_quality import Triad
from fretwright.theory.key import Key, simplest
from fretwright.theory.pitch import NoteName
from fretwright.theory.scale import SCALE_KINDS, Scale

_SEVEN_NOTES: Final = (
    "major", "mixolydian", "dorian", "natural minor", "lydian", "phrygian", "locrian", "melodic minor",
    "harmonic minor",
)  # fmt: skip
"""Scales on the root of a chord, the usual ones first."""
_EVEN: Final = ("diminished", "half-whole diminished", "whole tone")
"""Scales of even steps, for chords that no other scale holds."""
_FIVE_NOTES: Final = ("major pentatonic", "minor pentatonic")
_MOST: Final = 3
_FIFTH_STEPS: Final = 4
_THIRTEENTH_STEPS: Final = 12
_BLUES_ROOTS: Final = frozenset({0, 5, 7})
"""Semitones above the tonic of the three chords of a blues."""


@dataclass(frozen=True, slots=True)
class OverChord:
    """A scale that goes with a chord."""

    scale: Scale
    outside: tuple[NoteName, ...]
    """Its notes that are not in the key."""


def scales_over(chord: Chord, key: Key) -> tuple[OverChord, ...]:
    """Up to three scales that go with a chord, those first that leave the key least.

    They stand on its root, but for the harmonic minor scale of a minor key.
    """
    found = []
    for order, scale in enumerate(_candidates(chord, key)):
        outside = tuple(note for note in scale.notes if not key.scale.contains(note.pitch_class))
        found.append((len(outside), order, OverChord(scale, outside)))
    return tuple(over for _, _, over in sorted(found, key=lambda entry: entry[:2])[:_MOST])


def _candidates(chord: Chord, key: Key) -> Iterator[Scale]:
    tones = _sounding(chord)
    full = [Scale(chord.root, SCALE_KINDS[name]) for name in _SEVEN_NOTES]
    if key.minor:
        full.append(Scale(key.tonic, SCALE_KINDS["harmonic minor"]))
    fitting = [scale for scale in dict.fromkeys(full) if _holds(scale, tones)]
    yield from fitting
    if not fitting:
        even = (Scale(chord.root, SCALE_KINDS[name]) for name in _EVEN)
        yield from (scale for scale in even if _holds(scale, tones))
    triad = _sounding(chord, most_steps=_FIFTH_STEPS)
    five = (Scale(chord.root, SCALE_KINDS[name]) for name in _FIVE_NOTES)
    yield from (scale for scale in five if _holds(scale, triad))


def _sounding(chord: Chord, most_steps: int = _THIRTEENTH_STEPS) -> set[int]:
    """The pitch classes of a chord up to a number of steps above its root."""
    return {
        note.pitch_class
        for note, degree in zip(chord.notes, chord.degrees, strict=True)
        if degree.steps <= most_steps
    }


def _holds(scale: Scale, tones: set[int]) -> bool:
    return all(scale.contains(tone) for tone in tones)


def scales_over_all(chords: Sequence[Chord], key: Key) -> tuple[Scale, ...]:
    """Scales that go with a whole chart: that of the key and its pentatonic, or the blues of its tonic."""
    found: list[Scale] = []
    if chords and all(_is_of_blues(chord, key) for chord in chords):
        found += [Scale(key.tonic, SCALE_KINDS[name]) for name in ("blues", "minor pentatonic")]
    tones = {note.pitch_class for chord in chords for note in chord.notes}
    if chords and all(key.scale.contains(tone) for tone in tones):
        five = "minor pentatonic" if key.minor else "major pentatonic"
        found += [key.scale, Scale(key.tonic, SCALE_KINDS[five])]
    return tuple(dict.fromkeys(simplest(scale) for scale in found))


def _is_of_blues(chord: Chord, key: Key) -> bool:
    """Whether a chord is a seventh chord on the first, fourth or fifth step, minor or not."""
    above = (chord.root.pitch_class - key.tonic.pitch_class) % 12
    has_seventh = chord.degree_of(chord.root.pitch_class + 10) is not None
    plain = chord.quality.triad in {Triad.MAJOR, Triad.MINOR}
    return above in _BLUES_ROOTS and has_seventh and plain


def common_tones(chord: Chord, after: Chord) -> tuple[NoteName, ...]:
    """The notes of a chord that the next one has too, as the first one spells them."""
    others = {note.pitch_class for note in after.notes}
    return tuple(note for note in chord.notes if note.pitch_class in others)
