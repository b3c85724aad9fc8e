"""Charts for tests of everything that plays or draws chord names."""

from collections.abc import Sequence
from fractions import Fraction

from fretwright.fretboard.neck import Neck
from fretwright.score.assemble import BarOfEvents, Event, Heading, assemble
from fretwright.score.meter import COMMON_TIME, Meter
from fretwright.score.score import Label, LabelKind, Score
from fretwright.score.tempo import TempoMap
from fretwright.theory.key import Key

_C_MAJOR = Key(0)
TWELVE_BARS = ("A7", "D7", "A7", "A7", "D7", "D7", "A7", "A7", "E7", "D7", "A7", "A7 E7")
"""A twelve-bar blues in A with its quick change (common practice, no source)."""


def chart(
    bars: Sequence[str], bpm: float = 120.0, meter: Meter = COMMON_TIME, key: Key = _C_MAJOR, repeats: int = 0
) -> Score:
    """A score without notes: each bar's chord names divide it evenly, a dot keeps what is there."""
    labels = tuple(
        Label(index * meter.length + meter.length * Fraction(nth, len(names)), name, LabelKind.CHORD)
        for index, names in enumerate(bar.split() for bar in bars)
        for nth, name in enumerate(names)
        if name != "."
    )
    rests = tuple(Event(value) for value in meter.spell(Fraction(0), meter.length))
    written = [
        BarOfEvents(
            rests,
            meter,
            opens_repeat=bool(repeats) and index == 0,
            closes_repeat=repeats if index == len(bars) - 1 else 0,
        )
        for index in range(len(bars))
    ]
    heading = Heading("chart", "Chart", Neck(), key, TempoMap.constant(bpm, meter.beat), labels=labels)
    return assemble(heading, written)
