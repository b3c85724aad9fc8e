"""Keys and the signatures printed for them.

A key is a number of fifths from C along the circle: sharps above zero, flats below. The signature shows
those accidentals in their fixed order (F C G D A E B for sharps, the reverse for flats).
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Self

from fretwright.base.errors import NotationError
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName, Pitch
from fretwright.theory.scale import SCALE_KINDS, Scale

MAX_ACCIDENTALS: Final = 7
_FIFTHS_ORDER: Final = "FCGDAEB"
"""Letters in the order in which sharps are printed; each lies a fifth above the one before."""
_MINOR_FIFTHS: Final = -3
"""A minor key has the signature of the major key three fifths down the circle."""

_MODES: Final = (
    ("major", 0), ("natural minor", -3), ("mixolydian", -1), ("dorian", -2),
    ("lydian", 1), ("phrygian", -4), ("locrian", -5),
)  # fmt: skip
"""Diatonic modes, most common first, with the fifths of their signature against the tonic's major key."""
_KEYLESS: Final = frozenset({"whole tone", "diminished", "half-whole diminished", "chromatic"})
"""Kinds that divide the octave evenly and so belong to no key."""

_KEY = re.compile(
    r"(?P<tonic>[A-Ga-g](?:[ -]?(?:sharp|flat)|[#♯b♭]?))\s*(?P<mode>(?i:major|minor|maj|min)|m|)"
)
_MINOR_WORDS: Final = frozenset({"minor", "min", "m"})


@dataclass(frozen=True, slots=True, order=True)
class Key:
    """A major or minor key by its signature."""

    fifths: int
    """Sharps of the signature, or flats as a number below zero; from -7 to 7."""
    minor: bool = False

    def __post_init__(self) -> None:
        if abs(self.fifths) > MAX_ACCIDENTALS:
            raise NotationError(
                f"No key signature has {abs(self.fifths)} accidentals.", "Use the enharmonic key."
            )

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a key: ``B minor``, ``Eb major``, ``F#m``; a tonic alone is major.

        Raises :class:`NotationError` where it is no key, or one that needs more than seven accidentals.
        """
        match = _KEY.fullmatch(text.strip())
        if not match:
            raise NotationError(
                f'"{text}" is not a key.', "Write a tonic with major or minor, such as B minor."
            )
        tonic, minor = NoteName.parse(match["tonic"]), match["mode"].lower() in _MINOR_WORDS
        fifths = _fifths_of(tonic) + (_MINOR_FIFTHS if minor else 0)
        if abs(fifths) > MAX_ACCIDENTALS:
            near = cls(fifths - 12 if fifths > 0 else fifths + 12, minor)
            raise NotationError(
                f'The key "{text}" would need {abs(fifths)} accidentals.', f"Write {near.name} instead."
            )
        return cls(fifths, minor)

    @classmethod
    def of_scale(cls, scale: Scale) -> Self:
        """The signature that a method book prints over a scale.

        The first of major, natural minor and the other modes that holds all its notes gives the
        signature, so that a minor pentatonic has that of its minor key and D dorian has none. A scale
        that fits no mode (blues, harmonic minor) has that of the minor or major key on its tonic,
        whichever its third belongs to. Scales without a key (whole tone, diminished, chromatic), and
        those that would need more than seven accidentals (G# major), have no signature and print every
        accidental, so that the spelling of the scale stands; :func:`simplest` respells such a scale.

        The result is a signature, not a name: over D dorian it is that of A minor. Print the name of
        the scale.
        """
        offset, minor = _signature_of(scale)
        fifths = _fifths_of(scale.tonic) + offset
        if scale.kind.name in _KEYLESS or abs(fifths) > MAX_ACCIDENTALS:
            return cls(0, minor)
        return cls(fifths, minor)

    @property
    def accidentals(self) -> Mapping[str, int]:
        """Letter to alteration, in the order of print: F, C, G for three sharps."""
        letters = _FIFTHS_ORDER if self.fifths > 0 else _FIFTHS_ORDER[::-1]
        sign = 1 if self.fifths > 0 else -1
        return MappingProxyType(dict.fromkeys(letters[: abs(self.fifths)], sign))

    @property
    def tonic(self) -> NoteName:
        """The keynote."""
        return _name_at_fifths(self.fifths - (_MINOR_FIFTHS if self.minor else 0))

    @property
    def name(self) -> str:
        """The key in words, readable by :meth:`parse`: ``B minor``."""
        return f"{self.tonic} {'minor' if self.minor else 'major'}"

    @property
    def scale(self) -> Scale:
        """The major or natural minor scale of the key."""
        return Scale(self.tonic, SCALE_KINDS["natural minor" if self.minor else "major"])

    def alter_of(self, letter: str) -> int:
        """Semitones that the signature adds to every note of this letter."""
        return self.accidentals.get(letter, 0)

    def spell(self, midi: int) -> Pitch:
        """The pitch of a MIDI note as this key spells it.

        Notes of the key need no accidental. Outside it a minor key raises its sixth and seventh degree;
        everything else follows :meth:`Scale.spell`.
        """
        raised = _MINOR_RAISED.get((midi - self.tonic.pitch_class) % 12) if self.minor else None
        if raised is not None:
            return Pitch.at_height(self.tonic.transposed(raised), midi)
        return self.scale.spell(midi)

    def __str__(self) -> str:
        return self.name


_MINOR_RAISED: Final = {9: Interval.of_degree("6"), 11: Interval.of_degree("7")}


def simplest(scale: Scale) -> Scale:
    """The scale itself where a signature of up to seven accidentals fits it, else its enharmonic.

    G# major becomes Ab major and Fb minor pentatonic E minor pentatonic.
    """
    fifths = _fifths_of(scale.tonic) + _signature_of(scale)[0]
    if abs(fifths) <= MAX_ACCIDENTALS:
        return scale
    turns = (fifths + 5) // 12
    return Scale(_name_at_fifths(_fifths_of(scale.tonic) - 12 * turns), scale.kind)


def _signature_of(scale: Scale) -> tuple[int, bool]:
    """Fifths of the signature against the major key on the tonic, and whether the third is minor."""
    degrees = set(scale.degrees)
    minor = Interval.of_degree("b3") in degrees and Interval.of_degree("3") not in degrees
    for mode, fifths in _MODES:
        if degrees <= set(SCALE_KINDS[mode].degrees):
            return fifths, minor
    return (_MINOR_FIFTHS if minor else 0), minor


def _fifths_of(name: NoteName) -> int:
    """Fifths from C to a name: 1 for G, -2 for Bb, 6 for F#."""
    return _FIFTHS_ORDER.index(name.letter) - 1 + 7 * name.alter


def _name_at_fifths(fifths: int) -> NoteName:
    alter, index = divmod(fifths + 1, 7)
    return NoteName(_FIFTHS_ORDER[index], alter)
