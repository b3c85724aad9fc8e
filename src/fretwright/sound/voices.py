"""The instruments, as data: what the strings are made of, how they are played, what they sound through.

A new instrument is a new :class:`~fretwright.sound.instrument.Voice`; no stage knows an instrument by name.
Places of picks and pickups are common practice; decay times follow the published ranges for guitar strings
(about 5 to 20 s for steel basses, 2 to 6 s for nylon trebles) and what recorded guitars show
(``evaluation/README.md``).
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from fretwright.base.errors import UsageError
from fretwright.score.instruments import Instrument
from fretwright.sound.colour import Amplifier, Band, Body, Resonance, Shape, Tilt
from fretwright.sound.gauges import ACOUSTIC_STRINGS, BASS_STRINGS, ELECTRIC_STRINGS, NYLON_STRINGS
from fretwright.sound.instrument import DecayLaw, Hands, Pickup, Sway, Voice
from fretwright.sound.overdrive import Overdriven

ACOUSTIC_STEEL: Final = Voice(
    name=Instrument.ACOUSTIC_STEEL,
    wires=ACOUSTIC_STRINGS,
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
    name=Instrument.CLEAN_ELECTRIC,
    wires=ELECTRIC_STRINGS,
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

OVERDRIVEN_ELECTRIC: Final = Voice(
    name=Instrument.OVERDRIVEN_ELECTRIC,
    wires=ELECTRIC_STRINGS,
    decay=CLEAN_ELECTRIC.decay,
    hands=CLEAN_ELECTRIC.hands,
    sway=CLEAN_ELECTRIC.sway,
    colour=Overdriven(
        circuit_hz=4150.0,
        circuit_quality=1.2,
        tight_hz=110.0,
        tilt=Tilt(510.0, 1700.0),
        drive=8.0,
        bias=0.25,
        cabinet=Shape(
            tilts=(),
            band=Band(90.0, 4200.0, is_steep=True),
            resonances=(Resonance(590.0, 2.0, 2.5),),
            room_level=0.12,
        ),
    ),
    pickup=Pickup(from_bridge_mm=102.0, level=0.6),
)

NYLON: Final = Voice(
    name=Instrument.NYLON,
    wires=NYLON_STRINGS,
    decay=DecayLaw(4.5, 0.85, 0.65, 1.0, 0.75, 0.7),
    hands=Hands(
        point_mm=110.0,
        contact_ms=0.6,
        scrape_level=0.03,
        tap_level=0.6,
        tap_ms=3.0,
        flick_level=0.6,
        flick_ms=1.6,
        bump_level=0.08,
        squeak_level=0.004,
    ),
    sway=Sway(level=0.2, t60_factor=1.5, detune_cents=0.8),
    colour=Body(
        Shape(
            tilts=(Tilt(150.0, 2000.0),),
            band=Band(60.0, 9000.0),
            resonances=(
                Resonance(98.0, 12.0, 0.9),
                Resonance(190.0, 9.0, 1.3),
                Resonance(226.0, 10.0, 0.9),
                Resonance(390.0, 16.0, 0.5),
            ),
            plate_level=0.25,
            plate_quality=20.0,
            room_level=0.10,
        )
    ),
)

BASS: Final = Voice(
    name=Instrument.BASS,
    wires=BASS_STRINGS,
    decay=DecayLaw(7.0, 0.75, 0.7, 1.0, 0.9, 0.8),
    hands=Hands(
        point_mm=130.0,
        contact_ms=1.2,
        scrape_level=0.02,
        tap_level=0.6,
        tap_ms=3.5,
        flick_level=0.6,
        flick_ms=2.0,
        bump_level=0.08,
        squeak_level=0.004,
    ),
    sway=Sway(level=0.2, t60_factor=1.3, detune_cents=0.5),
    colour=Amplifier(
        circuit_hz=3200.0,
        circuit_quality=1.0,
        tilt=Tilt(300.0, 1200.0),
        drive=0.15,
        cabinet=Shape(
            tilts=(),
            band=Band(38.0, 3800.0, is_steep=True),
            resonances=(Resonance(110.0, 2.0, 0.6),),
            room_level=0.06,
        ),
    ),
    pickup=Pickup(from_bridge_mm=130.0, level=0.7),
)

VOICES: Final[Mapping[Instrument, Voice]] = MappingProxyType(
    {voice.name: voice for voice in (ACOUSTIC_STEEL, CLEAN_ELECTRIC, OVERDRIVEN_ELECTRIC, NYLON, BASS)}
)
"""Every voice by its name."""


def by_name(name: str) -> Voice:
    """The voice of that name. Raises :class:`~fretwright.base.errors.UsageError` if there is none."""
    try:
        return VOICES[Instrument(" ".join(name.lower().split()))]
    except ValueError:
        message = f'There is no instrument "{name}".'
        raise UsageError(message, f"Use one of: {', '.join(VOICES)}.") from None
