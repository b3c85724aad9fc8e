"""The chord player: three voices that move as little as they can from chord to chord.

The whole way through the chords is one shortest path: every chord has its close and open positions inside
the register, and what is counted is how far the voices move together, how far the middle strays from the
middle of the register, and muddy thirds down low.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise, permutations, product
from typing import Final

from fretwright.sound.band.bass_line import stretches_of
from fretwright.sound.band.changes import PlayedChanges
from fretwright.sound.band.dice import Dice
from fretwright.sound.band.feels import Feel, Stab, swung
from fretwright.theory.chord import Chord
from fretwright.theory.interval import Interval

LOWEST_MIDI: Final = 52
HIGHEST_MIDI: Final = 76
_MIDDLE_MIDI: Final = 63
_OCTAVE: Final = 12
_FIFTH: Final = 7
_VOICES: Final = 3
_WIDEST: Final = 16
_MUDDY_BELOW: Final = 57

Voices = tuple[int, ...]
"""MIDI numbers from the lowest up."""


@dataclass(frozen=True, slots=True)
class CompedChord:
    """One chord as it is struck."""

    time_s: float
    duration_s: float
    voices: Voices
    level: float


def comping_part(
    bars: Sequence[PlayedChanges], feel: Feel, seed: int, *, ends: bool
) -> tuple[CompedChord, ...]:  # fmt: skip
    """What the chord player plays, in order of time; with ``ends`` the last bar is one long chord."""
    dice = Dice(seed, "chords")
    stretches = stretches_of(bars)
    voicings = lead([stretch.chord for stretch in stretches])
    struck: list[CompedChord] = []
    for bar in bars:
        here = [(each, voices) for each, voices in zip(stretches, voicings, strict=True) if each.bar is bar]
        if not here:
            continue
        if ends and bar is bars[-1]:
            struck.append(CompedChord(bar.start_s, float(bar.beats) * bar.beat_s, here[0][1], 0.75))
            continue
        for stab in _pattern(bar, feel, dice):
            voices = next(
                (voices for each, voices in here if each.beat <= stab.beat < each.beat + each.beats), None
            )
            if voices is not None:
                struck.append(_struck(bar, stab, voices, feel, dice))
    return tuple(sorted(struck, key=lambda chord: chord.time_s))


def _pattern(bar: PlayedChanges, feel: Feel, dice: Dice) -> Iterator[Stab]:
    """A bar of the feel, made as long as this bar; every chord that changes is struck at least once."""
    chosen = dice.pick(feel.comping)
    stabs = [stab for stab in chosen if stab.beat < bar.beats]
    for change in bar.changes[1:]:
        if not any(change.beat <= stab.beat < change.beat + change.beats for stab in stabs):
            stabs.append(Stab(change.beat, min(Fraction(1), change.beats)))
    stabs.sort(key=lambda stab: stab.beat)
    limits = [stab.beat for stab in stabs[1:]] + [bar.beats]
    for stab, limit in zip(stabs, limits, strict=True):
        yield Stab(stab.beat, min(stab.beats, limit - stab.beat), stab.level)


def _struck(bar: PlayedChanges, stab: Stab, voices: Voices, feel: Feel, dice: Dice) -> CompedChord:
    start, end = (swung(feel, beat) for beat in (stab.beat, stab.beat + stab.beats))
    time_s = max(0.0, bar.time_s(start) + dice.about(0.0, feel.loose_ms / 1000))
    long_s = max(0.06, bar.time_s(end) - bar.time_s(start) - 0.02)
    return CompedChord(time_s, long_s, voices, dice.about(stab.level, 0.08))


# ---------------------------------------------------------------------------------------------------------
# Voice leading


def lead(chords: Sequence[Chord]) -> list[Voices]:
    """Voices for each chord so that the whole way costs least (dynamic programming, exact)."""
    if not chords:
        return []
    positions = [positions_of(chord) for chord in chords]
    costs = [[_place_cost(voices) for voices in positions[0]]]
    came_from: list[list[int]] = [[-1] * len(positions[0])]
    for before, here in pairwise(positions):
        row, back = [], []
        for voices in here:
            ways = [cost + movement(left, voices) for cost, left in zip(costs[-1], before, strict=True)]
            best = min(range(len(ways)), key=ways.__getitem__)
            row.append(ways[best] + _place_cost(voices))
            back.append(best)
        costs.append(row)
        came_from.append(back)
    last = min(range(len(costs[-1])), key=costs[-1].__getitem__)
    path = [last]
    for back in reversed(came_from[1:]):
        path.append(back[path[-1]])
    return [options[index] for options, index in zip(positions, reversed(path), strict=True)]


def movement(left: Voices, right: Voices) -> float:
    """Semitones that the voices move together, each to the nearest free one of the next chord."""
    if len(left) == len(right):
        return float(sum(abs(a - b) for a, b in zip(left, right, strict=True)))
    fewer, more = sorted((left, right), key=len)
    return float(
        min(
            sum(abs(a - b) for a, b in zip(fewer, chosen, strict=True))
            for chosen in permutations(more, len(fewer))
        )
    )


def positions_of(chord: Chord) -> tuple[Voices, ...]:
    """Every way to lay the chord's telling tones into the register."""
    tones = telling_tones(chord)
    laid: set[Voices] = set()
    registers = [
        [midi for midi in range(LOWEST_MIDI, HIGHEST_MIDI + 1) if (midi - tone) % _OCTAVE == 0]
        for tone in tones
    ]
    for combination in product(*registers):
        voices = tuple(sorted(combination))
        if voices[-1] - voices[0] <= _WIDEST:
            laid.add(voices)
    return tuple(sorted(laid))


def telling_tones(chord: Chord) -> tuple[int, ...]:
    """The three pitch classes that tell the chord apart, or fewer; the bass player has the root.

    Third (or what is suspended in its place) and seventh (or sixth) come first, then what the symbol
    alters or adds, then the fifth, and the root only where nothing else is left.
    """
    by_rank = sorted(chord.degrees, key=_rank)
    root = chord.root.pitch_class
    classes = dict.fromkeys((root + degree.semitones) % _OCTAVE for degree in by_rank)
    return tuple(classes)[:_VOICES]


def _rank(degree: Interval) -> tuple[int, int]:
    steps = degree.steps
    if 1 <= steps <= 3:
        return (0, steps)
    if steps in {5, 6}:
        return (1, -steps)
    if steps >= 7 or (steps == 4 and degree.semitones != _FIFTH):
        return (2, -steps)
    return (3, steps) if steps == 4 else (4, steps)


def _place_cost(voices: Voices) -> float:
    middle = sum(voices) / len(voices)
    muddy = sum(1 for low, high in pairwise(voices) if low < _MUDDY_BELOW and high - low < 5)
    return 0.15 * abs(middle - _MIDDLE_MIDI) + 1.5 * muddy
