"""A touch of a string on the clock of the audio, in whole samples."""

from dataclasses import dataclass

from fretwright.base.units import SAMPLE_RATE_HZ, midi_to_hz
from fretwright.score.note import Attack
from fretwright.score.ornaments import Muting, Touch
from fretwright.score.techniques import Stroke
from fretwright.sound.excitation import echo_samples
from fretwright.sound.instrument import Hands


@dataclass(frozen=True, slots=True)
class OpenString:
    """One string of an instrument, tuned but not stopped."""

    midi: int
    """Open pitch, without a capo."""
    length_mm: float

    @property
    def hz(self) -> float:
        """Open pitch."""
        return midi_to_hz(self.midi)

    def sounding_mm(self, midi: int) -> float:
        """Length that sounds as a pitch."""
        return self.length_mm * self.hz / midi_to_hz(midi)

    def echo(self, distance_mm: float) -> int:
        """Samples that a wave takes over a distance and back."""
        return echo_samples(distance_mm, self.hz, self.length_mm)


@dataclass(frozen=True, slots=True)
class Contact:
    """One touch in samples."""

    touch: Touch
    onset: int
    """Sample at which it starts."""
    end: int
    """Sample from which it is damped, unless another contact of the string comes first."""
    level: float = 1.0
    """1 is a plain downstroke."""
    zero: int = 0
    """Sample at which the touch's own clock shows 0 s."""

    @classmethod
    def of(cls, touch: Touch, zero: int, hands: Hands) -> "Contact":
        """A touch of a performance whose first bar starts at sample ``zero``."""
        level = hands.upstroke_level if touch.stroke is Stroke.UP else 1.0
        onset, end = (zero + sample(at_s) for at_s in (touch.at_s, touch.until_s))
        return cls(touch, onset, max(end, onset + 1), level * touch.force, zero)

    @property
    def midi(self) -> int:
        """Pitch of the place that is stopped."""
        return self.touch.midi

    @property
    def attack(self) -> Attack:
        """How it starts."""
        return self.touch.attack

    @property
    def hz(self) -> float:
        """Pitch that sounds: that of the place, or of the harmonic over it."""
        return midi_to_hz(self.touch.midi) * self.touch.partial

    @property
    def is_dead(self) -> bool:
        """Whether nothing but a knock sounds."""
        return self.touch.muting is Muting.DEAD

    def at(self, time_s: float) -> int:
        """The sample of a moment on the touch's clock."""
        return self.zero + sample(time_s)

    def semitones_at(self, at: float) -> float:
        """How far the pitch is bent at a sample."""
        curve = self.touch.curve
        return curve.semitones_at((at - self.zero) / SAMPLE_RATE_HZ) if curve else 0.0


def sample(time_s: float) -> int:
    """The sample nearest to a moment."""
    return round(time_s * SAMPLE_RATE_HZ)
