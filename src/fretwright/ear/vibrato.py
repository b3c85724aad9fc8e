"""What became of a written vibrato: how often it swings in a second, and how far.

A sine is laid through the course of pitch by least squares at every rate that a hand plays; the best one's
rate counts. Its width is then read off one swing at a time, and one of the wider of these counts, so that a
swing which is still growing is not taken for a narrow one.
"""

from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats
from fretwright.ear.curves import HOP_S, Curve
from fretwright.ear.verdicts import HeardVibrato, VibratoVerdict
from fretwright.score.techniques import Vibrato

_RATES_HZ: Final = np.arange(2.5, 9.55, 0.1)
_ATTACK_S: Final = 0.05
_SHORTEST_S: Final = 0.4
"""Less than two swings are no vibrato."""
_FULL: Final = 0.7
"""Of all swings, from the narrowest to the widest: one that is neither still growing nor an error."""
_STILL_CENTS: Final = 8.0
"""From top to bottom; the recordings of a still string waver by less."""
_EXPLAINED: Final = 0.5
"""Least share of all movement that the swing must be."""


def heard_vibrato(curve: Curve, asked: Vibrato, from_s: float = 0.0) -> HeardVibrato:
    """The vibrato that a curve shows from a moment after its onset on (a bend arrives first)."""
    unsure = HeardVibrato(VibratoVerdict.UNSURE, asked.rate_hz, asked.width_cents)
    kept = curve.sure & (curve.times_s >= max(_ATTACK_S, from_s))
    times_s, cents = curve.times_s[kept], curve.cents[kept]
    if not curve.is_clear or len(times_s) * HOP_S < _SHORTEST_S:
        return unsure
    rate_hz, explained = _best_rate(times_s, cents)
    widths = _widths(times_s, cents, rate_hz)
    swinging = widths[:, 1] > 0.5 * widths[:, 1].max()
    begins_s, ends_s = widths[swinging, 0].min(), widths[swinging, 0].max() + 1 / rate_hz
    inside = (times_s >= begins_s) & (times_s <= ends_s)
    if inside.sum() * HOP_S >= _SHORTEST_S:
        rate_hz, explained = _best_rate(times_s[inside], cents[inside])
        widths = _widths(times_s[inside], cents[inside], rate_hz)
    width = float(np.quantile(widths[:, 1], _FULL))
    if width < _STILL_CENTS:
        return HeardVibrato(VibratoVerdict.STILL, asked.rate_hz, asked.width_cents, None, round(width, 1))
    if explained < _EXPLAINED:
        return unsure
    return HeardVibrato(
        VibratoVerdict.SWINGS, asked.rate_hz, asked.width_cents, round(rate_hz, 2), round(width, 1)
    )


def _best_rate(times_s: Floats, cents: Floats) -> tuple[float, float]:
    """The rate of the sine that explains most, and which share of the movement about a slope it explains."""
    left = np.array([_left(times_s, cents, float(rate)) for rate in _RATES_HZ])
    best = int(left.argmin())
    rate = float(_RATES_HZ[best])
    if 0 < best < len(left) - 1:
        a, b, c = left[best - 1 : best + 2]
        rate += 0.1 * 0.5 * float((a - c) / max(a - 2 * b + c, 1e-12))
    drift = np.polyval(np.polyfit(times_s, cents, 1), times_s)
    return rate, 1 - float(left[best] / (np.square(cents - drift).sum() + 1e-9))


def _left(times_s: Floats, cents: Floats, rate_hz: float) -> float:
    found = _swing(times_s, cents, rate_hz)
    return float(np.square(cents - _basis(times_s, rate_hz) @ found).sum())


def _widths(times_s: Floats, cents: Floats, rate_hz: float) -> Floats:
    """Start in seconds and width in cents of swings a quarter of a swing apart, shape (n, 2)."""
    out = []
    for start_s in np.arange(times_s[0], max(times_s[-1] - 1 / rate_hz, times_s[0] + 1e-9), 0.25 / rate_hz):
        some = (times_s >= start_s) & (times_s < start_s + 1 / rate_hz)
        if some.sum() >= 0.7 / (rate_hz * HOP_S):
            sine, cosine = _swing(times_s[some], cents[some], rate_hz, sloping=False)[:2]
            out.append((start_s, 2 * float(np.hypot(sine, cosine))))
    return np.array(out) if out else np.array([(times_s[0], 0.0)])


def _swing(times_s: Floats, cents: Floats, rate_hz: float, *, sloping: bool = True) -> Floats:
    basis = _basis(times_s, rate_hz)[:, : 4 if sloping else 3]
    return np.asarray(np.linalg.lstsq(basis, cents, rcond=None)[0], dtype=np.float64)


def _basis(times_s: Floats, rate_hz: float) -> Floats:
    turn = 2 * np.pi * rate_hz * times_s
    return np.stack([np.sin(turn), np.cos(turn), np.ones_like(turn), times_s], axis=1)
