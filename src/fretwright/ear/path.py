"""The search for the best way through a take: which note was played at which moment.

Dynamic programming over pairs of a written note and a candidate moment, once for each of a row of tempos.
Only intervals between notes are compared, never times from a common start, so that drift, pauses and a
false start cost what they are and no more. Everything is a logarithm of odds against "nothing starts
here".
"""

from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.compiled import compiled

NOWHERE: Final = -1e9
FRESH: Final = -1
"""In place of a way back: the note begins a pass."""

_LONGEST_SKIP: Final = 4
_LEAST_ODDS: Final = -5.0


@compiled
def walk(  # noqa: C901, PLR0912, PLR0913, PLR0917 - one loop; numba takes no structure
    moments_s: Floats,
    notes_s: Floats,
    odds: Floats,
    extras: Floats,
    idle: Floats,
    begin_cost: Floats,
    end_cost: Floats,
    tempos: Floats,
    tempo_cost: Floats,
    miss_cost: float,
    change_cost: float,
    still_s: float,
    spread_s: float,
    spread_share: float,
) -> tuple[
    Samples,
    "np.ndarray[tuple[int, int, int], np.dtype[np.int32]]",
    Floats,
    "np.ndarray[tuple[int], np.dtype[np.int64]]",
]:
    """Fill the table of best scores.

    ``odds`` has shape (notes, moments); ``extras`` is what the moments before one are worth as extras,
    summed up and of shape (moments + 1,); ``idle`` the worth of one moment outside a pass. Returns scores
    and ways back, shape (notes, moments, tempos), then the scores of being between passes before each
    moment, shape (moments + 1,), with their ways back.

    A way back is packed: ((skip * 4096) + moments back) * 4 + change of tempo + 1. Between passes it is the
    note and tempo that ended, note * len(tempos) + tempo, or FRESH.
    """
    note_count, moment_count, tempo_count = len(notes_s), len(moments_s), len(tempos)
    best = np.full((note_count, moment_count, tempo_count), np.float32(NOWHERE), dtype=np.float32)
    back = np.full((note_count, moment_count, tempo_count), np.int32(FRESH), dtype=np.int32)
    top = np.full((note_count, moment_count), NOWHERE)
    between = np.full(moment_count + 1, NOWHERE)
    ended = np.full(moment_count + 1, FRESH)
    between[0] = 0.0
    first_after = np.zeros(moment_count, dtype=np.int64)
    last_before = np.zeros(moment_count, dtype=np.int64)
    for i in range(moment_count):
        a = i + 1
        while a < moment_count and moments_s[a] < moments_s[i] + still_s:
            a += 1
        first_after[i] = a
        b = i
        while b > 0 and moments_s[b - 1] > moments_s[i] - still_s:
            b -= 1
        last_before[i] = b
    for i in range(moment_count):
        for n in range(note_count):
            emit = odds[n, i]
            if emit < _LEAST_ODDS:
                continue
            for k in range(tempo_count):
                best[n, i, k] = between[last_before[i]] + emit - begin_cost[n] - tempo_cost[k]
            for skip in range(1, min(_LONGEST_SKIP, n) + 1):
                m = n - skip
                written_s = notes_s[n] - notes_s[m]
                for j in range(i - 1, -1, -1):
                    gap_s = moments_s[i] - moments_s[j]
                    if gap_s > written_s * 2.1 + 0.1:
                        break
                    if gap_s < written_s * 0.4 - 0.02 or top[m, j] <= NOWHERE or i - j > 4000:
                        continue
                    worth = emit - miss_cost * (skip - 1)
                    if last_before[i] > first_after[j]:
                        worth += extras[last_before[i]] - extras[first_after[j]]
                    for k in range(tempo_count):
                        asked_s = written_s * tempos[k]
                        off = (gap_s - asked_s) / (spread_s + spread_share * asked_s)
                        score = worth - 2.5 * np.log1p(off * off / 4.0)
                        for turn in range(-1, 2):
                            if 0 <= k + turn < tempo_count:
                                total = best[m, j, k + turn] + score - (change_cost if turn else 0.0)
                                if total > best[n, i, k]:
                                    best[n, i, k] = total
                                    back[n, i, k] = (skip * 4096 + i - j) * 4 + turn + 1
            for k in range(tempo_count):
                top[n, i] = max(top[n, i], best[n, i, k])
        between[i + 1] = between[i] + idle[i]
        for n in range(note_count):
            if top[n, i] - end_cost[n] > between[i + 1]:
                for k in range(tempo_count):
                    if best[n, i, k] - end_cost[n] > between[i + 1]:
                        between[i + 1] = best[n, i, k] - end_cost[n]
                        ended[i + 1] = n * tempo_count + k
    return best, back, between, ended
