"""The metronome: a dry wooden tick, higher on the first beat of a bar.

Clicks carry no pitch of the guitar's: they are short, and their energy lies above the fundamentals.
"""

from functools import lru_cache
from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.sound.arrays import Floats

CLICK_SECONDS: Final = 0.06
"""Length of one click."""
_PLAIN_HZ: Final = (1_650.0, 2_870.0)
_ACCENT_HZ: Final = (2_350.0, 4_090.0)
_RING_S: Final = (0.0090, 0.0035)


@lru_cache(maxsize=2)
def click(*, accented: bool) -> Floats:
    """One click, shape (n,), with a peak of 1: two short bars of wood struck together."""
    time_s = np.arange(round(CLICK_SECONDS * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    bars = _ACCENT_HZ if accented else _PLAIN_HZ
    sound = sum(
        level * np.exp(-time_s / ring_s) * np.sin(2 * np.pi * hz * time_s)
        for hz, ring_s, level in zip(bars, _RING_S, (1.0, 0.5), strict=True)
    )
    fade = np.minimum(1.0, (CLICK_SECONDS - time_s) / 0.01)
    shaped: Floats = np.asarray(sound) * fade
    shaped /= np.abs(shaped).max()
    shaped.setflags(write=False)
    return shaped


def add_click(mono: Floats, at: int, level: float, *, accented: bool) -> None:
    """Add a click to a track, shape (n,), from sample ``at``; it is cut at the track's end."""
    piece = level * click(accented=accented)
    stop = min(len(mono), at + len(piece))
    if at < stop:
        mono[at:stop] += piece[: stop - at]
