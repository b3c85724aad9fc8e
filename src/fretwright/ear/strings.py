"""What is heard of each string of a stroke: partials of its pitch, and which of them other strings share.

About every stroke eight spectra are taken, two before it and six after; the later ones reach as far as the
next stroke lets them, since only time tells partials of a chord apart and tells a string that sounds from
one that is touched and dies at once. They are read on a grid of a fifth of a semitone. A string is then
described by the levels at multiples of its own pitch and between them, and by which of these places belong
to a partial of another written string as well. The same numbers come at every pitch.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from scipy import fft

from fretwright.ear.arrays import Counts, Floats, Samples
from fretwright.ear.take import RATE_HZ
from fretwright.ear.track_search import Events
from fretwright.score.note import Note
from fretwright.score.timeline import TimedNote

SPANS_S: Final = (
    (-0.175, -0.005), (-0.03, -0.002),
    (-0.002, 0.024), (0.018, 0.044), (0.038, 0.074), (0.03, 0.12), (0.06, 0.25), (0.12, 0.42),
)  # fmt: skip
"""From the stroke's onset; those after it end before the next stroke at the latest."""
RATIOS: Final = (
    1 / 4, 1 / 3, 1 / 2, 2 / 3, 3 / 4, 1, 5 / 4, 4 / 3, 3 / 2, 5 / 3, 7 / 4, 2, 7 / 3, 5 / 2, 8 / 3, 3,
    7 / 2, 4, 9 / 2, 5, 6, 7, 8, 9, 10, 12,
    2 ** (-1 / 12), 2 ** (1 / 12), 2 * 2 ** (-1 / 12), 2 * 2 ** (1 / 12),
)  # fmt: skip
"""Multiples of a string's pitch at which the spectra are read."""
_OWN: Final = tuple(place for place, ratio in enumerate(RATIOS) if abs(ratio - round(ratio)) < 1e-9)
_REFERENCE: Final = 6
"""The span against whose loudest partial levels are told."""
_GUARD_S: Final = 0.004
_LEAST_S: Final = 0.06
_SIZE: Final = 8192
_CELLS: Final = 5
_LOW_MIDI, _HIGH_MIDI = 12, 136
_QUIETEST_DB: Final = -60.0
_SHARED_CENTS: Final = 45.0
_MOST_PARTIALS: Final = 14
_RINGING_S: Final = 2.0
_NOTHING_NEAR_S: Final = 9.0
COUNT: Final = 2 * len(SPANS_S) * len(RATIOS) + 3 * len(RATIOS) + 6
"""Numbers per string."""


@dataclass(frozen=True, slots=True)
class Strokes:
    """Spectra about some strokes."""

    levels: Samples
    """Shape (strokes, spans, cells): 1 at the loudest partial of the stroke, 0 at 20 dB under it."""
    shared: Samples
    """What belongs to the stroke and not to a string, shape (strokes, 3)."""


def read_strokes(
    samples: Samples, onsets_s: Floats, tuning_cents: float, moments_s: Floats | None = None
) -> Strokes:
    """Read the spectra about strokes, ``onsets_s`` in order of time; or about moments between them.

    ``moments_s`` are those at which single strings of a rolled chord start. Of both kinds the strokes alone
    say how long a string has to be heard.
    """
    moments_s = onsets_s if moments_s is None else moments_s
    count = len(moments_s)
    grids = np.empty((count, len(SPANS_S), len(_edges(0))), dtype=np.float32)
    place = np.searchsorted(onsets_s, moments_s, side="right")
    following = np.append(onsets_s, np.inf)[place] - moments_s
    following[np.isinf(following)] = _NOTHING_NEAR_S
    previous = moments_s - np.insert(onsets_s, 0, -_NOTHING_NEAR_S)[np.searchsorted(onsets_s, moments_s)]
    edges = _edges(round(tuning_cents))
    for index, onset_s in enumerate(moments_s):
        for span, (begin_s, end_s) in enumerate(SPANS_S):
            begin, end = _fitted(begin_s, end_s, float(following[index]))
            power = _power(samples, onset_s + begin, onset_s + end)
            grids[index, span] = np.maximum.reduceat(power, edges)
    levels = 10 * np.log10(_widened(grids) + np.float32(1e-13))
    loudest = levels[:, _REFERENCE].max(axis=1)[:, None, None] if count else np.zeros((0, 1, 1), np.float32)
    shared = np.stack(
        [
            np.minimum(following, 1.0),
            np.minimum(previous, 1.0),
            np.clip((levels[:, 5].max(axis=1) - levels[:, 0].max(axis=1)) / 20, -2, 3),
        ],
        axis=1,
    )
    return Strokes(
        (np.clip(levels - loudest, _QUIETEST_DB, 12.0) / 20.0 + 1.0).astype(np.float32),
        shared.astype(np.float32),
    )


def both(one: Strokes, other: Strokes) -> Strokes:
    """The rows of one after the rows of another."""
    return Strokes(np.concatenate([one.levels, other.levels]), np.concatenate([one.shared, other.shared]))


def _fitted(begin_s: float, end_s: float, following_s: float) -> tuple[float, float]:
    """A span cut short by the next stroke; it moves forward rather than shrink to nothing."""
    if end_s <= 0:
        return begin_s, end_s
    end = min(end_s, max(following_s - _GUARD_S, _LEAST_S))
    return max(0.0, min(begin_s, end - min(_LEAST_S, end_s - begin_s))), end


def _power(samples: Samples, begin_s: float, end_s: float) -> Samples:
    first, last = round(begin_s * RATE_HZ), round(end_s * RATE_HZ)
    piece = np.zeros(last - first, dtype=np.float32)
    low, high = max(first, 0), min(last, len(samples))
    if high > low:
        piece[low - first : high - first] = samples[low:high]
    window = _window(len(piece))
    spectrum = fft.rfft(piece * window, _SIZE)
    power: Samples = spectrum.real**2 + spectrum.imag**2
    return power


@lru_cache(maxsize=2048)
def _window(count: int) -> Samples:
    return (np.hanning(count) * (4.0 / max(count, 1))).astype(np.float32)


def _widened(grids: Samples) -> Samples:
    """Each cell with its two neighbours: a string need not be in tune."""
    wide = grids.copy()
    np.maximum(wide[..., 1:], grids[..., :-1], out=wide[..., 1:])
    np.maximum(wide[..., :-1], grids[..., 1:], out=wide[..., :-1])
    return wide


@lru_cache(maxsize=8)
def _edges(tuning_cents: int) -> Counts:
    cells = np.arange((_HIGH_MIDI - _LOW_MIDI) * _CELLS + 1)
    midi = _LOW_MIDI + (cells - 0.5) / _CELLS + tuning_cents / 100
    hertz = 440.0 * 2 ** ((midi - 69) / 12)
    edges: Counts = np.minimum(np.rint(hertz * _SIZE / RATE_HZ), _SIZE // 2).astype(np.int64)
    return edges


def describe_string(
    strokes: Strokes, stroke: int, midi: int, others: Sequence[int], ringing: Sequence[int]
) -> Samples:
    """Numbers for the judge of strings, shape (COUNT,).

    ``midi`` may be struck beside ``others``, while ``ringing`` are written to go on from strokes before.
    """
    places = _places(midi)
    covered = _covered(midi, tuple(sorted(others)))
    running = _covered(midi, tuple(sorted(ringing)))[: len(RATIOS)]
    levels = strokes.levels[stroke][:, places]
    shared = covered[: len(RATIOS)] > 0
    beside = (
        sum(1 for one in others if one < midi) / 6,
        sum(1 for one in others if one > midi) / 6,
        float(midi in others),
    )
    return np.concatenate(
        [
            np.where(shared, 0, levels).ravel(),
            np.where(shared, levels, 0).ravel(),
            covered,
            running,
            beside,
            strokes.shared[stroke],
        ]
    ).astype(np.float32)


@lru_cache(maxsize=256)
def _places(midi: int) -> Counts:
    at = midi + 12 * np.log2(np.array(RATIOS))
    places: Counts = np.clip(np.rint((at - _LOW_MIDI) * _CELLS), 0, (_HIGH_MIDI - _LOW_MIDI) * _CELLS)
    return places.astype(np.int64)


@lru_cache(maxsize=4096)
def _covered(midi: int, others: tuple[int, ...]) -> Samples:
    """For each ratio how low a partial of another string lies there, and how many strings share it.

    1 for a fundamental, 0 for none; shape (2 * RATIOS,).
    """
    at = midi + 12 * np.log2(np.array(RATIOS))
    lowest, count = np.zeros(len(RATIOS)), np.zeros(len(RATIOS))
    for other in others:
        partials = other + 12 * np.log2(np.arange(1, _MOST_PARTIALS + 1))
        near = np.abs(at[:, None] - partials) * 100 < _SHARED_CENTS
        order = np.where(near, 1 / np.arange(1, _MOST_PARTIALS + 1), 0.0).max(axis=1)
        lowest, count = np.maximum(lowest, order), count + near.any(axis=1)
    return np.concatenate([lowest, count / 3]).astype(np.float32)


def slips_of(note: Note) -> tuple[int, ...]:
    """What a string sounds when its finger goes astray: a fret or two beside, or the string open."""
    frets = [note.fret + step for step in (-1, 1, -2, 2) if note.fret + step >= 0]
    frets += [0] if note.fret > 2 else []
    return tuple(note.midi - note.fret + fret for fret in frets)


def ringing_into(notes: Sequence[TimedNote], events: Events, event: int) -> tuple[int, ...]:
    """Pitches written before an event on strings that it leaves alone, and that may still ring."""
    taken = {notes[index].note.string for index in events.members[event]}
    out: list[int] = []
    for before in range(event - 1, -1, -1):
        if events.times_s[event] - events.times_s[before] > _RINGING_S:
            break
        for index in events.members[before]:
            note = notes[index].note
            if note.string not in taken:
                taken.add(note.string)
                out.append(note.midi)
    return tuple(out)
