"""A struck bar under a pickup: the electric piano that plays the chords.

Phase modulation of one sine by another of the same frequency, whose depth dies away, gives the bark of a
pickup near a swinging bar (Chowning, "The Synthesis of Complex Audio Spectra by Means of Frequency
Modulation", 1973); a short high partial is the hammer on the tine.
"""

from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ, midi_to_hz
from fretwright.sound.arrays import Floats, Samples

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
_TINE_HEARD_S: Final = 0.6
"""After that it has died away by more than 100 dB."""
_HIGHEST_HZ: Final = 9000.0


def piano_note(midi: int, duration_s: float, level: float) -> Floats:
    """One note, shape (n,), the release included; ``level`` 0 to 1 makes it louder and brighter."""
    hz = midi_to_hz(midi)
    time_s = np.arange(round((duration_s + RELEASE_S) * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    phase = _phase(hz * time_s)
    single = time_s.astype(np.float32)
    bark = np.float32(_BARK * level) * np.exp(single / np.float32(-_BARK_S))
    sound = np.sin(phase + bark * np.sin(phase))
    sound *= np.exp(single / np.float32(-_RING_S * np.sqrt(_MIDDLE_C_HZ / hz)))
    if hz * _TINE_RATIO < _HIGHEST_HZ:
        heard = slice(0, round(_TINE_HEARD_S * SAMPLE_RATE_HZ))
        tine = np.sin(_phase(_TINE_RATIO * hz * time_s[heard])) * np.exp(single[heard] / np.float32(-_TINE_S))
        sound[heard] += np.float32(0.18 * level) * tine
    rise = round(_ATTACK_S * SAMPLE_RATE_HZ)
    sound[:rise] *= single[:rise] / np.float32(_ATTACK_S)
    released = np.clip(
        (duration_s + RELEASE_S - time_s[-round(RELEASE_S * SAMPLE_RATE_HZ) - 1 :]) / RELEASE_S, 0, 1
    )
    # Squared, so that the release starts and ends without a corner.
    sound[-len(released) :] *= released.astype(np.float32) ** 2
    return np.asarray(level * sound, dtype=np.float64)


def _phase(cycles: Floats) -> Samples:
    """Radians in single precision, whole turns taken out before they cost it its digits."""
    return np.asarray(2 * np.pi * (cycles - np.floor(cycles)), dtype=np.float32)
