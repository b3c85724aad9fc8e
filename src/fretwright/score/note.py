"""Notes and rests: the smallest things that have a place, a time and an id."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from fretwright.base.spans import Span
from fretwright.fretboard.neck import Place
from fretwright.score.techniques import PLAIN, Finger, PickingFinger, Stroke, Techniques
from fretwright.score.values import Value
from fretwright.theory.pitch import Pitch

__all__ = ["Attack", "Finger", "Note", "Rest"]


class Attack(StrEnum):
    """How a note starts."""

    PLUCK = "pluck"
    HAMMER_ON = "hammer-on"
    PULL_OFF = "pull-off"
    SLIDE = "slide"
    TAP = "tap"

    @property
    def is_slur(self) -> bool:
        """Whether the string is already sounding and is not plucked again."""
        return self in (Attack.HAMMER_ON, Attack.PULL_OFF, Attack.SLIDE)


@dataclass(frozen=True, slots=True)
class Note:
    """One note on one string.

    Several notes with the same onset sound together. ``values`` holds more than one sign where the note
    is tied, one for each written head; no sign crosses a bar line.
    """

    id: str
    """Stable under edits elsewhere: made of the bar, the time inside it and the string."""
    onset: Fraction
    """Written time from the start of the score, in whole notes."""
    values: tuple[Value, ...]
    """The written heads, tied together."""
    place: Place
    """Where it is stopped; of a natural harmonic the fret over which it is touched."""
    pitch: Pitch
    """The sounding pitch, spelled as the key or scale spells it: of a bend the fretted one, of a harmonic the
    tempered one nearest to its partial, of a dead note the one that the fret would have."""
    attack: Attack = Attack.PLUCK
    slur_from: str | None = None
    """For a slurred note: the id of the note on the same string that it leaves; None where it is slurred from
    its own grace note."""
    finger: Finger | None = None
    """``None`` until it is fixed by the teacher or found by the fingering search."""
    stroke: Stroke | None = None
    """``None`` under a slur, or until the fingering search has run. Notes that start together with one stroke
    are strummed."""
    source: Span | None = None
    techniques: Techniques = PLAIN
    picking_finger: PickingFinger | None = None
    """The finger of the picking hand, where it is fixed."""
    voice: int = 1
    """1 for the only or the upper voice, 2 for the lower one."""

    @property
    def duration(self) -> Fraction:
        """Written length, ties included, in whole notes."""
        return sum((value.duration for value in self.values), Fraction(0))

    @property
    def end(self) -> Fraction:
        """Written time at which the note stops."""
        return self.onset + self.duration

    @property
    def string(self) -> int:
        """String number, 1 the highest."""
        return self.place.string

    @property
    def fret(self) -> int:
        """Fret number counted from the capo; 0 is open."""
        return self.place.fret

    @property
    def midi(self) -> int:
        """MIDI number of the sounding pitch."""
        return self.pitch.midi


@dataclass(frozen=True, slots=True)
class Rest:
    """A written silence; it never crosses a bar line."""

    id: str
    onset: Fraction
    value: Value
    source: Span | None = None
    voice: int = 1
    """As that of a note."""

    @property
    def duration(self) -> Fraction:
        """Written length in whole notes."""
        return self.value.duration

    @property
    def end(self) -> Fraction:
        """Written time at which the rest stops."""
        return self.onset + self.value.duration
