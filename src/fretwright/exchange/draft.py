"""What came out of a file before it is a score: notes that may have no place and no written value yet."""

from dataclasses import dataclass, field
from fractions import Fraction

from fretwright.base.spans import Span
from fretwright.exchange.asked import NOTHING, Asked
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.meter import Meter
from fretwright.score.note import Attack, Finger
from fretwright.score.score import AirStroke, Label, Writing
from fretwright.score.swing import STRAIGHT, Swing
from fretwright.score.techniques import Stroke
from fretwright.score.tempo import TempoMark
from fretwright.score.values import Value
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch
from fretwright.theory.scale import Scale


@dataclass(frozen=True, slots=True)
class DraftNote:
    """One note as the file has it, ties joined."""

    onset: Fraction
    duration: Fraction
    pitch: Pitch
    """Sounding."""
    span: Span
    values: tuple[Value, ...] = ()
    """Its written heads where the file has them; together as long as ``duration``."""
    place: Place | None = None
    attack: Attack = Attack.PLUCK
    slurred_from: Fraction | None = None
    """Onset of the note that a slurred one leaves, where the file says so."""
    finger: Finger | None = None
    stroke: Stroke | None = None
    in_slur: bool = False
    """Under a slur that began on an earlier note, without a word on how it is played."""
    asked: Asked = NOTHING
    voice: int = 1
    """2 for the lower one."""

    @property
    def end(self) -> Fraction:
        """Written time at which it stops."""
        return self.onset + self.duration


@dataclass(frozen=True, slots=True)
class DraftRest:
    """A written silence."""

    onset: Fraction
    value: Value
    voice: int = 1


@dataclass(frozen=True, slots=True)
class DraftBar:
    """One bar."""

    start: Fraction
    length: Fraction
    meter: Meter
    span: Span
    is_pickup: bool = False
    opens_repeat: bool = False
    closes_repeat: int = 0
    endings: tuple[int, ...] = ()

    @property
    def end(self) -> Fraction:
        """Where the next bar starts."""
        return self.start + self.length


@dataclass(frozen=True, slots=True)
class Draft:
    """A whole part."""

    name: str
    """Id that the exercise will have."""
    title: str
    neck: Neck
    key: Key
    bars: tuple[DraftBar, ...]
    notes: tuple[DraftNote, ...]
    rests: tuple[DraftRest, ...]
    tempo: tuple[TempoMark, ...]
    """In order, none twice; empty where the file has none."""
    span: Span
    """The part, for findings about all of it."""
    swing: Swing = STRAIGHT
    labels: tuple[Label, ...] = ()
    scale: Scale | None = None
    position: int | None = None
    air_strokes: tuple[AirStroke, ...] = ()
    writing: Writing = Writing.NOTES


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """How a file is read."""

    part: int | None = None
    """Which of its parts, from 1; by default the first that has notes for a guitar."""
    neck: Neck = field(default_factory=Neck)
    """Where places are chosen if the file names no strings."""
    bars: tuple[int, int] | None = None
    """First and last bar that are read, by their printed numbers; a pickup is 0."""
    octaves: int = 0
    """Move everything by so many octaves."""
    one_row: bool = False
    """Write it as a row of rhythm for each voice: a note ends where the next one of its voice starts, as
    course text has it."""
