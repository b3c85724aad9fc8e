"""Dealing the notes of a scale out to the strings.

A scale and a neck enter; for each string the frets to stop and the fingers that stop them leave. Which
string takes a note that two could take is decided by an exact search for the hand most at rest
(:mod:`fretwright.fretboard.hand` says what that costs). Strings are taken in order of their open pitch,
so that reentrant tunings work as well.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from fretwright.fretboard.hand import OPEN_POSITION, REACH_FRETS, Hold, first_finger_fret, hold
from fretwright.fretboard.neck import Neck
from fretwright.theory.scale import Scale

_REACH_BEYOND: Final = 4
"""Frets outside the position that the search looks at; only wide tunings ever need more than one."""
_EMPTY_STRING_COST: Final = 300
"""A string without a note: dearer than moving the hand, so that no string is left out for comfort."""
_IMAGINED_STRING_SEMITONES: Final = 5
"""Where a string beyond the outer ones is imagined: a fourth away, as most neighbours are."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Frets and fingers for each string, in the order of :func:`from_lowest`."""

    runs: tuple[tuple[int, ...], ...]
    """Rising frets on each string; together the scale notes without a gap."""
    holds: tuple[Hold, ...]
    """The fingers for each run."""
    cost: int
    """Total of the holds."""

    @property
    def at_rest(self) -> bool:
        """Whether the hand neither moves nor stretches."""
        return all(taken.at_rest for taken in self.holds)


def from_lowest(neck: Neck) -> list[tuple[int, int]]:
    """Every string's number and what it sounds open at the capo (MIDI), from the lowest sounding up."""
    sounding = [
        (pitch.midi + neck.capo, string) for string, pitch in enumerate(neck.tuning.open_pitches, start=1)
    ]
    return [(string, midi) for midi, string in sorted(sounding, key=lambda entry: (entry[0], -entry[1]))]


def over_position(scale: Scale, neck: Neck, position: int, last_fret: int | None = None) -> Layout | None:
    """The easiest layout over a position, or None where the notes cannot be had there.

    Position 0 uses open strings wherever the scale has them. Position 1 keeps off them where the closed
    hand needs no more than its four frets, and is the same as position 0 otherwise. ``last_fret`` lets
    the neck end elsewhere than it does.
    """
    end = neck.last_fret if last_fret is None else last_fret
    if position == 1:
        closed = _search(scale, neck, position, (1, end))
        if closed is not None and closed.at_rest:
            return closed
    nearest = 0 if first_finger_fret(position) == 1 else 1
    return _search(scale, neck, position, (nearest, end))


def by_strings(scale: Scale, neck: Neck, per_string: int, first: int) -> Layout | None:
    """So many notes on every string from fret ``first`` of the lowest one, or None off the neck."""
    opens = from_lowest(neck)
    midi = opens[0][1] + first
    runs = []
    for _, open_midi in opens:
        run: list[int] = []
        while len(run) < per_string:
            if scale.contains(midi):
                run.append(midi - open_midi)
            midi += 1
        if run[0] < 0 or run[-1] > neck.last_fret:
            return None
        runs.append(tuple(run))
    candidates = [
        [OPEN_POSITION if run[0] == 0 else position for run in runs]
        for position in sorted({first_finger_fret(run[0]) for run in runs})
    ]
    return min((_held(runs, positions) for positions in candidates), key=lambda layout: layout.cost)


def _search(scale: Scale, neck: Neck, position: int, frets: tuple[int, int]) -> Layout | None:
    """The easiest layout over a position that uses no fret outside ``frets``, both ends included."""
    lowest_fret, last_fret = frets
    real = [midi for _, midi in from_lowest(neck)]
    opens = [real[0] - _IMAGINED_STRING_SEMITONES, *real, real[-1] + _IMAGINED_STRING_SEMITONES]
    resting = first_finger_fret(position)
    under_hand = [
        midi
        for open_midi in opens
        for midi in range(open_midi + resting * lowest_fret, open_midi + resting + REACH_FRETS + 1)
        if scale.contains(midi)
    ]
    if not under_hand:
        return None
    notes = [midi for midi in range(min(under_hand), max(under_hand) + 1) if scale.contains(midi)]
    lowest = max(lowest_fret, resting - _REACH_BEYOND)
    highest = min(last_fret, resting + REACH_FRETS + _REACH_BEYOND)

    def run_on(string_index: int, run: Sequence[int]) -> tuple[int, ...] | None:
        frets = tuple(midi - opens[string_index] for midi in run)
        return frets if not frets or (lowest <= frets[0] and frets[-1] <= highest) else None

    runs = _dealt_out(notes, len(opens), run_on, position)
    if runs is None or not any(runs[1:-1]):
        return None
    return _held(runs[1:-1], [position] * len(real))


def _dealt_out(
    notes: Sequence[int],
    string_count: int,
    run_on: Callable[[int, Sequence[int]], tuple[int, ...] | None],
    position: int,
) -> tuple[tuple[int, ...], ...] | None:
    """Deal rising notes out to the strings, each a run of neighbours, at the least total cost.

    Dynamic programming over (strings used, notes dealt), so that the answer is exact. ``run_on`` gives
    the frets of a run on a string, or None where that string cannot take it.
    """
    best: dict[int, tuple[int, tuple[tuple[int, ...], ...]]] = {0: (0, ())}
    for string_index in range(string_count):
        longer: dict[int, tuple[int, tuple[tuple[int, ...], ...]]] = {}
        for dealt, (cost_so_far, runs) in best.items():
            for end in range(dealt, len(notes) + 1):
                frets = run_on(string_index, notes[dealt:end])
                if frets is None:
                    break  # a longer run holds the same note that this string cannot take
                cost = cost_so_far + run_cost(frets, position)
                if end not in longer or cost < longer[end][0]:
                    longer[end] = (cost, (*runs, frets))
        best = longer
    return best[len(notes)][1] if len(notes) in best else None


def run_cost(frets: tuple[int, ...], position: int) -> int:
    """What one string's run costs a hand in ``position``."""
    return hold(frets, position).cost if frets else _EMPTY_STRING_COST


def _held(runs: Sequence[tuple[int, ...]], positions: Sequence[int]) -> Layout:
    """Fingers for each string's run from that string's position."""
    holds = tuple(hold(run, position) for run, position in zip(runs, positions, strict=True))
    return Layout(tuple(runs), holds, sum(taken.cost for taken in holds))
