"""Feels: what drums, bass and chords do with a bar, in the words of the trade.

Patterns are written on straight eighths and sixteenths of a bar of four beats; a feel with swing moves
what lies between two beats. In bars of another length each player keeps to the beats that are there.
What is typical of each feel is common practice, no source.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from fretwright.base.errors import UsageError

Beats = Fraction
"""A place in a bar, or a length, in beats."""


class Piece(StrEnum):
    """A piece of the drum kit."""

    KICK = "kick"
    SNARE = "snare"
    RIM = "rim"
    """The stick across the drum, struck on the hoop."""
    CLOSED_HAT = "closed hat"
    OPEN_HAT = "open hat"
    FOOT_HAT = "foot hat"
    RIDE = "ride"
    CRASH = "crash"
    LOW_TOM = "low tom"
    HIGH_TOM = "high tom"
    STICKS = "sticks"


@dataclass(frozen=True, slots=True)
class Stroke:
    """One stroke of a pattern."""

    beat: Beats
    piece: Piece
    level: float
    share: float = 1.0
    """In which share of bars it is played; the others leave it out."""


@dataclass(frozen=True, slots=True)
class Stab:
    """One chord of a comping pattern."""

    beat: Beats
    beats: Beats
    """How long it sounds."""
    level: float = 0.8


class BassWay(StrEnum):
    """How the bass goes through the chords."""

    EIGHTHS = "eighths on the root"
    WALK = "a new note on every beat"
    BOSSA = "root, and the fifth a half beat ahead of the next"
    LONG = "long roots with a step into the next chord"
    FUNK = "syncopated sixteenths between root and octave"
    SLOW_WALK = "a new note on every beat, some reached by a quick one before"


@dataclass(frozen=True, slots=True)
class Feel:
    """How a band plays."""

    name: str
    swing: Fraction
    """Where the second half of a beat falls: 1/2 straight, 2/3 as in a triplet."""
    drums: tuple[Stroke, ...]
    bass: BassWay
    comping: tuple[tuple[Stab, ...], ...]
    """Bars to choose from."""
    loose_ms: float = 4.0
    """How far strokes lie from the beat at most."""


def _row(text: str, piece: Piece, level: float, step: Fraction, share: float = 1.0) -> tuple[Stroke, ...]:
    """A row of strokes: x plain, X accented, o soft, ? played in some of the bars, . nothing."""
    loud = {"x": level, "X": min(1.0, 1.3 * level), "o": 0.45 * level, "?": 0.6 * level}
    return tuple(
        Stroke(index * step, piece, loud[sign], 0.35 if sign == "?" else share)
        for index, sign in enumerate(text.replace(" ", ""))
        if sign in loud
    )


_EIGHTH: Final = Fraction(1, 2)
_SIXTEENTH: Final = Fraction(1, 4)
_THIRD: Final = Fraction(1, 3)


def _stabs(*places: tuple[str, str], level: float = 0.8) -> tuple[Stab, ...]:
    return tuple(Stab(Fraction(at), Fraction(long), level) for at, long in places)


_STRAIGHT: Final = Feel(
    name="straight",
    swing=Fraction(1, 2),
    drums=(
        *_row("x. .. x? ..", Piece.KICK, 0.9, _EIGHTH),
        *_row(".. x. .. x.", Piece.SNARE, 0.8, _EIGHTH),
        *_row("xo xo xo xo", Piece.CLOSED_HAT, 0.45, _EIGHTH),
    ),
    bass=BassWay.EIGHTHS,
    comping=(
        _stabs(("0", "3/2"), ("3/2", "1/2"), ("2", "2")),
        _stabs(("0", "1"), ("3/2", "1"), ("5/2", "3/2")),
        _stabs(("0", "2"), ("2", "1"), ("7/2", "1/2")),
    ),
)
_SHUFFLE: Final = Feel(
    name="shuffle",
    swing=Fraction(2, 3),
    drums=(
        *_row("x. x. x. x?", Piece.KICK, 0.75, _EIGHTH),
        *_row(".. X. .. X.", Piece.SNARE, 0.8, _EIGHTH),
        *_row(".. .. .o .o", Piece.SNARE, 0.35, _EIGHTH, share=0.4),
        *_row("xo xo xo xo", Piece.RIDE, 0.5, _EIGHTH),
        *_row(".. x. .. x.", Piece.FOOT_HAT, 0.4, _EIGHTH),
    ),
    bass=BassWay.WALK,
    comping=(
        _stabs(("1", "1/3"), ("5/2", "1/3")),
        _stabs(("0", "1"), ("3/2", "1/3")),
        _stabs(("1/2", "1/3"), ("2", "1"), ("7/2", "1/3")),
    ),
)
_SLOW_BLUES: Final = Feel(
    name="slow blues",
    swing=Fraction(2, 3),
    drums=(
        *_row("x.. ..? x.. ..?", Piece.KICK, 0.85, _THIRD),
        *_row("... x.. ... x..", Piece.SNARE, 0.75, _THIRD),
        *_row("xoo xoo xoo xoo", Piece.CLOSED_HAT, 0.45, _THIRD),
    ),
    bass=BassWay.SLOW_WALK,
    comping=(
        _stabs(("0", "2"), ("2", "5/3"), ("11/3", "1/3")),
        _stabs(("0", "1"), ("4/3", "1/3"), ("5/3", "1/3"), ("2", "2")),
        _stabs(("1/3", "1/3"), ("2/3", "1/3"), ("1", "1"), ("7/3", "1/3"), ("8/3", "1/3"), ("3", "1")),
    ),
    loose_ms=6.0,
)
_BOSSA: Final = Feel(
    name="bossa",
    swing=Fraction(1, 2),
    drums=(
        *_row("x. .x x. .x", Piece.KICK, 0.6, _EIGHTH),
        *_row("x. .x .. x.", Piece.RIM, 0.6, _EIGHTH, share=1.0),
        *_row("xx xx xx xx", Piece.CLOSED_HAT, 0.3, _EIGHTH),
    ),
    bass=BassWay.BOSSA,
    comping=(
        _stabs(("0", "1/2"), ("1", "1/2"), ("5/2", "1"), level=0.7),
        _stabs(("1/2", "1/2"), ("3/2", "1/2"), ("3", "1/2"), level=0.7),
        _stabs(("0", "1/2"), ("3/2", "1"), ("7/2", "1/2"), level=0.7),
    ),
)
_BALLAD: Final = Feel(
    name="ballad",
    swing=Fraction(1, 2),
    drums=(
        *_row("x. .. .? ..", Piece.KICK, 0.6, _EIGHTH),
        *_row(".. .. x. ..", Piece.RIM, 0.55, _EIGHTH),
        *_row("xo xo xo xo", Piece.CLOSED_HAT, 0.25, _EIGHTH),
    ),
    bass=BassWay.LONG,
    comping=(_stabs(("0", "4"), level=0.7), _stabs(("0", "2"), ("2", "2"), level=0.7)),
    loose_ms=6.0,
)
_FUNK: Final = Feel(
    name="funk",
    swing=Fraction(1, 2),
    drums=(
        *_row("X... ..?. ..x. .x..", Piece.KICK, 0.9, _SIXTEENTH),
        *_row(".... X... .... X...", Piece.SNARE, 0.85, _SIXTEENTH),
        *_row("...o ...o .o.. ...o", Piece.SNARE, 0.3, _SIXTEENTH, share=0.6),
        *_row("xoxo xoxo xoxo xo.o", Piece.CLOSED_HAT, 0.42, _SIXTEENTH),
        *_row(".... .... .... ..x.", Piece.OPEN_HAT, 0.4, _SIXTEENTH, share=0.5),
    ),
    bass=BassWay.FUNK,
    comping=(
        _stabs(("3/4", "1/4"), ("3/2", "1/4"), ("11/4", "1/4")),
        _stabs(("0", "1/4"), ("1/2", "1/4"), ("7/4", "1/4"), ("5/2", "1/2")),
        _stabs(("1/4", "1/4"), ("3/2", "1/4"), ("7/4", "1/4"), ("13/4", "1/4")),
    ),
    loose_ms=3.0,
)

FEELS: Final = MappingProxyType(
    {feel.name: feel for feel in (_STRAIGHT, _SHUFFLE, _SLOW_BLUES, _BOSSA, _BALLAD, _FUNK)}
)
"""Every feel by its name."""


def feel_named(name: str) -> Feel:
    """The feel of that name. Raises :class:`~fretwright.base.errors.UsageError` if there is none."""
    found = FEELS.get(" ".join(name.lower().split()))
    if found is None:
        raise UsageError(f'"{name}" is no feel that the band knows.', f"Use one of: {', '.join(FEELS)}.")
    return found


def swung(feel: Feel, beat: Beats) -> Beats:
    """Where a place that is written straight is played; thirds of a beat are left alone."""
    whole, part = divmod(beat, 1)
    if feel.swing == _EIGHTH or part.denominator % 3 == 0:
        return beat
    late = feel.swing / _EIGHTH * part if part <= _EIGHTH else 1 - (1 - feel.swing) / _EIGHTH * (1 - part)
    return whole + late
