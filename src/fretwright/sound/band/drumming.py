"""The drummer: a pattern for every bar, a fill at the end of every fourth, and an ending."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from fretwright.sound.band.changes import PlayedChanges
from fretwright.sound.band.dice import Dice
from fretwright.sound.band.feels import Feel, Piece, Stroke, swung

_PATTERN_BEATS: Final = 4
_PHRASE_BARS: Final = 4
_FILL_SHARE: Final = 0.75
_FILLS: Final = (
    (Piece.SNARE, Piece.SNARE, Piece.HIGH_TOM, Piece.LOW_TOM),
    (Piece.SNARE, Piece.HIGH_TOM, Piece.HIGH_TOM, Piece.LOW_TOM),
    (Piece.HIGH_TOM, Piece.SNARE, Piece.LOW_TOM, Piece.SNARE),
)


@dataclass(frozen=True, slots=True)
class Hit:
    """One sounding stroke."""

    time_s: float
    piece: Piece
    level: float


def drum_part(bars: Sequence[PlayedChanges], feel: Feel, seed: int, *, ends: bool) -> tuple[Hit, ...]:
    """What the drummer plays, in order of time; with ``ends`` the last bar is a last stroke and silence."""
    dice = Dice(seed, "drums")
    hits: list[Hit] = []
    for index, bar in enumerate(bars):
        if ends and index == len(bars) - 1:
            hits += [Hit(bar.time_s(Fraction(0)), piece, level) for piece, level in _LAST]
            continue
        fills = index % _PHRASE_BARS == _PHRASE_BARS - 1 and bar.beats > 1 and dice.happens(_FILL_SHARE)
        strokes = list(_bar(bar, feel, dice, fills=fills))
        if index and index % _PHRASE_BARS == 0 and dice.happens(0.5):
            strokes.append(Stroke(Fraction(0), Piece.CRASH, 0.45))
        hits += [_loose(bar, stroke, feel, dice) for stroke in strokes]
    return tuple(sorted(hits, key=lambda hit: hit.time_s))


_LAST: Final = ((Piece.KICK, 0.9), (Piece.CRASH, 0.7), (Piece.SNARE, 0.4))


def _bar(bar: PlayedChanges, feel: Feel, dice: Dice, *, fills: bool) -> Iterator[Stroke]:
    """The pattern on the beats that the bar has. A pickup has the last beats of a bar."""
    full = bar.bar.meter.beats
    offset = Fraction(full) - bar.beats if bar.bar.number == 0 else Fraction(0)
    fill_from = bar.beats - 1 if fills else bar.beats
    for stroke in feel.drums:
        for beat in _beats(stroke.beat, full):
            here = beat - offset
            if 0 <= here < fill_from and dice.happens(stroke.share):
                yield Stroke(swung(feel, here), stroke.piece, stroke.level)
    if fills:
        yield from _fill(fill_from, feel, dice)


def _beats(beat: Fraction, full: int) -> Iterator[Fraction]:
    """Where a stroke of a bar of four beats falls in a bar of ``full``.

    A waltz has its backbeats on 2 and 3, a longer bar starts the pattern anew.
    """
    if full == _PATTERN_BEATS - 1 and 1 <= beat < 2:
        yield from (beat, beat + 1)
    elif full < _PATTERN_BEATS:
        yield from (beat,) if beat < min(full, 2) else ()
    else:
        while beat < full:
            yield beat
            beat += _PATTERN_BEATS


def _fill(start: Fraction, feel: Feel, dice: Dice) -> Iterator[Stroke]:
    pieces = dice.pick(_FILLS)
    parts = 3 if feel.swing != Fraction(1, 2) else 4
    for index, piece in enumerate(pieces[:parts]):
        yield Stroke(start + Fraction(index, parts), piece, 0.5 + 0.08 * index)
    yield Stroke(start, Piece.KICK, 0.6)


def _loose(bar: PlayedChanges, stroke: Stroke, feel: Feel, dice: Dice) -> Hit:
    time_s = bar.time_s(stroke.beat) + dice.about(0.0, feel.loose_ms / 1000)
    return Hit(max(0.0, time_s), stroke.piece, dice.about(stroke.level, 0.08 * stroke.level))
