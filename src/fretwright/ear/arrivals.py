"""When a slide arrives: the moment from which the string sounds the pitch it was sent to.

A finger that slides passes every fret on its way, and the first of them changes the sound as much as the
last. What tells them apart is what follows: a periodic sound minus itself one period of the target later is
nothing as soon as, and for as long as, the target sounds.
"""

from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.take import RATE_HZ

_EARLIEST_S, _LATEST_S = 0.05, 0.12
"""About the moment at which a detector saw the change: the slide's beginning or its end."""
_STEP: Final = RATE_HZ // 1000
_SMOOTH_S: Final = 0.006
_LEFT_SHARE: Final = 0.5
_CLEAR_S: Final = 0.012
_MOVING, _SETTLED = 15, 30
"""Milliseconds before and after the arrival that are compared."""
_LEAST_FALL: Final = 0.7
"""How much less is left, as a logarithm, once the target sounds than while the finger is on its way."""
_LATE_S: Final = 0.0015
"""By which the fall is seen too late."""


def arrivals(samples: Samples, moments_s: Floats, untils_s: Floats, target_hz: Floats) -> Floats:
    """Seconds at which the targets are reached near the moments, shape (n,); one stays where none is seen.

    ``untils_s`` is where something else begins to sound.
    """
    return np.array(
        [
            _arrival(samples, float(at_s), float(until_s), float(hertz))
            for at_s, until_s, hertz in zip(moments_s, untils_s, target_hz, strict=True)
        ]
    )


def _arrival(samples: Samples, at_s: float, until_s: float, hertz: float) -> float:
    period = RATE_HZ / hertz
    whole, part = int(period), period - int(period)
    wide = max(round(_SMOOTH_S * RATE_HZ), round(period))
    begin = round((at_s - _EARLIEST_S) * RATE_HZ)
    end = round(min(at_s + _LATEST_S, until_s - _CLEAR_S) * RATE_HZ)
    count = end - begin
    if begin - whole - 1 < 0 or end > len(samples) or count < 2 * wide + (_MOVING + _SETTLED) * _STEP:
        return at_s
    piece = samples[begin - whole - 1 : end].astype(np.float64)
    now = piece[whole + 1 :]
    earlier = (1 - part) * piece[1 : 1 + count] + part * piece[:count]
    left, whole_power = (
        np.convolve(power, np.ones(wide), mode="valid")[::_STEP] for power in ((now - earlier) ** 2, now**2)
    )
    ratio = np.log(left / (whole_power + 1e-12) + 1e-3)
    fall = _mean(ratio, _MOVING)[:-_SETTLED] - _mean(ratio, _SETTLED)[_MOVING:]
    if not len(fall) or fall.max() < _LEAST_FALL:
        return at_s
    return (begin + (int(fall.argmax()) + _MOVING) * _STEP + _LEFT_SHARE * wide - period) / RATE_HZ - _LATE_S


def _mean(values: Floats, count: int) -> Floats:
    return np.convolve(values, np.full(count, 1 / count), mode="valid")
