"""What a chord asks of a voicing, and what its sound costs: silent strings, missing tones, unisons."""

from collections.abc import Collection, Iterable
from typing import Final, NamedTuple

from fretwright.fretboard.neck import Neck
from fretwright.fretboard.voicing import Frets
from fretwright.theory.chord import Chord
from fretwright.theory.interval import Interval

SILENT_BELOW_MM: Final = 8.0
SILENT_FURTHER_BELOW_MM: Final = 36.0
"""From the third string below the bass on: a chord of few strings is no longer a full one."""
SILENT_INSIDE_MM: Final = 40.0
SILENT_ABOVE_MM: Final = 26.0
OMITTED_MM: Final = 6.0
UNISON_MM: Final = 12.0
_FEW_BELOW: Final = 2


class Wanted(NamedTuple):
    """What a chord asks of a voicing, in pitch classes."""

    allowed: frozenset[int]
    needed: frozenset[int]
    missed: frozenset[int]
    """Tones that may be left out, at a price."""
    bass: int | None
    """The lowest note, or None for any."""
    bass_is_foreign: bool
    """Whether the bass is no chord tone, so that it sounds nowhere else."""
    silence_is_free: bool
    """Whether strings above the chord may stay silent at no cost: two notes are not spread over six."""
    has_bass_side: bool
    """Whether the lowest strings are the bass, which may stay silent more cheaply than what lies above."""


def wanted_of(chord: Chord, neck: Neck, *, is_inverted: bool = False) -> Wanted:
    """What to look for; ``is_inverted`` lets any tone of a chord without a slash be the lowest."""
    quality, root = chord.quality, chord.root.pitch_class

    def classes(degrees: Iterable[Interval]) -> frozenset[int]:
        return frozenset((root + degree.semitones) % 12 for degree in degrees)

    tones = classes(quality.degrees) - classes(quality.avoided)
    bass = chord.bass.pitch_class
    is_free = not chord.is_slash and (is_inverted or neck.tuning.is_reentrant)
    # the third of an eleventh chord clashes with what gives it its name, so nobody misses it
    missed = classes(degree for degree in quality.omittable if degree.degree != "3") & tones
    return Wanted(
        allowed=tones | {bass},
        needed=tones - classes(quality.omittable) | {bass},
        missed=missed - {bass},
        bass=None if is_free else bass,
        bass_is_foreign=bass not in tones,
        silence_is_free=len(tones | {bass}) == 2,
        has_bass_side=not neck.tuning.is_reentrant,
    )


def silent_mm(frets: Frets, wanted: Wanted) -> float:
    """What the silent strings of a voicing cost."""
    used = [index for index, fret in enumerate(frets) if fret is not None]
    inside = used[-1] - used[0] + 1 - len(used)
    below = len(frets) - 1 - used[-1]
    return above_mm(used[0], wanted) + below_mm(below, wanted) + SILENT_INSIDE_MM * inside


def above_mm(strings: int, wanted: Wanted) -> float:
    """What so many silent strings above the chord cost."""
    return 0.0 if wanted.silence_is_free else SILENT_ABOVE_MM * strings


def below_mm(strings: int, wanted: Wanted) -> float:
    """What so many silent strings below the bass cost."""
    if not wanted.has_bass_side:
        return above_mm(strings, wanted)
    near = min(strings, _FEW_BELOW)
    near_mm = 0.0 if wanted.silence_is_free else SILENT_BELOW_MM
    return near_mm * near + SILENT_FURTHER_BELOW_MM * (strings - near)


def unison_mm(pitches: Collection[int]) -> float:
    """What strings cost that sound the same pitch (MIDI) as another."""
    return UNISON_MM * (len(pitches) - len(set(pitches)))


def omitted_mm(sounding: frozenset[int], wanted: Wanted) -> float:
    """What the missing tones cost."""
    return OMITTED_MM * len(wanted.missed - sounding)
