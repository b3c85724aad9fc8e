"""How far a recorded note lies from equal temperament, measured in two ways that share nothing.

A stiff string's partials are stretched: its eighth may lie fifteen cents above eight times its first. Its
pitch is taken to be that of its first partial. One way fits the law of the stiff string to the partials that
a spectrum shows (H. Fletcher, "Normal vibration frequencies of a stiff piano string", JASA 36, 1964); the
other takes the period of the note with everything above its third partial filtered away. Where they differ,
as for strings under a hand or much drive, the recording has no pitch to the cent to measure against.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

RATE_HZ: Final = 44_100
_BEGINS_S, _ENDS_S = 0.08, 0.45
_SIZE: Final = 1 << 17
_PARTIALS: Final = 8
_HIGHEST_HZ: Final = 6000.0
_REACH_CENTS: Final = 60.0
_MOST_STRETCH: Final = 0.8
"""Cents by which the square of a partial's number may raise it."""
_FAINTEST: Final = 0.02
_OUTLIER_CENTS: Final = 2.0
_PASSED: Final = 3.2
_SPAN_S: Final = 0.03
_AGREED_CENTS: Final = 3.0
_LEAST_POWER: Final = 1e-3


def deviation_of(note: Floats, midi: int) -> tuple[float, bool]:
    """Cents from equal temperament at A = 440 Hz (ISO 16), and whether both ways agree to three cents.

    ``note`` is mono at :data:`RATE_HZ` from its onset. One that has died away is 0 and not agreed on.
    """
    piece = note[round(_BEGINS_S * RATE_HZ) : round(_ENDS_S * RATE_HZ)]
    spectrum = np.fft.rfft(piece * np.hanning(len(piece)), _SIZE)
    if not np.mean(piece**2) > _LEAST_POWER:
        return 0.0, False
    hertz = 440.0 * 2 ** ((midi - 69) / 12)
    by_partials, by_period = _by_partials(spectrum, hertz), _by_period(spectrum, hertz)
    agreed = abs(by_partials - by_period) <= _AGREED_CENTS
    return (by_partials + by_period) / 2 if agreed else by_partials, agreed


def _by_partials(spectrum: "NDArray[np.complex128]", hertz: float) -> float:
    """The first partial of the stiff string whose partials fit best; strong and high ones count most."""
    power = np.abs(spectrum) ** 2
    found = []
    for partial in range(1, _PARTIALS + 1):
        if partial * hertz > _HIGHEST_HZ:
            break
        low, high = (
            int(partial * hertz * 2 ** (side * _REACH_CENTS / 1200) * _SIZE / RATE_HZ) for side in (-1, 1)
        )
        peak = low + int(power[low : high + 1].argmax())
        if peak in (low, high):
            continue
        place = peak + _vertex(np.log(power[peak - 1 : peak + 2] + 1e-30))
        cents = 1200 * np.log2(place * RATE_HZ / _SIZE / (partial * hertz))
        found.append((partial**2 - 1.0, cents, partial * np.sqrt(power[peak])))
    if not found:
        return 0.0
    square, cents, strength = np.array(found).T
    strength = np.where(strength > _FAINTEST * strength.max(), strength, 0.0)
    weight, first = strength, 0.0
    for _ in range(8):
        middle = np.average(square, weights=weight)
        spread = np.average((square - middle) ** 2, weights=weight) + 1e-3
        slope = np.average((square - middle) * cents, weights=weight) / spread
        slope = float(np.clip(slope, 0.0, _MOST_STRETCH))
        first = float(np.average(cents - slope * square, weights=weight))
        weight = strength / (1 + ((cents - first - slope * square) / _OUTLIER_CENTS) ** 2)
    return first


def _by_period(spectrum: "NDArray[np.complex128]", hertz: float) -> float:
    """By autocorrelation of the low partials over as many periods as fit into some 30 ms."""
    period = RATE_HZ / hertz
    away = np.arange(len(spectrum)) * (RATE_HZ / _SIZE / hertz / _PASSED)
    likeness = np.fft.irfft(np.abs(spectrum * np.exp(-(np.minimum(away, 10.0) ** 4))) ** 2)
    periods = max(1, round(_SPAN_S * RATE_HZ / period))
    lag = 0.0
    for count in range(1, periods + 1):
        middle = count * (lag / (count - 1) if count > 1 else period)
        reach = period * (0.7 * _REACH_CENTS / 1200 if count == 1 else 0.2) + 2
        low, high = int(middle - reach), int(middle + reach) + 2
        top = low + int(likeness[low:high].argmax())
        lag = top + float(np.clip(_vertex(likeness[top - 1 : top + 2]), -1, 1))
    return float(1200 * np.log2(period * periods / lag))


def _vertex(three: Floats) -> float:
    """Where a parabola through three values has its top, from the middle one."""
    a, b, c = three
    return float(0.5 * (a - c) / min(a - 2 * b + c, -1e-12))
