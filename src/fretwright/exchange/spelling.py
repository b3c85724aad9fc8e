"""Lengths of time as written values, tuplets included."""

from fractions import Fraction
from typing import Final

from fretwright.base.errors import ScoreError
from fretwright.exchange.pieces import is_binary
from fretwright.score.meter import Meter
from fretwright.score.values import BASES, WHOLE, Tuplet, Value, value_of

_LONGEST: Final = Fraction(3, 2)
"""A dotted whole note."""
_TUPLETS: Final = (Tuplet(3, 2), Tuplet(5, 4), Tuplet(7, 4), Tuplet(9, 8))


def spell(meter: Meter, offset: Fraction, duration: Fraction) -> tuple[Value, ...]:
    """Write a length that starts ``offset`` into a full bar as values tied together.

    Plain lengths are written as the meter writes them; what lies in a tuplet is cut at the beats.
    Raises :class:`~fretwright.base.errors.ScoreError` if no chain of values has that length.
    """
    if duration > _LONGEST:
        # Longer than any one sign: whole notes first.
        return (WHOLE, *spell(meter, offset + 1, duration - 1))
    if is_binary(offset) and is_binary(duration):
        return meter.spell(offset, duration)
    beat = (offset // meter.beat + 1) * meter.beat
    if beat < offset + duration:
        return spell(meter, offset, beat - offset) + spell(meter, beat, offset + duration - beat)
    for tuplet in _TUPLETS:
        grid = tuplet.actual
        if is_binary(offset * grid) and is_binary(duration * grid):
            return _in_tuplet(tuplet, duration)
    message = f"a length of {duration} of a whole note, {offset} into its bar, cannot be written"
    raise ScoreError(message)


def _in_tuplet(tuplet: Tuplet, duration: Fraction) -> tuple[Value, ...]:
    plain = value_of(duration / tuplet.ratio)
    if plain is not None:
        return (Value(plain.base, plain.dots, tuplet),)
    for base in BASES:
        value = Value(base, 0, tuplet)
        if value.duration < duration:
            return (value, *_in_tuplet(tuplet, duration - value.duration))
    message = f"a length of {duration} of a whole note cannot be written"
    raise ScoreError(message)
