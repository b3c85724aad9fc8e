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


class BendVerdict(StrEnum):
    """Where a written bend arrived."""

    REACHED = "reached"
    SHORT = "short"
    SHARP = "sharp"
    UNSURE = "unsure"
    """The note's pitch could not be followed."""


@dataclass(frozen=True, slots=True)
class HeardBend:
    """What became of a written bend. Cents are above the fretted pitch; what was not heard is ``None``."""

    verdict: BendVerdict
    asked_cents: float
    """Its furthest point as written."""
    reached_cents: float | None = None
    """Where it rested, or the furthest it went."""
    off_cents: float | None = None
    """Sharp (positive) or short of what is written."""
    reach_ms: float | None = None
    """From the onset until it arrived; ``None`` for a string that is pulled before it is struck."""
    start_off_cents: float | None = None
    """Of a string pulled before it is struck: sharp or short of that when it sounds."""
    end_off_cents: float | None = None
    """Of a bend that is let down: sharp or flat of where it should come back to."""


class VibratoVerdict(StrEnum):
    """What became of a written vibrato."""

    SWINGS = "swings"
    STILL = "still"
    UNSURE = "unsure"
    """The note was too short, its pitch could not be followed, or moved in no even way."""


@dataclass(frozen=True, slots=True)
class HeardVibrato:
    """A written vibrato as it was heard; the sign on the page stands for a usual rate and width."""

    verdict: VibratoVerdict
    asked_rate_hz: float
    asked_width_cents: float
    rate_hz: float | None = None
    width_cents: float | None = None
    """From the lowest to the highest pitch of a swing."""


@dataclass(frozen=True, slots=True)
class HeardNote:
    """The verdict on one written note. What was not heard is ``None``."""

    id: str
    """Of the score's note."""
    verdict: Verdict
    confidence: float
    """The chance that the verdict is right, as counted on takes of known truth; of an unsure one that of the
    likeliest."""
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
    attack_confidence: float | None = None
    """The chance that the attack is right; ``None`` where there is nothing to slur from."""
    length_s: float | None = None
    """Until it falls silent or the next note starts."""
    gap_s: float | None = None
    """Silence before the next note; 0 where it sounds until then."""
    bend: HeardBend | None = None
    """Where one is written and the note was played."""
    vibrato: HeardVibrato | None = None
    """Where one is written and the note was played."""


@dataclass(frozen=True, slots=True)
class HeardStroke:
    """One written moment of an exercise with chords: all notes that start together, however far spread."""

    places: tuple[int, ...]
    """Where its notes stand among those of the hearing."""
    onset_s: float | None = None
    """When its first string starts; none where no stroke was heard."""
    timing_ms: float | None = None
    """Late (positive) or early against the student's own pulse."""
    spread_ms: float | None = None
    """From its first string to its last; none for a single note."""
    level_db: float | None = None
    """Against the middle level of all strokes."""


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
    strokes: tuple[HeardStroke, ...] = ()
    """Of the same pass, one for each moment at which notes start; empty for a single line."""
