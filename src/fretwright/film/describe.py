"""The audio description: the walk-through spoken over the film's own sound, for those who cannot see it.

Each sentence begins when what it tells is played, or when the one before it is done, and is spoken as
quickly as the time asks for, within what listeners follow. Music moves faster than words: a sentence that
would come too late is left out, and stands in the text. The film's sound is lowered while the voice speaks.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.film.captions import Cue
from fretwright.film.speech import say
from fretwright.sound.arrays import Samples

_PACES: Final = (175, 220, 270, 320)
"""Words a minute, from calm to as quick as practised listeners of synthetic speech set it (from memory)."""
_LATEST_S: Final = 1.5
_DUCKED: Final = 10 ** (-12 / 20)
_RAMP_S: Final = 0.15
_BETWEEN_S: Final = 0.15


def spoken_over(samples: Samples, sound_starts_s: float, told: Sequence[Cue], length_s: float) -> Samples:
    """The whole second sound track, shape (n, 2) from the film's first picture on.

    ``samples`` are the film's own sound, of shape (n, 2), which starts at ``sound_starts_s``.
    Raises :class:`~fretwright.base.errors.RenderError` if no synthesiser is installed, or it fails.
    """
    count = round(length_s * SAMPLE_RATE_HZ)
    voice = np.zeros(count, np.float32)
    speaking = np.zeros(count, bool)
    for start_s, spoken in _timed(told, length_s):
        at = round(start_s * SAMPLE_RATE_HZ)
        some = spoken[: count - at]
        voice[at : at + len(some)] += some
        speaking[at : at + len(some)] = True
    out = np.zeros((count, 2), np.float32)
    begin = round(sound_starts_s * SAMPLE_RATE_HZ)
    piece = samples[: count - begin]
    out[begin : begin + len(piece)] = piece * _lowered(speaking)[begin : begin + len(piece), None]
    out += voice[:, None]
    return np.clip(out, -1.0, 1.0)


def _timed(told: Sequence[Cue], length_s: float) -> list[tuple[float, Samples]]:
    """When each sentence that is spoken begins, and its sound."""
    out: list[tuple[float, Samples]] = []
    free_s = 0.0
    ends = [other.start_s for _, other in pairwise(told)] + [length_s]
    for cue, end_s in zip(told, ends, strict=True):
        start_s = max(cue.start_s, free_s)
        if start_s - cue.start_s > _LATEST_S:
            continue
        spoken = _in_time(cue.text, end_s - start_s)
        length = len(spoken) / SAMPLE_RATE_HZ
        if start_s + length > length_s:
            continue
        out.append((start_s, spoken))
        free_s = start_s + length + _BETWEEN_S
    return out


def _in_time(words: str, room_s: float) -> Samples:
    """The words at the calmest pace that fits, or at the quickest."""
    for pace in _PACES[:-1]:
        spoken = say(words, pace)
        if len(spoken) <= room_s * SAMPLE_RATE_HZ:
            return spoken
    return say(words, _PACES[-1])


def _lowered(speaking: "np.ndarray[tuple[int], np.dtype[np.bool_]]") -> Samples:
    """How loud the film's own sound is, sample by sample."""
    ramp = round(_RAMP_S * SAMPLE_RATE_HZ)
    sums = np.concatenate([[0], np.cumsum(speaking, dtype=np.int64)])
    low, high = np.arange(len(speaking)) - ramp // 2, np.arange(len(speaking)) + ramp // 2
    share = (sums[np.minimum(high, len(speaking))] - sums[np.maximum(low, 0)]) / ramp
    loud: Samples = (1 - np.clip(share, 0, 1) * (1 - _DUCKED)).astype(np.float32)
    return loud
