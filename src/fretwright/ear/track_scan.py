"""A long track turned into moments and odds, block by block: the first of two times it is heard."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from fretwright.ear.arrays import Counts, Floats, Samples
from fretwright.ear.candidates import find_candidates
from fretwright.ear.features import LOWEST_MIDI, PITCHES, tuning_of
from fretwright.ear.listen import odds_of
from fretwright.ear.sounding import cents_of
from fretwright.ear.take import RATE_HZ

_EDGE_S: Final = 1.0
"""Beyond a block's own samples, heard on either side so that no moment falls between two blocks."""
_A_NOTE: Final = 3.0
_STEADY_CENTS: Final = 14.0
_EARLY_S, _LATE_S = (0.03, 0.11), (0.1, 0.18)
"""Spans after a moment whose pitches are compared. A voice glides by a semitone in a tenth of a second as a
rule, a fretted string stands."""


@dataclass(frozen=True, slots=True)
class Scan:
    """All moments of a track."""

    moments_s: Floats
    odds: Samples
    """As of :attr:`fretwright.ear.pitches.Odds.alone`, shape (moments, pitches)."""
    steady: Counts
    """MIDI number of the pitch that stands still after each moment, 0 where none does."""
    length_s: float
    loudest: float


def scan(blocks: Iterator[Samples], heard_s: Callable[[float], None] = lambda _: None) -> Scan:
    """Listen through a track once; ``heard_s`` is called with how many seconds have been heard."""
    reach = round(_EDGE_S * RATE_HZ)
    held = np.zeros(reach, dtype=np.float32)
    begins = -reach
    times, odds, steady = [np.zeros(0)], [np.zeros((0, PITCHES), np.float32)], [np.zeros(0, np.int64)]
    loudest = 0.0
    for block in _and_silence(blocks, 2 * reach):
        held = np.concatenate([held, block])
        loudest = max(loudest, float(np.abs(block).max(initial=0.0)))
        own = slice(reach / RATE_HZ, (len(held) - reach) / RATE_HZ)
        if own.stop <= own.start:
            continue
        some = _heard(held, own.start, own.stop)
        times.append(some[0] + begins / RATE_HZ)
        odds.append(some[1])
        steady.append(some[2])
        begins += len(held) - 2 * reach
        held = held[-2 * reach :]
        heard_s((begins + reach) / RATE_HZ)
    length_s = max(0.0, (begins + len(held) - 2 * reach) / RATE_HZ)
    return Scan(np.concatenate(times), np.concatenate(odds), np.concatenate(steady), length_s, loudest)


def _and_silence(blocks: Iterator[Samples], count: int) -> Iterator[Samples]:
    yield from blocks
    yield np.zeros(count, dtype=np.float32)


def _heard(samples: Samples, from_s: float, until_s: float) -> tuple[Floats, Samples, Counts]:
    """Moments between two times of a piece, their odds and the steady pitch after each."""
    found = find_candidates(samples)
    strong = found.times_s[found.rise > 0.3]
    tuning_cents = tuning_of(samples, strong if len(strong) else found.times_s)
    odds = odds_of(samples, found, tuning_cents, found)
    inside = (found.times_s >= from_s) & (found.times_s < until_s)
    times_s, odds = found.times_s[inside], odds[inside]
    return times_s, odds, _steady(samples, times_s, odds, tuning_cents)


def _steady(samples: Samples, times_s: Floats, odds: Samples, tuning_cents: float) -> Counts:
    out = np.zeros(len(times_s), dtype=np.int64)
    likely = np.flatnonzero(odds.max(axis=1, initial=0.0) > _A_NOTE) if len(odds) else np.zeros(0, np.int64)
    if not len(likely):
        return out
    midi = odds[likely].argmax(axis=1) + LOWEST_MIDI
    # the measure leaves the first 30 ms of a span to settle
    early, late = (
        cents_of(samples, times_s[likely] + begin - 0.03, times_s[likely] + end, midi, tuning_cents)
        for begin, end in (_EARLY_S, _LATE_S)
    )
    stands = np.abs(early - late) < _STEADY_CENTS
    out[likely[stands]] = midi[stands]
    return out
