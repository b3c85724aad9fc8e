"""When exactly a note starts.

An onset is the first moment at which the note's own level exceeds -26 dB of its attack's peak; for a
slur, the moment at which the sounding length changes. To see a note's own level while the note before it
still rings, that one is taken away: a periodic sound minus itself one period later is nothing, until
something new begins.
"""

from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.take import RATE_HZ

_BEFORE_S: Final = 0.11
_AFTER_S: Final = 0.055
_MS: Final = RATE_HZ // 1000
_QUIET: Final = 10 ** (-26 / 10)
_OVER_CALM, _OVER_STEADY = 3.0, 1.7
_LEAST_CONTRAST: Final = 2.5
_LONGEST_RISE: Final = 48
_MOST_GAIN: Final = 1.03
_PLUCK_REACH, _SLUR_REACH = 50, 25
"""Milliseconds from the candidate in which the rise is looked for; a slur has no slow attack."""
_EMPHASIS: Final = 0.25
"""Share of the sample before that is taken away: clears rumble, keeps the slow rise of an overdriven
string."""
_LONGEST_BEFORE: Final = 100
_CALM, _STEADY = 8, 20
"""Milliseconds before a rise in which its floor is looked for, and those that a floor lasts at least."""
_DIP: Final = 4
"""Milliseconds for which a rising level may fall back."""


def refined(
    samples: Samples, moments_s: Floats, running_hz: Floats, *, let_go: bool = False
) -> tuple[Floats, Floats]:
    """Onsets in seconds near the moments, shape (n,), and how far each stands out, in dB.

    ``running_hz`` is the frequency that sounded before each moment, 0 where nothing did. A moment about
    which nothing rises is left where it is. ``let_go`` allows for a running note that a finger ends just
    before the onset, as before a pluck; under a slur it rings on until it changes.
    """
    onsets, contrasts = moments_s.copy(), np.zeros(len(moments_s))
    for index, (moment_s, hertz) in enumerate(zip(moments_s, running_hz, strict=True)):
        found = _refined(samples, float(moment_s), float(hertz), let_go=let_go)
        if found is not None:
            onsets[index], contrasts[index] = found
    return onsets, contrasts


def _refined(
    samples: Samples, moment_s: float, running_hz: float, *, let_go: bool
) -> tuple[float, float] | None:
    period = RATE_HZ / running_hz if running_hz else 0.0
    longest = int(period * 1.04) + 3
    start = round((moment_s - _BEFORE_S) * RATE_HZ)
    stop = start + round((_BEFORE_S + _AFTER_S) * RATE_HZ)
    if start - longest - 1 < 0 or stop >= len(samples):
        return None
    piece = samples[start - longest - 1 : stop].astype(np.float64)
    piece = piece[1:] - _EMPHASIS * piece[:-1]
    own = _without_running(piece, longest, period, let_go=let_go) if running_hz else piece[longest:]
    level = _level(own)
    steep = _steepest(level, _PLUCK_REACH if let_go else _SLUR_REACH)
    peak = level[steep : steep + 40].max()
    calm, steady = _floors(level, steep)
    contrast = peak / (steady + 1e-15)
    if contrast < _LEAST_CONTRAST:
        return None
    # under a slur nothing falls silent first, and nothing scrapes
    over = max(calm * _OVER_CALM, steady * _OVER_STEADY) if let_go else steady * _OVER_CALM
    threshold = max(peak * _QUIET, min(over, 0.5 * peak))
    at = steep
    while at > max(_DIP, steep - _LONGEST_RISE):
        above = np.flatnonzero(level[at - _DIP : at] > threshold)
        if not len(above):
            break
        at += int(above[0]) - _DIP
    return start / RATE_HZ + at / 1000, float(10 * np.log10(contrast))


def _steepest(level: Floats, reach: int) -> int:
    """The millisecond just after the steepest rise among those that reach the level of the attack."""
    rise = np.log(level[3:] + 1e-12) - np.log(level[:-3] + 1e-12)
    padded = np.pad(level, (0, 12))
    reached = np.lib.stride_tricks.sliding_window_view(padded, 15)[: len(rise)].max(axis=1)
    strength = rise * np.sqrt(reached / (level.max() + 1e-15))
    middle = round(_BEFORE_S * 1000)
    away = np.abs(np.arange(len(strength)) + 2 - middle)
    strength -= 0.02 * np.maximum(away - 12, 0)
    strength[away > reach] = -np.inf
    return int(np.argmax(strength)) + 3


def _floors(level: Floats, steep: int) -> tuple[float, float]:
    """The quietest that it was for a moment before the rise, and for as long as a cycle of the mains.

    A driven string can be heard scraping for thirty milliseconds before it swells: what sounds just before
    the steepest rise is then its own attack, and what sounds long before it the note that was let go.
    """
    before = level[max(0, steep - _LONGEST_BEFORE) : max(steep - 2, _STEADY)]
    calm, steady = (
        float(np.convolve(before, np.full(count, 1 / count), mode="valid").min())
        for count in (_CALM, _STEADY)
    )
    return calm, steady


def _without_running(piece: Floats, longest: int, period: float, *, let_go: bool) -> Floats:
    """The piece less itself one period of the running note earlier, at the period that fits best."""
    count = len(piece) - longest
    calm = round(0.03 * RATE_HZ)
    now = piece[longest : longest + count]
    best, best_left = now, np.inf
    for factor in (0.985, 0.99, 0.995, 1.0, 1.005, 1.01, 1.015):
        delay = period * factor
        whole = int(delay)
        part = delay - whole
        begin = longest - whole
        earlier = (1 - part) * piece[begin : begin + count] + part * piece[begin - 1 : begin - 1 + count]
        less = now - (_held_gain(now, earlier) * earlier if let_go else earlier)
        left = float(np.dot(less[:calm], less[:calm]))
        if left < best_left:
            best, best_left = less, left
    return best


def _held_gain(now: Floats, earlier: Floats) -> Floats:
    """How much of the running note is still there: 1 while it rings, falling where a finger lets it go."""
    likeness = np.concatenate([[0.0], np.cumsum(now * earlier)])
    power = np.concatenate([[0.0], np.cumsum(earlier * earlier)])
    count, half = len(now), 2 * _MS
    low, high = np.maximum(np.arange(count) - half, 0), np.minimum(np.arange(count) + half, count)
    gain: Floats = (likeness[high] - likeness[low]) / (power[high] - power[low] + 1e-12)
    return np.clip(gain, 0.0, _MOST_GAIN)


def _level(own: Floats) -> Floats:
    """Power in each millisecond."""
    count = len(own) // _MS
    power: Floats = np.square(own[: count * _MS]).reshape(count, _MS).mean(axis=1)
    return power
