"""The score itself: bars, notes, rests and what stands above them."""

from bisect import bisect_right
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from fretwright.base.errors import ScoreError
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.voicing import Voicing
from fretwright.score.instruments import Instrument
from fretwright.score.meter import Meter
from fretwright.score.note import Note, Rest
from fretwright.score.swing import STRAIGHT, Swing
from fretwright.score.techniques import Stroke
from fretwright.score.tempo import TempoMap
from fretwright.theory.key import Key
from fretwright.theory.scale import Scale


@dataclass(frozen=True, slots=True)
class Bar:
    """One written bar."""

    number: int
    """As printed; a pickup bar is 0."""
    start: Fraction
    """Written time of its first place, in whole notes."""
    meter: Meter
    length: Fraction
    """Full by the meter, or shorter for a pickup and the bar that completes it."""
    opens_repeat: bool = False
    closes_repeat: int = 0
    """How often the repeated part is played in all; 0 where no repeat ends here."""
    endings: tuple[int, ...] = ()
    """On which times through this bar is played, where it stands under an ending bracket."""

    @property
    def end(self) -> Fraction:
        """Written time at which the next bar starts."""
        return self.start + self.length


class LabelKind(StrEnum):
    """What a word above the staff is."""

    CHORD = "chord"
    TEXT = "text"
    LYRIC = "lyric"
    """A syllable or word that is sung, standing below the staff."""


@dataclass(frozen=True, slots=True)
class Label:
    """A chord name or a word of the teacher's, standing above a place in time; or a sung one below it."""

    at: Fraction
    text: str
    kind: LabelKind
    voicing: Voicing | None = None
    """For a chord name: how it is held, where that is fixed."""
    verse: int = 1
    """For a sung word: the verse that it belongs to, counted from 1."""


@dataclass(frozen=True, slots=True)
class AirStroke:
    """A stroke of the strumming hand that passes over the strings without touching them."""

    at: Fraction
    """Written time from the start of the score, in whole notes."""
    stroke: Stroke


class Writing(StrEnum):
    """How a score is written on the page."""

    NOTES = "notes"
    """Every note with its head and its fret."""
    SLASHES = "slashes"
    """Rhythm slashes under chord names: what is held is in the names, what is struck in the strokes."""


@dataclass(frozen=True, slots=True)
class Score:
    """Everything that is to be played, independent of how it was written down.

    ``notes`` stand in order of onset and then from the lowest string up; bars follow each other without
    a gap.
    """

    name: str
    """Id of the exercise inside its lesson (``up-and-back``)."""
    title: str
    neck: Neck
    key: Key
    bars: tuple[Bar, ...]
    notes: tuple[Note, ...]
    rests: tuple[Rest, ...]
    tempo: TempoMap
    swing: Swing = STRAIGHT
    labels: tuple[Label, ...] = ()
    scale: Scale | None = None
    """The scale the teacher names, where there is one: it gives degrees their numbers."""
    position: int | None = None
    """The fret of the first finger, where the teacher names it."""
    air_strokes: tuple[AirStroke, ...] = ()
    """In order of time."""
    writing: Writing = Writing.NOTES
    instrument: Instrument = Instrument.ACOUSTIC_STEEL
    """What it is played on."""

    def __post_init__(self) -> None:
        if not self.bars:
            message = f"the score {self.name!r} has no bars"
            raise ScoreError(message)
        _refuse_crowded_strings(self.notes)

    @property
    def length(self) -> Fraction:
        """Written length, repeats not taken, in whole notes."""
        return self.bars[-1].end

    @property
    def pickup(self) -> Fraction:
        """Length of the pickup bar, 0 where there is none."""
        return self.bars[0].length if self.bars[0].number == 0 else Fraction(0)

    def note(self, note_id: str) -> Note:
        """The note with that id.

        Raises :class:`~fretwright.base.errors.ScoreError` if there is none.
        """
        for note in self.notes:
            if note.id == note_id:
                return note
        message = f"there is no note {note_id!r} in {self.name!r}"
        raise ScoreError(message)

    def bar_at(self, time: Fraction) -> Bar:
        """The bar in which a written time falls; the last bar for any later time."""
        return self.bars[max(0, bisect_right(self.bars, time, key=lambda bar: bar.start) - 1)]

    def with_notes(self, notes: tuple[Note, ...]) -> "Score":
        """The same score with other notes in place of its own."""
        return replace(self, notes=notes)


def _refuse_crowded_strings(notes: tuple[Note, ...]) -> None:
    """A string sounds one note at a time; two that start together on it contradict each other."""
    seen: set[tuple[Fraction, int]] = set()
    ids: set[str] = set()
    for note in notes:
        spot = (note.onset, note.string)
        if spot in seen or note.id in ids:
            message = f"two notes start at the same time on string {note.string} ({note.id})"
            raise ScoreError(message)
        seen.add(spot)
        ids.add(note.id)
