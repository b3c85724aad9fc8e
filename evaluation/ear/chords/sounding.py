"""Strokes turned into sound: a recorded note for every string, laid one over another.

A dead string is the same recording damped within hundredths of a second, as under a finger that touches it.
"""

from typing import Final

import numpy as np
from evaluation.ear.chords.performing import DEAD, SILENT, Performance, String
from evaluation.ear.chords.voices import Voice
from evaluation.ear.guitars import RATE_HZ, STRENGTHS, Floats
from scipy.fft import next_fast_len

_TAIL_S: Final = 1.5
_FADE_S: Final = 0.012
_DEAD_S: Final = (0.008, 0.025)
"""In which a dead string falls to a third."""


def sound_of(
    performance: Performance,
    voice: Voice,
    guitar_cents: float,
    rng: np.random.Generator,
    damped_s: float = np.inf,
) -> Floats:
    """The performance in one voice, mono, peak 0.5; ``damped_s`` as a hand that rests on the strings."""
    strokes = performance.strokes
    # a length that transforms quickly: rooms, microphones and noise are laid on through the whole spectrum
    out = np.zeros(next_fast_len(round((strokes[-1].onset_s + _TAIL_S) * RATE_HZ)))
    cents = rng.normal(0, 2.5, 16)
    for stroke in strokes:
        strength = STRENGTHS[int(rng.integers(len(STRENGTHS)))]
        for one in stroke.strings:
            if one.fault == SILENT:
                continue
            piece = _string(one, voice, strength, round(guitar_cents + cents[one.string]), rng)
            piece *= np.exp(-np.arange(len(piece)) / (damped_s * RATE_HZ))
            start = round(one.onset_s * RATE_HZ)
            stop = min(len(out), start + len(piece))
            out[start:stop] += piece[: stop - start]
    out *= 0.5 / np.abs(out).max()
    return out


def _string(one: String, voice: Voice, strength: int, cents: int, rng: np.random.Generator) -> Floats:
    tuned = voice(one.midi, strength, cents)
    piece = tuned[: round((one.rings_s + _FADE_S) * RATE_HZ)] * 10 ** (one.level_db / 20)
    if one.fault == DEAD:
        piece *= np.exp(-np.arange(len(piece)) / (float(rng.uniform(*_DEAD_S)) * RATE_HZ))
    fade = min(round(_FADE_S * RATE_HZ), len(piece))
    piece[-fade:] *= np.linspace(1, 0, fade)
    return piece
