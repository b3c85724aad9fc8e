"""Spelled pitches: the note name as written, and the sound that it stands for.

Conventions: middle C is C4 and MIDI note 60; the octave number belongs to the letter, so B#3 sounds as
C4 and Cb4 as B3; frequency by equal temperament from A4 = 440 Hz (ISO 16:1975). Guitar music is written
an octave above its sound; everything here is the sound.
"""

import re
from dataclasses import dataclass
from functools import total_ordering
from typing import Final, Self

from fretwright.base.errors import NotationError
from fretwright.base.units import A4_HZ, midi_to_hz
from fretwright.theory.interval import Interval

LETTERS: Final = "CDEFGAB"
"""Note letters in staff order from C."""
_SEMITONES: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}

_ACCIDENTAL: Final = r"[#♯]{1,9}|[b♭]{1,9}|[x𝄪×][#♯]?|𝄫|[ -]?sharps?|[ -]?flats?|"
_NAME = re.compile(rf"([A-Ga-g])({_ACCIDENTAL})")
_PITCH = re.compile(rf"([A-Ga-g])({_ACCIDENTAL})\s?(-?[0-9]{{1,2}})")
_PRETTY_ALTER: Final = {0: "", 1: "♯", 2: "×", -1: "♭", -2: "♭♭"}
_SPOKEN_ALTER: Final = {0: "", 1: " sharp", 2: " double sharp", -1: " flat", -2: " double flat"}


@dataclass(frozen=True, slots=True, order=True)
class NoteName:
    """A spelled pitch class: F sharp, which is not G flat although it sounds the same."""

    letter: str
    """One capital letter from A to G."""
    alter: int = 0
    """Semitones that the accidental adds: 1 for a sharp, -1 for a flat."""

    def __post_init__(self) -> None:
        if self.letter not in _SEMITONES:
            raise NotationError(f'"{self.letter}" is not a note letter.', "Use a capital letter from A to G.")

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a note name: ``F#``, ``Bb``, ``F♯``, ``fb``, ``Cx``, ``F sharp``.

        Raises :class:`NotationError` where the text is no note name.
        """
        match = _NAME.fullmatch(text.strip())
        if not match:
            raise NotationError(
                f'"{text}" is not a note name.',
                "Write a letter from A to G with # or b after it where needed, such as F# or Bb.",
            )
        return cls(match[1].upper(), _alter_of_signs(match[2]))

    @property
    def letter_index(self) -> int:
        """Place of the letter in staff order, C being 0 and B 6."""
        return LETTERS.index(self.letter)

    @property
    def pitch_class(self) -> int:
        """The key of the keyboard that it names, 0 for C to 11 for B."""
        return (_SEMITONES[self.letter] + self.alter) % 12

    @property
    def pretty(self) -> str:
        """The name as print sets it: ``F♯``, ``B♭``."""
        signs = "♯" * self.alter or "♭" * -self.alter
        return self.letter + _PRETTY_ALTER.get(self.alter, signs)

    @property
    def spoken(self) -> str:
        """The name as a teacher says it: ``F sharp``."""
        words = " sharp" * self.alter or " flat" * -self.alter
        return self.letter + _SPOKEN_ALTER.get(self.alter, words)

    def interval_to(self, other: "NoteName", /) -> Interval:
        """The interval from this name up to the next ``other`` above it, of fewer than seven steps."""
        steps = other.letter_index - self.letter_index
        semitones = _SEMITONES[other.letter] + other.alter - _SEMITONES[self.letter] - self.alter
        return Interval(steps, semitones).simple

    def transposed(self, interval: Interval) -> "NoteName":
        """The name that lies ``interval`` away, spelled by its steps."""
        return Pitch(self, 4).transposed(interval).name

    def __str__(self) -> str:
        return self.letter + ("#" * self.alter or "b" * -self.alter)


@total_ordering
@dataclass(frozen=True, slots=True)
class Pitch:
    """A spelled sounding pitch. Pitches sort by height, then by their place on the staff."""

    name: NoteName
    octave: int
    """Scientific octave of the letter: B#3 is in octave 3 and sounds as C4."""

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a pitch with its octave: ``F#4``, ``Bb2``, ``C-1``.

        Raises :class:`NotationError` where the text is no pitch.
        """
        match = _PITCH.fullmatch(text.strip())
        if not match:
            raise NotationError(
                f'"{text}" is not a pitch with its octave.',
                "Write a note name and an octave number, such as E2 or F#4; middle C is C4.",
            )
        return cls(NoteName(match[1].upper(), _alter_of_signs(match[2])), int(match[3]))

    @classmethod
    def at_height(cls, name: NoteName, midi: int) -> Self:
        """The pitch spelled ``name`` that sounds as the MIDI note ``midi``.

        Raises :class:`NotationError` where the name does not sound so in any octave.
        """
        octave, remainder = divmod(midi - _SEMITONES[name.letter] - name.alter, 12)
        if remainder:
            raise NotationError(f"MIDI note {midi} cannot be spelled {name}.")
        return cls(name, octave - 1)

    @property
    def midi(self) -> int:
        """MIDI note number: 60 for C4, 69 for A4."""
        return 12 * (self.octave + 1) + _SEMITONES[self.name.letter] + self.name.alter

    @property
    def diatonic(self) -> int:
        """Staff step: seven to the octave, C0 being 0 and C4 28, accidentals not counted."""
        return 7 * self.octave + self.name.letter_index

    @property
    def pretty(self) -> str:
        """The pitch as print sets it: ``F♯4``."""
        return f"{self.name.pretty}{self.octave}"

    @property
    def spoken(self) -> str:
        """The pitch as a teacher says it: ``F sharp 4``."""
        return f"{self.name.spoken} {self.octave}"

    def frequency_hz(self, a4_hz: float = A4_HZ) -> float:
        """Frequency in equal temperament (ISO 16:1975)."""
        return midi_to_hz(self.midi, a4_hz)

    def interval_to(self, other: "Pitch", /) -> Interval:
        """The interval from this pitch to ``other``; below zero where ``other`` lies lower."""
        return Interval(other.diatonic - self.diatonic, other.midi - self.midi)

    def transposed(self, interval: Interval) -> "Pitch":
        """The pitch that lies ``interval`` away, spelled by its steps."""
        octave, letter_index = divmod(self.diatonic + interval.steps, 7)
        natural = Pitch(NoteName(LETTERS[letter_index]), octave)
        return Pitch(NoteName(natural.name.letter, self.midi + interval.semitones - natural.midi), octave)

    def __lt__(self, other: "Pitch") -> bool:
        return (self.midi, self.diatonic) < (other.midi, other.diatonic)

    def __str__(self) -> str:
        return f"{self.name}{self.octave}"


def _alter_of_signs(signs: str) -> int:
    """Semitones that written accidentals add."""
    word = signs.strip(" -").rstrip("s")
    if word in {"sharp", "flat"}:
        return 1 if word == "sharp" else -1
    each = {"#": 1, "♯": 1, "b": -1, "♭": -1, "x": 2, "𝄪": 2, "×": 2, "𝄫": -2}
    return sum(each[sign] for sign in signs)
