"""What an instrument is to the string model: strings, decay, hands, and what they sound through."""

from dataclasses import dataclass

from fretwright.score.instruments import Instrument
from fretwright.sound.colour import Colour
from fretwright.sound.loop import Decay
from fretwright.sound.strings import Wire


@dataclass(frozen=True, slots=True)
class DecayLaw:
    """T60 of every place on the neck from a few numbers."""

    t60_s: float
    """Of the fundamental of an open string at 110 Hz."""
    t60_per_octave: float
    """Factor from one open string to another an octave higher."""
    t60_per_12_frets: float
    """Factor from an open string to its twelfth fret."""
    bright_t60_s: float
    """As ``t60_s``, for partials near 3 kHz."""
    bright_per_octave: float
    """As ``t60_per_octave``; above 1 where wound strings swallow more treble than plain ones."""
    bright_per_12_frets: float

    def at(self, octaves_above_110: float, frets: float) -> Decay:
        """Decay of a string whose open pitch is so many octaves above 110 Hz, stopped so many frets up."""
        turns = frets / 12.0
        return Decay(
            self.t60_s * self.t60_per_octave**octaves_above_110 * self.t60_per_12_frets**turns,
            self.bright_t60_s * self.bright_per_octave**octaves_above_110 * self.bright_per_12_frets**turns,
        )


@dataclass(frozen=True, slots=True)
class Hands:
    """What the two hands do to a string."""

    point_mm: float
    """Where the string is plucked, from the bridge."""
    contact_ms: float
    """How long pick or finger takes to let go: short is bright."""
    scrape_level: float
    """Noise of the pick before and while it lets go, as a part of the pluck."""
    tap_level: float
    """A hammered finger, as a part of a pluck."""
    tap_ms: float
    flick_level: float
    """The sideways release of a pull-off, as a part of a pluck."""
    flick_ms: float
    bump_level: float
    """What a sliding finger gives the string at each fret, as a part of a pluck."""
    squeak_level: float
    """Noise of a finger sliding along a wound string."""
    upstroke_level: float = 0.94


@dataclass(frozen=True, slots=True)
class Sway:
    """The second direction in which a string moves, across the one that drives the sound most."""

    level: float
    """How loud it is beside the first."""
    t60_factor: float
    """How much longer it rings, since the bridge gives way less in it."""
    detune_cents: float
    """How far the two lie apart at 110 Hz, less for higher notes; it makes the tone breathe."""


@dataclass(frozen=True, slots=True)
class Pickup:
    """A magnetic pickup: it hears the string at one point of its length."""

    from_bridge_mm: float
    level: float = 0.9
    """How complete the comb of its place is; less than 1 since it hears a stretch and not a point."""


@dataclass(frozen=True, slots=True)
class Voice:
    """One instrument, as a player would hand it over."""

    name: Instrument
    """The name that a teacher writes."""
    wires: tuple[Wire, ...]
    decay: DecayLaw
    hands: Hands
    sway: Sway
    colour: Colour
    pickup: Pickup | None = None

    def wire_for(self, open_midi: int) -> Wire:
        """The gauge a player would put on for an open note; the heavier of two equally near."""
        return min(self.wires, key=lambda wire: (abs(wire.open_midi - open_midi), wire.open_midi))
