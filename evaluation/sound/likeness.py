"""How far one guitar's notes are from another's.

For a note, three things are measured from its onset (first sample above -26 dB of its peak):

* levels: dB of the first partials (up to 20, up to 6 kHz) at 50 to 250 ms, over their common power;
* decays: dB per second of each of them over 0.1 to 1.3 s, while it is within 35 dB of where it began;
* attack: third-octave spectrum from 100 Hz to 8 kHz of the first 40 ms, in dB over its sum.

Levels and attack are floored at -50 dB, decays kept within 0 to 100 dB/s; a decay counts where both
guitars' partial is above -40 dB. The distance of two guitars in each is the root mean square difference
over a note, averaged over notes.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from evaluation.sound.measure import RATE_HZ, Floats, onset
from numpy.typing import NDArray

_PARTIALS = 20
_HIGHEST_HZ = 6000.0
_SIZE = 1 << 16
_FLOOR_DB = -50.0


@dataclass(frozen=True, slots=True)
class Portrait:
    """What is measured of one note."""

    levels_db: Floats
    decays_db_s: Floats
    attack_db: Floats
    heard: NDArray[np.bool_]
    """Whether each partial is above -40 dB."""


@dataclass(frozen=True, slots=True)
class Distance:
    """Of two guitars, in each of the three measures."""

    levels_db: float
    decays_db_s: float
    attack_db: float

    def within(self, bar: "Distance") -> bool:
        """Whether no measure is larger than the bar's."""
        return (
            self.levels_db <= bar.levels_db
            and self.decays_db_s <= bar.decays_db_s
            and self.attack_db <= bar.attack_db
        )


def portrait(signal: Floats, fundamental_hz: float) -> Portrait:
    """Measure one note, at least 1.6 s of one channel, shape (n,)."""
    note = signal[onset(signal) :]
    count = int(min(_PARTIALS, _HIGHEST_HZ // fundamental_hz))
    first = _partial_levels(note, 0.05, fundamental_hz, count)
    relative = first - 10 * np.log10(np.sum(10 ** (first / 10)))
    times_s = np.arange(0.1, 1.2, 0.1)
    courses = np.array([_partial_levels(note, at_s, fundamental_hz, count) for at_s in times_s])
    decays = [_fall(times_s, courses[:, partial]) for partial in range(count)]
    return Portrait(
        np.maximum(relative, _FLOOR_DB), np.clip(decays, 0.0, 100.0), _attack(note), relative > -40.0
    )


def distance(one: Mapping[int, Portrait], other: Mapping[int, Portrait]) -> Distance:
    """Mean distance over the notes of both, by MIDI number."""
    rows = []
    for midi in one:
        a, b = one[midi], other[midi]
        both = a.heard & b.heard
        rows.append(
            (
                _rms(a.levels_db - b.levels_db),
                _rms((a.decays_db_s - b.decays_db_s)[both]),
                _rms(a.attack_db - b.attack_db),
            )
        )
    levels, decays, attack = np.mean(rows, axis=0)
    return Distance(float(levels), float(decays), float(attack))


def _rms(values: Floats) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def _partial_levels(note: Floats, at_s: float, fundamental_hz: float, count: int) -> Floats:
    """Level of each partial in 200 ms; a partial is looked for a little above its multiple as well."""
    piece = note[round(at_s * RATE_HZ) : round((at_s + 0.2) * RATE_HZ)]
    window = np.hanning(len(piece))
    spectrum = np.abs(np.fft.rfft(piece * window, _SIZE)) / window.sum() * 2
    hertz = np.fft.rfftfreq(_SIZE, 1 / RATE_HZ)
    levels = []
    for number in range(1, count + 1):
        near = (hertz > (number - 0.3) * fundamental_hz) & (hertz < (number + 0.4) * fundamental_hz)
        levels.append(20 * np.log10(spectrum[near].max() + 1e-9))
    return np.array(levels)


def _fall(times_s: Floats, levels_db: Floats) -> float:
    """Decay in dB per second from a line through a partial's levels."""
    deep = np.nonzero(levels_db < levels_db[0] - 35.0)[0]
    count = max(3, int(deep[0])) if len(deep) else len(levels_db)
    return float(-np.polyfit(times_s[:count], levels_db[:count], 1)[0])


def _attack(note: Floats) -> Floats:
    piece = note[: round(0.04 * RATE_HZ)]
    fading = np.hanning(2 * len(piece))[len(piece) :]
    power = np.abs(np.fft.rfft(piece * fading, 8192)) ** 2
    hertz = np.fft.rfftfreq(8192, 1 / RATE_HZ)
    bands = []
    for centre_hz in 100.0 * 2.0 ** (np.arange(20) / 3):
        inside = (hertz >= centre_hz * 2 ** (-1 / 6)) & (hertz < centre_hz * 2 ** (1 / 6))
        bands.append(power[inside].sum() + 1e-15)
    total = np.array(bands) / np.sum(bands)
    floored: Floats = np.maximum(10 * np.log10(total), _FLOOR_DB)
    return floored
