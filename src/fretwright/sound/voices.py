"""The instruments, as data: what the strings are made of, how they are played, what they sound through.

A new instrument is a new :class:`~fretwright.sound.instrument.Voice`; no stage knows an instrument by name.
Places of picks and pickups are common practice; decay times follow the published ranges for guitar strings
(about 5 to 20 s for steel basses, 2 to 6 s for nylon trebles) and what recorded guitars show
(``evaluation/README.md``).
"""

from collections.abc import Mapping
from dataclasses import replace
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
    # Longer than the clean one's: the loud amplifier keeps the strings going (from memory).
    decay=DecayLaw(17.5, 0.85, 0.72, 6.0, 2.0, 1.2),
    hands=replace(CLEAN_ELECTRIC.hands, contact_ms=0.15),
    sway=CLEAN_ELECTRIC.sway,
    colour=Overdriven(
        circuit_hz=4130.0,
        circuit_quality=2.5,
        tight_hz=42.0,
        tilt=Tilt(178.0, 678.0),
        drive=5.9,
        bias=0.95,
        cabinet=Shape(
            tilts=(),
            band=Band(48.0, 2980.0, is_steep=True),
            resonances=(Resonance(345.0, 2.0, 2.0),),
            room_level=0.12,
        ),
    ),
    pickup=Pickup(from_bridge_mm=40.0, level=0.3),
)

NYLON: Final = Voice(
    name=Instrument.NYLON,
    wires=NYLON_STRINGS,
    decay=DecayLaw(8.5, 0.52, 0.74, 1.63, 0.94, 0.86),
    hands=Hands(
        point_mm=96.0,
        contact_ms=0.45,
        scrape_level=0.15,
        tap_level=0.6,
        tap_ms=3.0,
        flick_level=0.6,
        flick_ms=1.6,
        bump_level=0.08,
        squeak_level=0.004,
    ),
    sway=Sway(level=0.11, t60_factor=1.0, detune_cents=0.8),
    colour=Body(
        Shape(
            tilts=(Tilt(65.0, 2180.0),),
            band=Band(53.0, 6240.0),
            resonances=(
                Resonance(98.0, 12.0, 0.6),
                Resonance(190.0, 9.0, 1.2),
                Resonance(226.0, 10.0, 2.2),
                Resonance(350.0, 8.2, 2.2),
            ),
            plate_level=0.14,
            plate_quality=20.0,
            room_level=0.10,
        )
    ),
)

BASS: Final = Voice(
    name=Instrument.BASS,
    wires=BASS_STRINGS,
    decay=DecayLaw(11.9, 1.0, 0.6, 5.69, 0.46, 1.3),
    hands=Hands(
        point_mm=105.0,
        contact_ms=1.22,
        scrape_level=0.052,
        tap_level=0.45,
        tap_ms=5.0,
        flick_level=0.6,
        flick_ms=2.0,
        bump_level=0.08,
        squeak_level=0.004,
    ),
    sway=Sway(level=0.28, t60_factor=1.0, detune_cents=0.5),
    colour=Amplifier(
        circuit_hz=3060.0,
        circuit_quality=0.72,
        tilt=Tilt(57.0, 1820.0),
        drive=0.32,
        cabinet=Shape(
            tilts=(),
            band=Band(30.0, 2700.0, is_steep=True),
            resonances=(Resonance(183.0, 2.0, 0.65),),
            room_level=0.06,
        ),
    ),
    pickup=Pickup(from_bridge_mm=133.0, level=0.43),
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
