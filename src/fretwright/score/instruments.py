"""The instruments that an exercise may be played on, by the names that a teacher writes."""

from enum import StrEnum


class Instrument(StrEnum):
    """What sounds; how it sounds is data of the sound layer."""

    ACOUSTIC_STEEL = "acoustic steel"
    CLEAN_ELECTRIC = "clean electric"
    OVERDRIVEN_ELECTRIC = "overdriven electric"
    NYLON = "nylon"
    BASS = "bass"
