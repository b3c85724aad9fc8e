"""Beams, since few readers join eighths by themselves: notes under a beat, as far as no rest parts them."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby

from fretwright.exchange.pieces import Piece, Voice
from fretwright.score.score import Bar


def beams(bar: Bar, voice: Voice) -> tuple[tuple[str, ...], ...]:
    """For each piece of a voice the value of each of its beams (``beam-value``), the first one first."""
    # A pickup is counted from its end, like the last part of a full bar.
    origin = bar.end - bar.meter.length if bar.number == 0 else bar.start
    found: list[tuple[str, ...]] = []
    for _, group in groupby(voice, key=lambda piece: _window(piece, origin, bar.meter.beat)):
        pieces = list(group)
        flags = [piece.value.flags if piece.heads else 0 for piece in pieces]
        found.extend(
            tuple(_beam(flags, index, level) for level in range(1, flags[index] + 1))
            if flags[index] and (_flags_at(flags, index - 1) or _flags_at(flags, index + 1))
            else ()
            for index in range(len(pieces))
        )
    return tuple(found)


def _window(piece: Piece, origin: Fraction, beat: Fraction) -> tuple[bool, int]:
    """The stretch of the bar inside which a piece is beamed; rests and long notes stand apart."""
    return bool(piece.heads) and piece.value.flags > 0, (piece.start - origin) // max(beat, Fraction(1, 4))


def _beam(flags: Sequence[int], index: int, level: int) -> str:
    before, after = _flags_at(flags, index - 1) >= level, _flags_at(flags, index + 1) >= level
    if before and after:
        return "continue"
    if before or after:
        return "end" if before else "begin"
    return "backward hook" if _flags_at(flags, index - 1) else "forward hook"


def _flags_at(flags: Sequence[int], index: int) -> int:
    return flags[index] if 0 <= index < len(flags) else 0
