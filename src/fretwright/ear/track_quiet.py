"""How far around a stretch of playing nothing else is heard: room for what is shown early or late."""

from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.take import RATE_HZ

_FRAME_S: Final = 0.02
_FRAME: Final = round(_FRAME_S * RATE_HZ)
_QUIET: Final = 0.1
"""Of the playing's level: -20 dB."""
_FAINT: Final = 0.04
_RISE: Final = 2.2
"""A last note decays; what grows by so much while it does is something else."""
_SMOOTH: Final = 3
_ATTACK_S: Final = 0.2
_BREATH_S: Final = 0.16
_LONGEST_S: Final = 2.5


def clear_around(
    samples: Samples, begins_s: float, onsets_s: tuple[float, float], ends_s: float
) -> tuple[float, float]:
    """From when before the first onset, and until when after the last, nothing else is heard.

    ``samples`` begin at ``begins_s``; ``ends_s`` is when the last note should end. The answer lies at most
    some seconds away from the playing.
    """
    first_s, last_s = onsets_s
    level = _level(samples)
    first, last = (_frame(level, time_s - begins_s) for time_s in onsets_s)
    playing = float(np.median(level[first : max(last, first) + 1]))
    noisy = np.flatnonzero(level[: max(0, first - 1)] > _QUIET * playing)
    clear_from_s = begins_s + ((int(noisy[-1]) + 1) * _FRAME_S if len(noisy) else 0.0)
    from_s = min(first_s, max(clear_from_s + _BREATH_S * (len(noisy) > 0), first_s - _LONGEST_S))
    after = _frame(level, last_s + _ATTACK_S - begins_s)
    until = _frame(level, max(ends_s, last_s + _ATTACK_S) + _LONGEST_S - begins_s)
    smooth = np.convolve(level, np.ones(_SMOOTH) / _SMOOTH, mode="same")[after : until + 1]
    lowest = np.minimum.accumulate(smooth) if len(smooth) else smooth
    rises = np.flatnonzero(smooth > np.maximum(_RISE * lowest, _FAINT * playing))
    until_s = begins_s + (after + (int(rises[0]) if len(rises) else len(smooth))) * _FRAME_S - _BREATH_S
    return from_s, max(last_s + _ATTACK_S, until_s)


def _level(samples: Samples) -> Floats:
    """Root mean square of each frame."""
    count = max(1, len(samples) // _FRAME)
    whole = np.zeros(count * _FRAME)
    whole[: min(len(samples), len(whole))] = samples[: len(whole)]
    level: Floats = np.sqrt(np.square(whole).reshape(count, _FRAME).mean(axis=1))
    return level


def _frame(level: Floats, time_s: float) -> int:
    return min(len(level) - 1, max(0, int(time_s / _FRAME_S)))
