"""Scores with rhythm for tests of the plate, written as words.

A word is a value (``w h q e s t``, a dot or two after it, ``x`` for a note of a triplet) and a place as in
:mod:`scores`: ``e6/5`` is an eighth on string 6 at fret 5, ``e6/8h`` a hammer-on, ``qr`` a quarter rest,
``h~4/5`` a half note tied from the one before, ``q5/3+4/2`` two notes at one time.
"""

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from fretwright.base.errors import ScoreError
from fretwright.engrave.style import PlateStyle
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.meter import COMMON_TIME, Meter
from fretwright.score.note import Attack, Finger
from fretwright.score.score import Label, LabelKind, Score
from fretwright.score.techniques import Stroke, Techniques
from fretwright.score.tempo import TempoMap
from fretwright.score.values import BASES, TRIPLET, Value
from fretwright.theory.key import Key
from scores import head

_LETTERS = "whqest"
_ROOMY = Neck(frets=24)


def written(
    text: str,
    *,
    key: str = "C major",
    meter: Meter = COMMON_TIME,
    pickup: Fraction = Fraction(0),
    neck: Neck = _ROOMY,
    labels: Sequence[Label] = (),
    bars: Mapping[int, Mapping[str, Any]] | None = None,
    strokes: bool = False,
) -> Score:
    """A score from words; ``bars`` sets repeat signs and endings by the bar's index."""
    signature = Key.parse(key)
    events = [_event(word, neck, signature) for word in text.split()]
    if strokes:
        events = _with_strokes(events)
    cut = list(into_bars(events, meter, pickup))
    for index, fields in (bars or {}).items():
        cut[index] = replace(cut[index], **fields)
    heading = Heading(
        "line", "Line", neck, signature, TempoMap.constant(80, meter.beat), labels=tuple(labels)
    )
    return assemble(heading, cut)


def asked(score: Score, **ways: Techniques) -> Score:
    """The score with techniques for some of its notes, by their id with ``_`` for ``-``."""
    notes = tuple(
        replace(note, techniques=ways.get(note.id.replace("-", "_"), note.techniques)) for note in score.notes
    )
    return score.with_notes(notes)


def in_two_voices(upper: str, lower: str, *, key: str = "C major", labels: Sequence[Label] = ()) -> Score:
    """Bars of two voices, each written as words; both are as long."""
    signature = Key.parse(key)
    rows = [into_bars([_event(word, _ROOMY, signature) for word in text.split()]) for text in (upper, lower)]
    bars = [replace(high, lower=low.events) for high, low in zip(*rows, strict=True)]
    heading = Heading("two", "Two", _ROOMY, signature, TempoMap.constant(80), labels=tuple(labels))
    return assemble(heading, bars)


def chord_name(at: Fraction, text: str) -> Label:
    """A chord name over a moment."""
    return Label(at, text, LabelKind.CHORD)


def words(at: Fraction, text: str) -> Label:
    """A teacher's words over a moment."""
    return Label(at, text, LabelKind.TEXT)


def _event(word: str, neck: Neck, key: Key) -> Event:
    base, rest = BASES[_LETTERS.index(word[0])], word[1:]
    dots = len(rest) - len(rest.lstrip("."))
    rest = rest[dots:]
    tuplet = TRIPLET if rest.startswith("x") else None
    rest = rest.removeprefix("x")
    value = Value(base, dots, tuplet)
    if rest == "r":
        return Event(value)
    tied = rest.startswith("~")
    heads = [head(one, neck) for one in rest.removeprefix("~").split("+")]
    return Event(
        value,
        tuple(replace(each, pitch=neck.pitch_at(each.place, key), tied=tied) for each in heads),
    )


def _with_strokes(events: Sequence[Event]) -> list[Event]:
    """Down and up in turn on whatever is plucked."""
    stroked: list[Event] = []
    turn = 0
    for event in events:
        plucked = bool(event.heads) and not event.heads[0].attack.is_slur and not event.heads[0].tied
        stroke = (Stroke.DOWN, Stroke.UP)[turn % 2] if plucked else None
        turn += plucked
        stroked.append(replace(event, heads=tuple(replace(each, stroke=stroke) for each in event.heads)))
    return stroked


_METERS = (*[COMMON_TIME] * 3, *(Meter(*pair) for pair in ((3, 4), (6, 8), (2, 4), (5, 4), (7, 8))))
_KEYS = (
    "C major", "G major", "E minor", "A minor", "F# minor", "Bb minor", "C# major", "Cb major", "D major",
    "F minor",
)  # fmt: skip
_CHORDS = ("A7", "F♯m7♭5", "Gmaj7", "C")


@dataclass(slots=True)
class _Wanderer:
    """A hand that wanders over the neck by chance."""

    dice: random.Random
    neck: Neck
    key: Key
    place: Place
    before: Place | None = None

    def event(self, value: Value) -> Event:
        """The next note, rest, slur or chord."""
        if self.dice.random() < 0.08:
            self.before = None
            return Event(value)
        string = min(6, max(1, self.place.string + self.dice.choice((-1, 0, 0, 0, 1))))
        fret = min(22, max(0, self.place.fret + self.dice.choice((-5, -3, -2, -1, 1, 2, 3, 4, 7))))
        self.place = Place(string, fret)
        attack = self._attack()
        stroke = None if attack.is_slur else self.dice.choice(tuple(Stroke))
        heads = [self._head(self.place, attack, stroke)]
        if self.dice.random() < 0.1:
            others = self.dice.sample(
                [other for other in range(1, 7) if other != string], self.dice.randint(1, 3)
            )
            heads += [
                self._head(Place(other, self.dice.randint(max(0, fret - 3), fret + 2))) for other in others
            ]
        self.before = self.place
        return Event(value, tuple(heads))

    def _attack(self) -> Attack:
        before = self.before
        slurs = before is not None and before.string == self.place.string and before.fret != self.place.fret
        if before is None or not slurs or self.dice.random() > 0.7:
            return Attack.PLUCK
        rising = self.place.fret > before.fret
        return self.dice.choice([Attack.HAMMER_ON if rising else Attack.PULL_OFF] * 3 + [Attack.SLIDE])

    def _head(self, place: Place, attack: Attack = Attack.PLUCK, stroke: Stroke | None = None) -> Head:
        finger = self.dice.choice((None, Finger.INDEX, Finger.LITTLE))
        return Head(place, self.neck.pitch_at(place, self.key), attack, finger, stroke)


def wandering(seed: int) -> tuple[Score, PlateStyle]:
    """A score made by chance, and a style to set it in: every seed gives the same one.

    Scales and leaps over the whole neck, slurs, slides, chords, triplets, dotted pairs, thirty-seconds,
    notes tied over bar lines, rests, eight meters, ten keys, chord names, words, repeats, narrow plates.
    """
    dice = random.Random(seed)
    meter, key = dice.choice(_METERS), Key.parse(dice.choice(_KEYS))
    hand = _Wanderer(dice, _ROOMY, key, Place(dice.randint(1, 6), dice.randint(0, 12)))
    length, at = meter.length * dice.randint(1, 9), Fraction(0)
    events: list[Event] = []
    while at < length:
        for value in _next_values(dice, meter, at):
            events.append(hand.event(value))
            at += value.duration
    bars = list(into_bars(events, meter))
    if dice.random() < 0.3 and len(bars) > 2:
        bars[0] = replace(bars[0], opens_repeat=True)
        bars[1] = replace(bars[1], closes_repeat=2, endings=(1,))
        bars[2] = replace(bars[2], endings=(2,))
    heading = Heading(
        "chance", f"Chance {seed}", _ROOMY, key, TempoMap.constant(80),
        labels=tuple(_labels(dice, meter, len(bars))),
    )  # fmt: skip
    style = PlateStyle(width_mm=dice.choice((90.0, 110.0, 170.0, 170.0)), staff=dice.random() < 0.75)
    return assemble(heading, bars), style


def _next_values(dice: random.Random, meter: Meter, at: Fraction) -> list[Value]:
    room = meter.length - at % meter.length
    kind = dice.choice("qeeeesshdxtw")
    on_beat = (at * 4).denominator == 1
    if kind == "x" and room >= Fraction(1, 4) and on_beat:
        return [Value(Fraction(1, 8), 0, TRIPLET)] * 3
    if kind == "d" and room >= Fraction(1, 4) and on_beat:
        return [Value(Fraction(1, 8), 1), Value(Fraction(1, 16))]
    if kind in "st":
        base = Fraction(1, 16) if kind == "s" else Fraction(1, 32)
        if room >= 2 * base:
            return [Value(base)] * 2
    base = {"q": Fraction(1, 4), "h": Fraction(1, 2), "w": Fraction(1)}.get(kind, Fraction(1, 8))
    while base > room and dice.random() < 0.7:
        base /= 2
    try:
        meter.spell(at % meter.length, min(base, room))
    except ScoreError:
        base = Fraction(1, room.denominator)
    return [Value(base)]


def _labels(dice: random.Random, meter: Meter, bars: int) -> list[Label]:
    labels: list[Label] = []
    if dice.random() < 0.5:
        steps = dice.choice((1, 1, 2, 3))
        moments = (index * meter.length / steps for index in range(bars * steps))
        labels = [chord_name(at, dice.choice(_CHORDS)) for at in moments]
    if dice.random() < 0.3:
        labels.append(words(dice.randrange(bars) * meter.length, "keep the fingers down and let it ring"))
    return labels
