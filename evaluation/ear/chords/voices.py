"""What a string sounds like, note by note: a recorded guitar, or one that never was.

To learn strings and not guitars, recordings are also read faster or slower, so that a body's resonances and
a recording's own partials fall elsewhere, and strings are made up from decaying partials: plucked anywhere,
of any brightness, stiffness and decay. None is the package's own string model.
"""

from collections.abc import Callable
from functools import lru_cache
from typing import Final

import numpy as np
import soxr
from evaluation.ear.guitars import HIGHEST, LOWEST, RATE_HZ, Floats, recorded_note

Voice = Callable[[int, int, int], Floats]
"""MIDI number, strength and cents to the samples of a note whose attack has an RMS of 1."""

_MADE_RATE_HZ: Final = 22_050
_MADE_S: Final = 2.0
_BLOCK: Final = 256
_ATTACK_S: Final = 0.12


def recorded(guitar: str) -> Voice:
    """A guitar of the sound font."""

    @lru_cache(maxsize=256)
    def voice(midi: int, strength: int, cents: int) -> Floats:
        return _read(guitar, midi, midi, strength, cents)

    return voice


def shifted(guitar: str, semitones: int, rng: np.random.Generator) -> Voice:
    """The same read at another speed: each note is made from one some semitones away; perhaps driven."""
    drive = float(10 ** rng.uniform(0, 1.3)) if rng.random() < 0.3 else 0.0

    @lru_cache(maxsize=256)
    def voice(midi: int, strength: int, cents: int) -> Floats:
        note = _read(guitar, midi, min(max(midi + semitones, LOWEST), HIGHEST), strength, cents)
        return _levelled(np.tanh(drive * note)) if drive else note

    return voice


def _read(guitar: str, midi: int, source: int, strength: int, cents: int) -> Floats:
    note = recorded_note(guitar, min(max(source, LOWEST), HIGHEST), strength)
    off_cents = cents - note.cents + 100 * (midi - note.midi)
    if not LOWEST <= midi <= HIGHEST:
        off_cents = cents - note.cents
    moved: Floats = soxr.resample(note.samples, RATE_HZ * 2 ** (off_cents / 1200), RATE_HZ, quality="MQ")
    return moved


def made_up(rng: np.random.Generator) -> Voice:
    """A guitar of chance: partials, decays and stiffness drawn once, each note's a little anew."""
    pluck, tilt = float(rng.uniform(0.06, 0.4)), float(rng.uniform(0.5, 2.2))
    rough_db, stiff = float(rng.uniform(1, 6)), float(10 ** rng.uniform(-5, -3.5))
    slow_s, fall = float(10 ** rng.uniform(-0.5, 0.7)), float(rng.uniform(0.02, 0.5))
    per_octave_db, rise_s = float(rng.uniform(-3, 3)), float(10 ** rng.uniform(-3.3, -2.1))
    drive = float(10 ** rng.uniform(0, 1.3)) if rng.random() < 0.35 else 0.0
    knock, seed = float(10 ** rng.uniform(-2.0, -0.5)), int(rng.integers(1 << 30))

    @lru_cache(maxsize=256)
    def voice(midi: int, strength: int, cents: int) -> Floats:
        own = np.random.default_rng([seed, midi])
        hertz = 440.0 * 2 ** ((midi - 69 + cents / 100) / 12)
        number = np.arange(1, 1 + max(1, min(48, int(0.45 * _MADE_RATE_HZ / hertz))))
        level = np.abs(np.sin(np.pi * number * pluck)) + 0.02
        level = level / number ** (tilt - (0.3 if strength > 100 else 0.0))
        level *= 10 ** (own.normal(0, rough_db, len(number)) / 20)
        pitch = hertz * number * np.sqrt(1 + stiff * number**2)
        rate = (1 + fall * number ** float(own.uniform(0.7, 1.2))) / slow_s * (hertz / 200) ** 0.3
        # a string moves in two planes that decay and beat apart
        twin = pitch * (1 + own.normal(0, 2e-4, len(number)))
        share = own.uniform(0.1, 0.6, len(number))
        note = _partials(
            np.concatenate([level, level * share]),
            np.concatenate([pitch, twin]),
            np.concatenate([rate, rate * 0.4]),
            own,
        )
        time = np.arange(len(note)) / _MADE_RATE_HZ
        note *= 1 - np.exp(-time / rise_s)
        burst = own.normal(size=600) * np.exp(-np.arange(600) / float(own.uniform(20, 150)))
        note[:600] += knock * burst * np.abs(note).max()
        if drive:
            note = np.tanh(drive * note / np.abs(note).max())
        loud = 10 ** (per_octave_db * (midi - 55) / 12 / 20)
        return loud * _levelled(soxr.resample(note, _MADE_RATE_HZ, RATE_HZ, quality="MQ"))

    return voice


def _partials(level: Floats, hertz: Floats, rate: Floats, rng: np.random.Generator) -> Floats:
    """Decaying partials added up; a power is taken apart into blocks and steps inside one."""
    turn = (2j * np.pi * hertz - rate) / _MADE_RATE_HZ
    blocks = np.arange(int(_MADE_S * _MADE_RATE_HZ) // _BLOCK)
    start = level * np.exp(1j * rng.uniform(0, 2 * np.pi, len(level)))
    outer = start[None, :] * np.exp(np.outer(blocks * _BLOCK, turn))
    inner = np.exp(np.outer(turn, np.arange(_BLOCK)))
    added: Floats = (outer @ inner).real.ravel()
    return added


def _levelled(note: Floats) -> Floats:
    attack = note[: round(_ATTACK_S * RATE_HZ)]
    return note / max(float(np.sqrt(np.mean(attack**2))), 1e-6)
