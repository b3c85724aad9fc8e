"""A struck bar under a pickup: the electric piano that plays the chords.

Phase modulation of one sine by another of the same frequency, whose depth dies away, gives the bark of a
pickup near a swinging bar (Chowning, "The Synthesis of Complex Audio Spectra by Means of Frequency
Modulation", 1973); a short high partial is the hammer on the tine.
"""

from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ, midi_to_hz
from fretwright.sound.arrays import Floats

RELEASE_S: Final = 0.12
"""How long a key that is let go is heard."""
_ATTACK_S: Final = 0.002
_RING_S: Final = 1.6
"""At middle C; higher bars die sooner."""
_MIDDLE_C_HZ: Final = 261.6
_BARK: Final = 1.3
_BARK_S: Final = 0.35
_TINE_RATIO: Final = 7.02
_TINE_S: Final = 0.05
_HIGHEST_HZ: Final = 9000.0


def piano_note(midi: int, duration_s: float, level: float) -> Floats:
    """One note, shape (n,), the release included; ``level`` 0 to 1 makes it louder and brighter."""
    hz = midi_to_hz(midi)
    time_s = np.arange(round((duration_s + RELEASE_S) * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    phase = 2 * np.pi * hz * time_s
    bark = _BARK * level * np.exp(-time_s / _BARK_S)
    sound = np.sin(phase + bark * np.sin(phase))
    sound *= np.exp(-time_s / (_RING_S * np.sqrt(_MIDDLE_C_HZ / hz)))
    if hz * _TINE_RATIO < _HIGHEST_HZ:
        sound += 0.18 * level * np.sin(_TINE_RATIO * phase) * np.exp(-time_s / _TINE_S)
    rise = np.minimum(1.0, time_s / _ATTACK_S)
    # Squared, so that the release starts and ends without a corner.
    let_go = np.clip((duration_s + RELEASE_S - time_s) / RELEASE_S, 0.0, 1.0) ** 2
    return np.asarray(level * rise * let_go * sound)
