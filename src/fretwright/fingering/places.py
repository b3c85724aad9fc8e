"""Strings and frets for notes that are given only as pitches.

The search is the same as for fingers, with every place of every pitch at once: what comes out is the
cheapest playing of all, strings, frets, positions and fingers together. Of equally easy places the trade
writes the lower, so each fret up the neck adds half a millimetre (common practice, no source).

A pitch is held for its whole duration: its finger stays down and its string is not used again. Where no
hand can do that, every note may be let go when the next one comes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from math import lcm
from typing import Final

from fretwright.base.errors import UnplayableError
from fretwright.fingering.cost import BROKEN_UM
from fretwright.fingering.events import Event, NewNote, urgency_permille
from fretwright.fingering.grips import Choices, choices_for
from fretwright.fingering.hand import MEDIUM, Hand
from fretwright.fingering.ruler import UM_PER_MM, Ruler, ruler_for
from fretwright.fingering.search import cheapest
from fretwright.fretboard.neck import Neck, Place
from fretwright.theory.key import Key

HEIGHT_UM_PER_FRET: Final = 500

_SPELLING: Final = Key(0)


@dataclass(frozen=True, slots=True)
class PitchedNote:
    """A note without a place."""

    onset: Fraction
    """Written time in whole notes."""
    duration: Fraction
    """Written length in whole notes."""
    midi: int
    """MIDI number of the sounding pitch."""

    @property
    def end(self) -> Fraction:
        """Written time at which it stops."""
        return self.onset + self.duration


def choose_places(
    pitches: Sequence[PitchedNote], neck: Neck, hand: Hand = MEDIUM, position: int | None = None
) -> tuple[Place, ...]:
    """The places that cost a hand least, one for each pitch, in the order given.

    ``position`` is the fret where the first finger starts, if that is known. Raises
    :class:`~fretwright.base.errors.UnplayableError` for a pitch that the neck does not have, and for notes
    that start together and that the strings or the hand cannot hold.
    """
    ruler = ruler_for(neck, hand)
    _require_on_neck(pitches, neck)
    for holding in (True, False):
        row = _row(ruler, _moments(pitches, holding=holding), position or 0)
        path = cheapest(ruler, row, position or 0, _keeps_what_is_held) if all(row) else None
        if path is not None and path.cost_um < BROKEN_UM:
            return _in_order_given(pitches, path.choices, neck)
    raise _unplayable(ruler, pitches)


@dataclass(frozen=True, slots=True)
class _Moment:
    """The pitches of one onset, as MIDI numbers."""

    new: tuple[int, ...]
    held: tuple[int, ...]
    urgency_permille: int
    is_rested: bool


def _moments(pitches: Sequence[PitchedNote], *, holding: bool) -> list[_Moment]:
    ticks = lcm(8, *(pitch.onset.denominator for pitch in pitches))
    moments: list[_Moment] = []
    sounding: list[PitchedNote] = []
    last_onset, last_end = Fraction(0), Fraction(0)
    for onset, group in groupby(sorted(pitches, key=_onset_and_pitch), key=lambda pitch: pitch.onset):
        new = list(group)
        sounding = [pitch for pitch in sounding if pitch.end > onset] if holding else []
        gap = int((onset - last_onset) * ticks)
        moments.append(
            _Moment(
                tuple(pitch.midi for pitch in new),
                tuple(pitch.midi for pitch in sounding),
                urgency_permille(gap, ticks) if moments else 1000,
                bool(moments) and last_end < onset,
            )
        )
        sounding += new
        last_onset, last_end = onset, max(last_end, *(pitch.end for pitch in new))
    return moments


def _onset_and_pitch(pitch: PitchedNote) -> tuple[Fraction, int]:
    return pitch.onset, pitch.midi


def _row(ruler: Ruler, moments: Sequence[_Moment], position: int) -> list[list[Choices]]:
    """For each moment, every set of places its pitches can have, with the grips of each set."""
    known: dict[tuple[Event, tuple[int, ...]], Choices] = {}
    positions = [position]
    row = []
    for moment in moments:
        found = []
        for places in _layouts(ruler, moment.new + moment.held):
            event = _event(moment, places)
            stands = () if event.needs_fingers else tuple(positions)
            choices = known.get((event, stands))
            if choices is None:
                choices = choices_for(ruler, event, positions)
                height = sum(note.place.fret for note in event.notes)
                choices = known[event, stands] = replace(choices, bias_um=height * HEIGHT_UM_PER_FRET)
            if not choices.dropped and not any(grip.faults for grip in choices.grips):
                found.append(choices)
        row.append(found)
        positions = sorted({grip.position for choices in found for grip in choices.grips})
    return row


def _layouts(
    ruler: Ruler, midis: Sequence[int], taken: tuple[Place, ...] = ()
) -> Iterator[tuple[Place, ...]]:
    """Every way to lay pitches on different strings no further apart than a hand reaches."""
    if len(taken) == len(midis):
        yield taken
        return
    for place in ruler.neck.places_of(midis[len(taken)]):
        if all(_fit(ruler, place, other) for other in taken):
            yield from _layouts(ruler, midis, (*taken, place))


def _fit(ruler: Ruler, place: Place, other: Place) -> bool:
    if place.string == other.string:
        return False
    if 0 in (place.fret, other.fret):
        return True
    return ruler.span_um(place.fret, other.fret) <= ruler.largest_um[1, 4]


def _event(moment: _Moment, places: Sequence[Place]) -> Event:
    new = sorted(places[: len(moment.new)], key=lambda place: -place.string)
    held = sorted(places[len(moment.new) :], key=lambda place: -place.string)
    return Event(
        notes=tuple(NewNote(place, takes_finger=place.fret > 0) for place in new),
        held=tuple(place for place in held if place.fret > 0),
        held_open=tuple(place.string for place in held if place.fret == 0),
        urgency_permille=moment.urgency_permille,
        is_rested=moment.is_rested,
    )


def _keeps_what_is_held(before: Choices, choices: Choices) -> bool:
    """Whether everything that ``choices`` holds was already sounding at the same place."""
    event, last = choices.event, before.event
    if not event.held and not event.held_open:
        return True
    sounding = {note.place for note in last.notes}.union(last.held, (Place(s, 0) for s in last.held_open))
    return sounding.issuperset((*event.held, *(Place(string, 0) for string in event.held_open)))


def _in_order_given(pitches: Sequence[PitchedNote], row: Sequence[Choices], neck: Neck) -> tuple[Place, ...]:
    """The new places of each moment, handed to the pitches they belong to."""
    order = sorted(range(len(pitches)), key=lambda i: _onset_and_pitch(pitches[i]))
    # Of one moment, places in order of pitch are in the order that the pitches were sorted in.
    places = [
        place
        for choices in row
        for place in sorted((note.place for note in choices.event.notes), key=neck.midi_at)
    ]
    chosen = dict(zip(order, places, strict=True))
    return tuple(chosen[i] for i in range(len(pitches)))


def _require_on_neck(pitches: Sequence[PitchedNote], neck: Neck) -> None:
    for pitch in pitches:
        if not neck.places_of(pitch.midi):
            opens = [neck.midi_at(Place(string, 0)) for string in neck.tuning.strings]
            lowest, highest = _SPELLING.spell(min(opens)), _SPELLING.spell(max(opens) + neck.last_fret)
            message = f"{_SPELLING.spell(pitch.midi)} is not on this neck."
            raise UnplayableError(message, f"It has the notes from {lowest} to {highest}.")


def _unplayable(ruler: Ruler, pitches: Sequence[PitchedNote]) -> UnplayableError:
    """What to say of the first notes that no hand can hold together."""
    for moment in _moments(pitches, holding=False):
        if not all(_row(ruler, [moment], 0)):
            names = ", ".join(str(_SPELLING.spell(midi)) for midi in moment.new)
            reach_mm = ruler.largest_um[1, 4] / UM_PER_MM
            return UnplayableError(
                f"No {ruler.hand.name} hand can hold {names} together; it spans {reach_mm:.0f} mm.",
                "Leave a note out, or move one by an octave.",
            )
    return UnplayableError("These notes cannot be played one after the other.", "Leave some of them out.")
