"""The notes of a rule in time: which of them are slurred, and the bars they fill."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import cycle, pairwise

from fretwright.base.spans import Span
from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.rhythm import Beat, Row
from fretwright.course.way import Way
from fretwright.fretboard.shapes import ShapeNote
from fretwright.score.assemble import BarOfEvents, Event, Head, into_bars
from fretwright.score.meter import Meter
from fretwright.score.note import Attack
from fretwright.score.values import Value, value_of


def attacks_of(
    way: Way, notes: Sequence[ShapeNote], entry: Entry | None, notebook: Notebook
) -> tuple[Attack, ...]:
    """How each note starts: the first on a string is plucked, the next ones there are slurred as named.

    Where the way plucks every second note, or every third, these are plucked wherever they lie.
    """
    slurs = way.slurs
    attacks = [Attack.PLUCK]
    for nth, (before, note) in enumerate(pairwise(notes), start=1):
        rise = note.place.fret - before.place.fret
        named = Attack.HAMMER_ON if rise > 0 else Attack.PULL_OFF
        slur = named if named in slurs else Attack.SLIDE if Attack.SLIDE in slurs else Attack.PLUCK
        stays = note.place.string == before.place.string and rise != 0
        is_slurred = stays and not (way.pluck_every and nth % way.pluck_every == 0)
        attacks.append(slur if is_slurred else Attack.PLUCK)
    if slurs and entry is not None and not any(attack.is_slur for attack in attacks):
        message = f"{quoted(entry.text)} slurs no note of this exercise."
        mend = "A hammer-on needs a path up and a pull-off a path down, with two notes on one string."
        notebook.error("slur-without-effect", entry.span, message, mend)
    return tuple(attacks)


def bars_of_rule(
    heads: Sequence[Head], late: Sequence[Beat], row: Row, meter: Meter, pickup: Fraction, source: Span
) -> tuple[BarOfEvents, ...]:
    """The rests of ``late``, and the notes in the rhythm of ``row`` over and over.

    The last note is held as :func:`_held` says.
    Raises :class:`~fretwright.base.errors.ScoreError` where a tuplet does not fit into the bars.
    """
    events = [Event(value, (), source) for beat in late for value in beat.values]
    at = sum((event.value.duration for event in events), Fraction(0))
    beats = _rests_and_notes(row, len(heads))
    for nth, (head, beat) in enumerate(_with_heads(beats, heads)):
        is_last = nth == len(beats) - 1
        values = _held(beat.values, at, meter, pickup) if is_last else beat.values
        events.extend(_events(values, () if head is None else (head,), source))
        at += _length(values)
    return into_bars(events, meter, pickup)


def _rests_and_notes(row: Row, count: int) -> list[Beat]:
    """The row repeated until it has so many notes; it ends on the last of them."""
    beats: list[Beat] = []
    for beat in cycle(row.beats):
        if not count:
            break
        beats.append(beat)
        count -= not beat.is_rest
    return beats


def _with_heads(beats: Sequence[Beat], heads: Sequence[Head]) -> Iterator[tuple[Head | None, Beat]]:
    """Each beat with its note; after a rest the string no longer sounds, and has to be plucked."""
    waiting = iter(heads)
    was_rest = False
    for beat in beats:
        head = None if beat.is_rest else next(waiting)
        yield (replace(head, attack=Attack.PLUCK) if head is not None and was_rest else head), beat
        was_rest = beat.is_rest


def _events(values: Sequence[Value], heads: tuple[Head, ...], source: Span) -> Iterator[Event]:
    for nth, value in enumerate(values):
        yield Event(value, tuple(replace(head, tied=True) for head in heads) if nth else heads, source)


def _length(values: Sequence[Value]) -> Fraction:
    return sum((value.duration for value in values), Fraction(0))


def _held(values: Sequence[Value], start: Fraction, meter: Meter, pickup: Fraction) -> tuple[Value, ...]:
    """The values of the last note, held as far towards the end of its bar as one sign can say.

    What one sign cannot say is left to rests: a tie only to fill up the bar would be read for nothing.
    """
    place = (start - pickup) % meter.length
    room = meter.length - place
    if len(values) > 1 or values[0].duration >= room:
        return tuple(values)
    if values[0].tuplet is not None:
        return (_held_in_group(values[0], place, meter),)
    to_the_end = value_of(room)
    is_plain_to_read = len(meter.spell(place, room)) == 1 or place % meter.beat == 0
    return (to_the_end,) if to_the_end is not None and is_plain_to_read else tuple(values)


def _held_in_group(value: Value, place: Fraction, meter: Meter) -> Value:
    """A note of a triplet held to the end of its group; on the first of a group, to the end of the bar."""
    group = 2 * value.base
    nth_of_group = (place % group) / value.duration
    if nth_of_group == 0:
        return value_of(meter.length - place) or Value(group)
    return Value(group, 0, value.tuplet) if nth_of_group == 1 else value
