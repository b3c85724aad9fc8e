"""From candidates to passes: which sounding stands for which written note, time after time."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from fretwright.ear.arrays import Counts, Floats, Marks, Samples
from fretwright.ear.features import LOWEST_MIDI, PITCHES
from fretwright.ear.path import FRESH, walk

TEMPOS: Final = np.exp(np.arange(-9, 13) * 0.05)
"""How much longer than asked an interval may be: from two thirds to nearly twice, in steps of 5 %."""
STILL_S: Final = 0.06
"""Two notes do not start closer together than this."""

WORTH_EXPECTED: Final = 2.0
"""A note is likelier where the score has one (logarithm of odds)."""
_COST_WRONG: Final = 3.5
_COST_OCTAVE: Final = 2.5
"""A partial mistaken for the fundamental is likelier than a hand an octave off."""
_COST_MOVED: Final = 2.0
"""A bent note that begins on another pitch than it should: pulled too soon, or not at all."""
_COST_MISSED: Final = 4.0
_COST_EXTRA: Final = 3.3
_COST_PLUCKED_EXTRA: Final = 0.5
"""Where energy rises and the partials change as well, something was plucked: less is needed to say so."""
_KNOCK: Final = 4.0
"""What a stroke is worth where a dead string is written: its pitch, if it has any, says nothing."""
_COST_IDLE: Final = 4.0
_COST_TEMPO_CHANGE: Final = 1.0
_COST_BROKEN_OFF: Final = 5.0
_COST_INSIDE: Final = 6.0
_COST_AT_BAR: Final = 4.0
_COST_AGAIN: Final = 1.0
_SPREAD_S: Final = 0.018
_SPREAD_SHARE: Final = 0.06
_MOST_ODDS: Final = 9.0
_MOST_CELLS: Final = 14_000_000
_SHIFTS: Final = (1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 7, -7, 12, -12)
_POOR_FIT: Final = 0.55


@dataclass(frozen=True, slots=True)
class Written:
    """What the aligner needs to know of the notes to be played, in order of time."""

    onsets_s: Floats
    """At the asked tempo."""
    midi: Counts
    opens_bar: Marks
    rises: Counts | None = None
    """Semitones above its pitch up to which each note may sound and be right: it is bent. None for no
    note."""
    starts: Floats | None = None
    """Semitones above its pitch at which each note should begin; None where all begin on it."""
    knocks: Marks | None = None
    """Which notes are dead strings: a stroke without a pitch. None where there are none."""
    last_s: float = 0.0
    """How long the last note is written to sound: until then what is plucked is one too many."""


@dataclass(frozen=True, slots=True)
class Match:
    """One written note found at one moment."""

    note: int
    moment: int
    midi: int
    """What was heard there: the written pitch unless another is clearly likelier."""
    odds: float
    """Natural logarithm of the odds that a note of that pitch starts there."""
    rival: float
    """The same for the written pitch where another was heard, and for the best other pitch where not."""


@dataclass(frozen=True, slots=True)
class Pass:
    """One time through the exercise, or through part of it."""

    matches: tuple[Match, ...]
    extras: tuple[tuple[int, int, float], ...]
    """Moment, MIDI number and odds of soundings that stand for no note."""
    tempo: float
    """Interval played over interval asked, typical of the pass."""


@dataclass(frozen=True, slots=True)
class Alignment:
    """All passes of a take."""

    passes: tuple[Pass, ...]
    score: float
    shift: int
    """Semitones by which the whole take lies above what is written; 0 unless it fits much better so."""


def align(written: Written, moments_s: Floats, odds: Samples, plucked: Marks | None = None) -> Alignment:
    """Find the passes; ``odds`` as of :attr:`fretwright.ear.pitches.Odds.alone`.

    ``plucked`` says of each moment whether something was plucked there, whatever it was; shape (moments,).
    A take that fits poorly as written is tried a few semitones away: a forgotten capo or another tuning.
    """
    kept = _affordable(odds, len(written.midi))
    plucked = np.zeros(len(kept), dtype=bool) if plucked is None else plucked[kept]
    # no single moment may outweigh the rest, but what tells its pitches apart stays
    odds = odds[kept]
    odds = odds - np.maximum(odds.max(axis=1, keepdims=True, initial=-_MOST_ODDS) - _MOST_ODDS, 0)
    found = _aligned(written, moments_s[kept], odds, plucked, 0)
    if _fit(found, written) < _POOR_FIT:
        others = [_aligned(written, moments_s[kept], odds, plucked, shift) for shift in _SHIFTS]
        best = max(others, key=lambda one: one.score)
        if best.score > found.score + 3.0 and _fit(best, written) > _POOR_FIT:
            found = best
    return _renumbered(found, kept)


def _fit(found: Alignment, written: Written) -> float:
    """Share of the notes that were heard as written in the best pass."""
    right = [
        sum(match.midi == written.midi[match.note] + found.shift for match in one.matches)
        for one in found.passes
    ]
    return max(right, default=0) / len(written.midi)


def _affordable(odds: Samples, note_count: int) -> Counts:
    """Moments to consider: all, or the strongest where the table would grow too large."""
    most = _MOST_CELLS // (note_count * len(TEMPOS))
    if len(odds) <= most:
        return np.arange(len(odds))
    return np.sort(np.argsort(-odds.max(axis=1))[:most])


def _renumbered(found: Alignment, kept: Counts) -> Alignment:
    passes = tuple(
        Pass(
            tuple(Match(m.note, int(kept[m.moment]), m.midi, m.odds, m.rival) for m in one.matches),
            tuple((int(kept[moment]), midi, odds) for moment, midi, odds in one.extras),
            one.tempo,
        )
        for one in found.passes
    )
    return Alignment(passes, found.score, found.shift)


def _aligned(written: Written, moments_s: Floats, odds: Samples, plucked: Marks, shift: int) -> Alignment:
    right, wrong, wrong_midi = _per_note(written, odds, shift)
    if written.knocks is not None:
        right[written.knocks] = np.where(plucked, _KNOCK, -_COST_MISSED)
        wrong[written.knocks] = -_MOST_ODDS
    strongest = odds.max(axis=1)
    alone = _loudest_about(moments_s, strongest)
    cost = np.where(plucked, _COST_PLUCKED_EXTRA, _COST_EXTRA)
    extra = np.where(alone, np.maximum(strongest - cost, 0), 0).astype(np.float64)
    idle = np.where(alone, np.maximum(strongest - _COST_IDLE, 0), 0).astype(np.float64) * 0.7
    count = len(written.midi)
    begin = np.where(written.opens_bar, _COST_AT_BAR, _COST_INSIDE)
    begin = np.minimum(begin, _COST_AGAIN + _COST_MISSED * np.arange(count))
    end = np.minimum(_COST_BROKEN_OFF, _COST_MISSED * np.arange(count - 1, -1, -1.0))
    best, back, between, ended = walk(
        moments_s,
        written.onsets_s,
        np.maximum(right, wrong).astype(np.float64),
        np.concatenate([[0.0], np.cumsum(extra)]),
        idle,
        begin.astype(np.float64),
        end.astype(np.float64),
        TEMPOS,
        2.0 * np.abs(np.log(TEMPOS)),
        _COST_MISSED,
        _COST_TEMPO_CHANGE,
        STILL_S,
        _SPREAD_S,
        _SPREAD_SHARE,
    )
    ways = ways_back(moments_s, best, back, ended)
    begins_s = [float(moments_s[steps[0][1]]) for steps in ways]
    passes = []
    for steps, again_s in zip(ways, [*begins_s[1:], np.inf], strict=False):
        matches = tuple(
            Match(
                n,
                i,
                int(written.midi[n] + shift if right[n, i] >= wrong[n, i] else wrong_midi[n, i]),
                float(max(right[n, i], wrong[n, i] + _COST_WRONG)),
                float(wrong[n, i] + _COST_WRONG if right[n, i] >= wrong[n, i] else right[n, i]),
            )
            for n, i, _ in steps
        )
        tempo = float(np.exp(np.median(np.log(TEMPOS[[k for _, _, k in steps]]))))
        until_s = float(moments_s[steps[-1][1]])
        if steps[-1][0] == count - 1:
            until_s = min(until_s + written.last_s * tempo, again_s)
        passes.append(Pass(matches, _extras_of(steps, until_s, moments_s, extra, odds), tempo))
    return Alignment(tuple(passes), float(between[-1]), shift)


def _per_note(written: Written, odds: Samples, shift: int) -> tuple[Samples, Samples, Counts]:
    """Odds that each note is played as written, or as another pitch, and which; shape (notes, moments)."""
    count = len(odds)
    padded = np.pad(odds, ((0, 0), (24, 24)), constant_values=-30.0)
    asked = np.clip(written.midi + shift - LOWEST_MIDI, -12, PITCHES + 11) + 24
    rises = np.zeros_like(asked) if written.rises is None else written.rises
    starts = np.zeros(len(asked)) if written.starts is None else written.starts
    right = padded[:, asked].T + np.float32(WORTH_EXPECTED) - _away(0, starts)
    for step in range(1, int(rises.max(initial=0)) + 1):
        bent = rises >= step
        worth = np.float32(WORTH_EXPECTED) - _away(step, starts[bent])
        right[bent] = np.maximum(right[bent], padded[:, asked[bent] + step].T + worth)
    for octave in (-12, 12):
        np.maximum(right, padded[:, asked + octave].T + np.float32(WORTH_EXPECTED - _COST_OCTAVE), out=right)
    wrong = np.empty((len(asked), count), dtype=np.float32)
    which = np.empty((len(asked), count), dtype=np.int64)
    for pitch, rise in sorted(set(zip(asked.tolist(), rises.tolist(), strict=True))):
        others = padded[:, 24:-24].copy()
        low = pitch - 24
        for near in (low - 12, low + 12):
            if 0 <= near < PITCHES:
                others[:, near] -= _COST_OCTAVE
        others[:, max(low, 0) : max(low + rise + 1, 0)] -= 30.0
        rows = (asked == pitch) & (rises == rise)
        which[rows] = others.argmax(axis=1) + LOWEST_MIDI
        wrong[rows] = others.max(axis=1) - _COST_WRONG
    return right, wrong, which


def _away(step: int, starts: Floats) -> Samples:
    """What it costs a bent note to begin so many semitones above its fret, shape (notes, 1)."""
    cost: Samples = np.where(np.abs(starts - step) < 1, 0.0, _COST_MOVED).astype(np.float32)[:, None]
    return cost


def soundings(moments_s: Floats, odds: Samples, least: float) -> Counts:
    """Moments at which some note or other starts, at such odds at least; one of those that lie together."""
    strongest = odds.max(axis=1, initial=-30.0)
    return np.flatnonzero(_loudest_about(moments_s, strongest) & (strongest > least))


def _loudest_about(moments_s: Floats, strongest: Samples) -> Marks:
    """Whether each moment is the likeliest within the distance at which no two notes start."""
    out = np.ones(len(moments_s), dtype=bool)
    for i, moment_s in enumerate(moments_s):
        near = slice(*np.searchsorted(moments_s, (moment_s - STILL_S, moment_s + STILL_S)))
        # of several alike the first
        out[i] = near.start + int(strongest[near].argmax()) == i
    return out


def ways_back(
    moments_s: Floats,
    best: Samples,
    back: "np.ndarray[tuple[int, int, int], np.dtype[np.int32]]",
    ended: Counts,
) -> list[list[tuple[int, int, int]]]:
    """Ways back through the table: for each pass its notes, moments and tempos in order."""
    passes = []
    i = len(ended) - 1
    while i > 0:
        if ended[i] == FRESH:
            i -= 1
            continue
        n, k = divmod(int(ended[i]), best.shape[2])
        i -= 1
        steps = [(n, i, k)]
        while back[n, i, k] != FRESH:
            packed, turn = divmod(int(back[n, i, k]), 4)
            skip, ago = divmod(packed, 4096)
            n, i, k = n - skip, i - ago, k + turn - 1
            steps.append((n, i, k))
        passes.append(steps[::-1])
        # one sound does not end a pass and begin the next
        i = int(np.searchsorted(moments_s, moments_s[i] - STILL_S, side="right"))
    return passes[::-1]


def _extras_of(
    steps: Sequence[tuple[int, int, int]], until_s: float, moments_s: Floats, extra: Floats, odds: Samples
) -> tuple[tuple[int, int, float], ...]:
    """What sounds between the notes of a pass, and after its last one until that one's end."""
    starts_s = [float(moments_s[i]) for _, i, _ in steps]
    found = []
    for begins_s, ends_s in pairwise([*starts_s, until_s]):
        clear = (moments_s > begins_s + STILL_S) & (moments_s < ends_s - STILL_S) & (extra > 0)
        found += [
            (int(at), int(odds[at].argmax()) + LOWEST_MIDI, float(odds[at].max()))
            for at in np.flatnonzero(clear)
        ]
    return tuple(found)
