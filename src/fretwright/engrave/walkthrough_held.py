"""What the picking hand does over held chords, in words, and where in the bar it does it."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final, NamedTuple

from fretwright.engrave.walkthrough_words import listed, number, ordinal
from fretwright.fretboard.neck import Place
from fretwright.fretboard.voicing import Voicing
from fretwright.score.meter import Meter
from fretwright.score.note import Attack, Note
from fretwright.score.score import Bar, LabelKind, Score
from fretwright.score.techniques import PLAIN, Stroke

_PARTS: Final = {
    Fraction(1, 2): "on the and of {}",
    Fraction(1, 4): "a quarter after {}",
    Fraction(3, 4): "three quarters after {}",
    Fraction(1, 3): "a third after {}",
    Fraction(2, 3): "two thirds after {}",
}
"""Where in a beat something falls, as a share of the beat."""


class Act(NamedTuple):
    """One thing that the picking hand does; equal ones sound alike whatever chord is held."""

    at: Fraction
    """From the start of the bar, in whole notes."""
    words: str


def held_at(score: Score) -> tuple[tuple[Fraction, Voicing | None], ...]:
    """Each chord name with how it is held, in order of time."""
    return tuple((label.at, label.voicing) for label in score.labels if label.kind is LabelKind.CHORD)


def is_held(score: Score) -> bool:
    """Whether all that is played comes out of the chords that are held, so that naming them tells it all."""
    held = held_at(score)
    if not any(voicing for _, voicing in held) or not score.notes:
        return False
    return all(_comes_from(_voicing_at(held, note.onset), note) for note in score.notes)


def _comes_from(voicing: Voicing | None, note: Note) -> bool:
    ways = replace(note.techniques, dead=False, ghost=False, accent=False)
    bare = replace(ways, let_ring=False, palm_mute=False, roll=None)
    if bare != PLAIN or note.attack is not Attack.PLUCK or note.voice != 1:
        return False
    return note.place in voicing.places if voicing is not None else note.techniques.dead


def _voicing_at(held: Sequence[tuple[Fraction, Voicing | None]], at: Fraction) -> Voicing | None:
    nth = bisect_right(held, at, key=lambda pair: pair[0])
    return held[nth - 1][1] if nth else None


def acts_of(score: Score, bar: Bar, notes: Sequence[Note]) -> tuple[Act, ...]:
    """What is done in a bar, whose notes are given, in order of time."""
    held = held_at(score)
    together: dict[Fraction, list[Note]] = {}
    for note in notes:
        together.setdefault(note.onset, []).append(note)
    found = [Act(at - bar.start, _act(_voicing_at(held, at), group)) for at, group in together.items()]
    found += [
        Act(air.at - bar.start, f"{air.stroke.value} stroke in the air")
        for air in score.air_strokes
        if bar.start <= air.at < bar.end
    ]
    found += [Act(rest - bar.start, "silence") for rest in _silences(score, bar)]
    return tuple(sorted(found))


def _silences(score: Score, bar: Bar) -> Iterator[Fraction]:
    """Where silences begin that are not the rest of one."""
    until: Fraction | None = None
    for rest in score.rests:
        if bar.start <= rest.onset < bar.end and rest.onset != until:
            yield rest.onset
        until = rest.end


def _act(voicing: Voicing | None, notes: Sequence[Note]) -> str:
    first = notes[0]
    if first.picking_finger is not None:
        roll = f"rolled {first.techniques.roll.value}wards, " if first.techniques.roll is not None else ""
        return roll + listed([_pluck(voicing, note) for note in notes])
    way = f"{first.stroke.value} stroke" if first.stroke is not None else "stroke"
    if first.techniques.roll is not None:
        way = f"chord rolled {first.techniques.roll.value}wards"
    kind = [
        *(["accented"] if first.techniques.accent else []),
        *(["soft"] if first.techniques.ghost else []),
        *(["muted"] if first.techniques.dead else []),
        *(["palm-muted"] if first.techniques.palm_mute else []),
    ]
    where = _where(voicing, [note.place for note in notes], first.stroke)
    return " ".join([*kind, way, *([where] if where else [])])


def _where(voicing: Voicing | None, places: Sequence[Place], stroke: Stroke | None) -> str:
    """Which strings of the chord are struck; nothing where it is all of them."""
    if voicing is None or len(places) == len(voicing.places):
        return ""
    if len(places) == 1:
        return f"on {_string(voicing, places[0])}"
    which = "lowest" if stroke is Stroke.DOWN else "highest"
    return f"over its {which} {number(len(places))} strings"


def _pluck(voicing: Voicing | None, note: Note) -> str:
    finger = note.picking_finger.spoken if note.picking_finger else "finger"
    accent = ", accented" if note.techniques.accent else ""
    where = f"the {ordinal(note.string)} string" if voicing is None else _string(voicing, note.place)
    return f"{finger} on {where}{accent}"


def _string(voicing: Voicing, place: Place) -> str:
    """The string; the lowest that sounds is the bass string, so that other chords are told alike."""
    return "the bass string" if place == voicing.places[0] else f"the {ordinal(place.string)} string"


def place_words(at: Fraction, meter: Meter) -> str:
    """Where in a bar something falls: ``on two``, ``on the and of three``; compound time counts its units."""
    beat = Fraction(1, meter.unit) if meter.is_compound else meter.beat
    whole, part = divmod(at / beat, 1)
    count = number(int(whole) + 1)
    if not part:
        return f"on {count}"
    return _PARTS.get(part, "a little after {}").format(count)
