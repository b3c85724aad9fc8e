"""The instruments, as data: what the strings are made of, how they are played, what they sound through.

A new instrument is a new :class:`Voice`; no stage knows an instrument by name. Gauges and places of
picks and pickups are common practice; decay times follow the published ranges for guitar strings
(about 5 to 20 s for steel basses, less for trebles) and what recorded guitars show
(``evaluation/README.md``).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from fretwright.base.errors import UsageError
from fretwright.sound.colour import Amplifier, Band, Body, Colour, Resonance, Shape, Tilt
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

    name: str
    wires: tuple[Wire, ...]
    decay: DecayLaw
    hands: Hands
    sway: Sway
    colour: Colour
    pickup: Pickup | None = None

    def wire_for(self, open_midi: int) -> Wire:
        """The gauge a player would put on for an open note; the heavier of two equally near."""
        return min(self.wires, key=lambda wire: (abs(wire.open_midi - open_midi), wire.open_midi))


def _steel(rows: tuple[tuple[int, float, float], ...], wrap_kg_m3: float) -> tuple[Wire, ...]:
    return tuple(Wire(midi, outer, core, wrap_kg_m3=wrap_kg_m3) for midi, outer, core in rows)


_BASS_ROWS: Final = ((23, 3.30, 1.10), (28, 2.67, 1.10), (33, 2.16, 0.95), (38, 1.65, 0.80), (43, 1.14, 0.60))
"""Bass gauges, so that any tuning finds a string; open note, outer and core diameter in mm."""

_ACOUSTIC_ROWS: Final = (
    (35, 1.727, 0.508),
    (40, 1.346, 0.457),
    (45, 1.067, 0.406),
    (50, 0.813, 0.356),
    (55, 0.610, 0.279),
    (59, 0.406, 0.406),
    (64, 0.305, 0.305),
    (69, 0.229, 0.229),
)
"""A .012-.053 set and its usual neighbours below and above."""

_ELECTRIC_ROWS: Final = (
    (30, 1.880, 0.508),
    (35, 1.499, 0.457),
    (40, 1.168, 0.457),
    (45, 0.914, 0.406),
    (50, 0.660, 0.330),
    (55, 0.432, 0.432),
    (59, 0.330, 0.330),
    (64, 0.254, 0.254),
    (69, 0.203, 0.203),
)
"""A .010-.046 set and its usual neighbours."""

ACOUSTIC_STEEL: Final = Voice(
    name="acoustic steel",
    wires=_steel((*_BASS_ROWS, *_ACOUSTIC_ROWS), 8800.0),
    decay=DecayLaw(6.4, 0.81, 0.59, 4.0, 0.63, 0.69),
    hands=Hands(
        point_mm=95.0,
        contact_ms=0.18,
        scrape_level=0.10,
        tap_level=0.6,
        tap_ms=2.2,
        flick_level=0.6,
        flick_ms=1.2,
        bump_level=0.10,
        squeak_level=0.006,
    ),
    sway=Sway(level=0.15, t60_factor=1.7, detune_cents=0.8),
    colour=Body(
        Shape(
            tilts=(Tilt(120.0, 2450.0),),
            band=Band(65.0, 12500.0),
            resonances=(
                Resonance(101.0, 12.0, 0.8),
                Resonance(195.0, 9.0, 1.3),
                Resonance(232.0, 10.0, 0.9),
                Resonance(376.0, 16.0, 0.5),
            ),
            plate_level=0.25,
            plate_quality=20.0,
            room_level=0.10,
        )
    ),
)

CLEAN_ELECTRIC: Final = Voice(
    name="clean electric",
    wires=_steel((*_BASS_ROWS, *_ELECTRIC_ROWS), 8900.0),
    decay=DecayLaw(10.8, 0.74, 0.72, 0.9, 1.95, 1.2),
    hands=Hands(
        point_mm=76.0,
        contact_ms=0.25,
        scrape_level=0.03,
        tap_level=0.6,
        tap_ms=2.2,
        flick_level=0.6,
        flick_ms=1.2,
        bump_level=0.10,
        squeak_level=0.004,
    ),
    sway=Sway(level=0.28, t60_factor=1.2, detune_cents=0.8),
    colour=Amplifier(
        circuit_hz=4150.0,
        circuit_quality=1.2,
        tilt=Tilt(510.0, 1700.0),
        drive=0.23,
        cabinet=Shape(
            tilts=(),
            band=Band(120.0, 4200.0, is_steep=True),
            resonances=(Resonance(590.0, 2.0, 2.5),),
            room_level=0.12,
        ),
    ),
    pickup=Pickup(from_bridge_mm=102.0, level=0.6),
)

VOICES: Final[Mapping[str, Voice]] = MappingProxyType(
    {voice.name: voice for voice in (ACOUSTIC_STEEL, CLEAN_ELECTRIC)}
)
"""Every voice by its name."""


def voice_named(name: str) -> Voice:
    """The voice of that name. Raises :class:`~fretwright.base.errors.UsageError` if there is none."""
    voice = VOICES.get(" ".join(name.lower().split()))
    if voice is None:
        message = f'There is no instrument "{name}".'
        raise UsageError(message, f"Use one of: {', '.join(VOICES)}.")
    return voice
