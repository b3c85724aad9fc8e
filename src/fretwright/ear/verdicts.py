"""What the ear says of a take."""

from dataclasses import dataclass
from enum import StrEnum


class Verdict(StrEnum):
    """What became of one written note."""

    PLAYED = "played"
    MISSED = "missed"
    WRONG = "wrong"
    UNSURE = "unsure"
    """Cannot tell: the take does not say clearly enough."""


class HeardAttack(StrEnum):
    """How a note was heard to start."""

    PLUCK = "pluck"
    SLUR = "slur"
    UNSURE = "unsure"


@dataclass(frozen=True, slots=True)
class HeardNote:
    """The verdict on one written note. What was not heard is ``None``."""

    id: str
    """Of the score's note."""
    verdict: Verdict
    confidence: float
    """From 0 to 1, higher is surer; not calibrated to a chance."""
    onset_s: float | None = None
    """In the recording's time: where the note exceeds -26 dB of its attack's peak, or where a slur
    changes the length."""
    timing_ms: float | None = None
    """Late (positive) or early against the student's own pulse."""
    heard_midi: int | None = None
    pitch_cents: float | None = None
    """From the nearest semitone, the guitar's own tuning taken out."""
    level_db: float | None = None
    """Against the middle level of the notes that were plucked."""
    attack: HeardAttack | None = None
    length_s: float | None = None
    """Until it falls silent or the next note starts."""
    gap_s: float | None = None
    """Silence before the next note; 0 where it sounds until then."""


@dataclass(frozen=True, slots=True)
class HeardExtra:
    """A note that stands for none in the score."""

    onset_s: float
    midi: int


@dataclass(frozen=True, slots=True)
class HeardPass:
    """One time through the exercise."""

    start_s: float
    end_s: float
    complete: bool
    """Whether it reaches from the first note to the last, single misses aside."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What to tell the student."""

    headline: str
    """The one thing to mend, and where; praise where there is nothing to mend."""
    observations: tuple[str, ...]
    """At most two more things that were heard."""
    next_bpm: float
    """The rung of the ladder to practise next."""
    next_words: str


@dataclass(frozen=True, slots=True)
class Hearing:
    """All that is said of one take."""

    tempo_bpm: float
    """At which it was played."""
    start_s: float
    """Onset of the first note of the pass that is described."""
    tuning_cents: float
    """How far the guitar lies from A = 440 Hz."""
    shift: int
    """Semitones by which everything lies above what is written, as after a forgotten capo."""
    passes: tuple[HeardPass, ...]
    notes: tuple[HeardNote, ...]
    """Of the last complete pass, one for each written note in order of time."""
    extras: tuple[HeardExtra, ...]
    timing_spread_ms: float
    """Standard deviation of the notes' timing, outliers held back."""
    mean_offset_ms: float
    """Mean timing of all notes against the pulse of those on the beat."""
    drift_percent: float
    """How much faster the last third was than the first."""
    advice: Advice
