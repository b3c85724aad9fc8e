"""Scores that ask for every sign at once, made by chance: for the proof that nothing runs into anything."""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import Any, Final

from fretwright.engrave.style import PlateStyle
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS
from fretwright.fretboard.voicing import Voicing
from fretwright.fretboard.voicings import voicings
from fretwright.score.assemble import BarOfEvents, Event, Head, Heading, assemble
from fretwright.score.meter import COMMON_TIME, Meter
from fretwright.score.note import Attack, Finger
from fretwright.score.score import AirStroke, Label, LabelKind, Score, Writing
from fretwright.score.techniques import (
    USUAL_VIBRATO,
    WIDE_VIBRATO,
    Bend,
    BendPoint,
    Grace,
    Harmonic,
    HarmonicKind,
    PickingFinger,
    Roll,
    SlideEnd,
    Stroke,
    Techniques,
    Trill,
    bend_and_release,
    bend_up,
    pre_bend,
    pre_bend_and_release,
)
from fretwright.score.tempo import TempoMap
from fretwright.score.values import BASES, EIGHTH, SIXTEENTH, TRIPLET, Value
from fretwright.theory.chord import Chord
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch

_METERS: Final = (COMMON_TIME, COMMON_TIME, Meter(3, 4), Meter(6, 8), Meter(12, 8))
_KEYS: Final = ("C major", "G major", "E minor", "F# minor", "Bb minor", "D major", "Ab major")
_TUNINGS: Final = ("standard", "standard", "standard", "DADGAD", "7-string", "bass")
_CHORDS: Final = ("C", "Am7", "F", "Bm7b5", "G7")
_SYLLABLES: Final = ("slow-", "ly", "down", "the", "riv-", "er_", "and", "on")
_SLOWEST: Final = Fraction(1, 4)


@cache
def held_by(tuning: str) -> dict[str, Voicing]:
    """A way to hold each of the chords here."""
    neck = Neck(TUNINGS[tuning])
    return {name: found[-1] for name in _CHORDS if (found := voicings(Chord.parse(name), neck, count=3))}


@dataclass(slots=True)
class _Hands:
    """Hands that do anything that can be written, by chance."""

    dice: random.Random
    neck: Neck
    key: Key
    density: float
    """How often anything out of the ordinary is asked for."""
    two: bool
    """Whether there are two voices: no hand rakes through the other one."""

    def event(self, value: Value, strings: Sequence[int], before: Event | None) -> Event:
        """The next thing of a voice that plays on some of the strings."""
        if self.dice.random() < 0.1:
            return Event(value)
        count = self.dice.choice((1, 1, 1, 1, 2, 3, len(strings)))
        if before and before.heads and self.dice.random() < 0.12:
            return Event(
                value, tuple(replace(head, tied=True, techniques=Techniques()) for head in before.heads)
            )
        around = self.dice.randint(0, 14)
        chosen = sorted(self.dice.sample(list(strings), min(count, len(strings))), reverse=True)
        stroke = self.dice.choice((None, Stroke.DOWN, Stroke.UP))
        heads = [self._head(string, around, before, stroke) for string in chosen]
        if self.two or any(
            head.attack.is_slur or head.techniques.graces or head.techniques.shift_slide for head in heads
        ):
            # no hand sweeps over strings that ring on
            heads = [replace(head, techniques=replace(head.techniques, rake=None)) for head in heads]
        # a hand rolls what it plucks
        is_plucked = all(head.attack is Attack.PLUCK and not head.techniques.shift_slide for head in heads)
        if len(heads) > 1 and is_plucked and self.dice.random() < 0.4:
            roll = self.dice.choice(tuple(Roll))
            heads = [replace(head, techniques=replace(head.techniques, roll=roll)) for head in heads]
        return Event(value, tuple(heads))

    def _head(self, string: int, around: int, before: Event | None, stroke: Stroke | None) -> Head:
        place = Place(string, self.dice.randint(around, around + 4))
        left = next((head for head in before.heads if head.place.string == string), None) if before else None
        attack = Attack.PLUCK
        if left is not None and left.place.fret != place.fret and self.dice.random() < 0.6:
            rising = place.fret > left.place.fret
            attack = self.dice.choice((Attack.HAMMER_ON if rising else Attack.PULL_OFF, Attack.SLIDE))
        elif self.dice.random() < 0.05:
            attack = Attack.TAP
        ways = self._ways(place, attack) if self.dice.random() < self.density else Techniques()
        if attack is Attack.PLUCK and left is not None and self.dice.random() < 0.1:
            ways = replace(ways, shift_slide=True, graces=())
        if ways.harmonic is not None and ways.harmonic.kind is HarmonicKind.NATURAL:
            place = Place(string, ways.harmonic.touched)
        pitch = self._pitch(place)
        if ways.harmonic is not None:
            open_midi = self._pitch(Place(string, ways.harmonic.stopped)).midi
            above = {2: 12, 3: 19, 4: 24, 5: 28, 6: 31}[ways.harmonic.partial]
            pitch = self.key.spell(open_midi + above)
        return Head(
            place, pitch, attack,
            self.dice.choice((None, Finger.INDEX, Finger.LITTLE)),
            None if attack.is_slur else stroke,
            techniques=ways,
            picking_finger=self.dice.choice((None, None, *PickingFinger)) if not attack.is_slur else None,
        )  # fmt: skip

    def _pitch(self, place: Place) -> Pitch:
        return self.neck.pitch_at(place, self.key)

    def _ways(self, place: Place, attack: Attack) -> Techniques:
        chance = self.dice.random
        ways = Techniques(
            palm_mute=chance() < 0.3,
            let_ring=chance() < 0.2,
            staccato=chance() < 0.25,
            accent=chance() < 0.25,
            ghost=chance() < 0.15,
            vibrato=self.dice.choice((None, None, USUAL_VIBRATO, WIDE_VIBRATO)),
            swell=chance() < 0.1,
            tremolo=self.dice.choice((None, None, None, SIXTEENTH, Value(Fraction(1, 32)))),
        )
        special = self.dice.choice(
            ("bend", "bend", "harmonic", "dead", "trill", "in", "out", "grace", "graces", "rake", "")
        )
        return replace(ways, **self._special(special, place, attack))

    def _special(self, kind: str, place: Place, attack: Attack) -> dict[str, Any]:
        """The fields that one technique sets."""
        match kind:
            case "bend":
                return {"bend": self._bend(), "slide_out": self.dice.choice((None, None, SlideEnd.BELOW))}
            case "harmonic":
                return {"harmonic": self._harmonic(place)}
            case "trill":
                other = Place(place.string, place.fret + self.dice.randint(1, 3))
                return {"trill": Trill(other.fret, self._pitch(other), SIXTEENTH)}
            case "in" | "out":
                return {f"slide_{kind}": self.dice.choice(tuple(SlideEnd))}
            case "rake":
                return {"rake": self.dice.choice(tuple(Stroke))}
            case _:
                return self._small_or_dead(kind, place, attack)

    def _small_or_dead(self, kind: str, place: Place, attack: Attack) -> dict[str, Any]:
        if not kind.startswith("grace"):
            return {"dead": kind == "dead"}
        count = 1 if kind == "grace" else self.dice.randint(2, 3)
        return {"graces": tuple(self._grace(place, attack) for _ in range(count))}

    def _grace(self, place: Place, attack: Attack) -> Grace:
        at = Place(place.string, max(0, place.fret + self.dice.choice((-3, -2, -1, 1, 2))))
        is_slurred_on = self.dice.random() < 0.7 and not attack.is_slur
        finger = self.dice.choice((None, Finger.INDEX, Finger.RING)) if at.fret else Finger.OPEN
        return Grace(at, self._pitch(at), is_slurred_on, finger)

    def _bend(self) -> Bend:
        semitones = Fraction(self.dice.choice((1, 2, 2, 3, 4)), self.dice.choice((1, 1, 2)))
        own = Bend(
            tuple(
                BendPoint(Fraction(at, 6), Fraction(lift))
                for at, lift in ((0, 0), (1, 2), (2, 1), (3, 2), (4, 0), (6, 3))
            )
        )
        ways = (bend_up, bend_up, bend_and_release, pre_bend, pre_bend_and_release)
        return own if self.dice.random() < 0.1 else self.dice.choice(ways)(semitones)

    def _harmonic(self, place: Place) -> Harmonic:
        kind = self.dice.choice(tuple(HarmonicKind))
        if kind is HarmonicKind.NATURAL:
            return Harmonic(kind, self.dice.choice((12, 7, 5, 19, 4)))
        return Harmonic(kind, place.fret + self.dice.choice((12, 7, 5, 24)), place.fret)


def everything(seed: int) -> tuple[Score, PlateStyle]:
    """A score made by chance that asks for everything a score can ask for, and a style to set it in."""
    dice = random.Random(seed)
    neck = Neck(TUNINGS[dice.choice(_TUNINGS)], frets=36)
    key, meter = Key.parse(dice.choice(_KEYS)), dice.choice(_METERS)
    strings = list(neck.tuning.strings)
    two = dice.random() < 0.45
    hands = _Hands(dice, neck, key, dice.choice((0.2, 0.5, 0.9)), two)
    crossed = dice.random() < 0.3
    upper, lower = (strings[:-2], strings[-2:]) if two and not crossed else (strings[::2], strings[1::2])
    count = dice.randint(1, 6)
    rows = [
        list(_voice(hands, upper if two else strings, meter, count)),
        list(_voice(hands, lower, meter, count)) if two else [],
    ]
    bars = [
        BarOfEvents(
            tuple(rows[0][index]), meter, lower=tuple(rows[1][index]) if two and dice.random() < 0.8 else ()
        )
        for index in range(count)
    ]
    bars = _without_torn_ties(bars)
    length = meter.length * count
    labels = _labels(dice, neck, length, meter)
    air = [
        AirStroke(Fraction(at, 8), dice.choice(tuple(Stroke)))
        for at in range(int(length * 8))
        if dice.random() < 0.08
    ]
    heading = Heading(
        "all", f"All {seed}", neck, key, TempoMap.constant(80), labels=tuple(labels), air_strokes=tuple(air)
    )
    style = PlateStyle(
        width_mm=dice.choice((90.0, 130.0, 170.0, 170.0)),
        staff=dice.random() < 0.75,
        left_handed=dice.random() < 0.3,
    )
    return assemble(heading, bars), style


def _voice(hands: _Hands, strings: Sequence[int], meter: Meter, bars: int) -> Iterator[list[Event]]:
    before: Event | None = None
    for _ in range(bars):
        row: list[Event] = []
        at = Fraction(0)
        while at < meter.length:
            for value in _values(hands.dice, meter.length - at):
                before = hands.event(value, strings, before)
                row.append(before)
                at += value.duration
        yield row


def _values(dice: random.Random, room: Fraction) -> list[Value]:
    kind = dice.choice("qqeeesshwxd")
    if kind == "x" and room >= Fraction(1, 4):
        return [Value(Fraction(1, 8), 0, TRIPLET)] * 3
    if kind == "d" and room >= Fraction(3, 8):
        return [Value(Fraction(1, 4), 1)]
    if kind == "s":
        return [SIXTEENTH] * 2 if room >= Fraction(1, 8) else [Value(base) for base in BASES if base == room]
    base = {"w": Fraction(1), "h": Fraction(1, 2), "q": _SLOWEST}.get(kind, Fraction(1, 8))
    while base > room:
        base /= 2
    return [Value(base)] if base > Fraction(1, 16) or base == room else [EIGHTH]


def _without_torn_ties(bars: Sequence[BarOfEvents]) -> list[BarOfEvents]:
    """Ties and slurs that lost what they leave, because a bar's lower voice was left out, start anew."""
    kept: list[BarOfEvents] = []
    lower_before = True
    for bar in bars:
        row = bar.lower
        if row and not lower_before:
            row = (replace(row[0], heads=tuple(_anew(head) for head in row[0].heads)), *row[1:])
        kept.append(replace(bar, lower=row))
        lower_before = bool(bar.lower)
    return kept


def _anew(head: Head) -> Head:
    attack = Attack.PLUCK if head.attack.is_slur else head.attack
    return replace(head, tied=False, attack=attack)


def _labels(dice: random.Random, neck: Neck, length: Fraction, meter: Meter) -> list[Label]:
    labels: list[Label] = []
    if dice.random() < 0.6:
        step = dice.choice((meter.length, meter.length / 2))
        held = held_by(neck.tuning.name) if dice.random() < 0.7 else {}
        at = Fraction(0)
        while at < length:
            name = dice.choice(_CHORDS)
            labels.append(Label(at, name, LabelKind.CHORD, held.get(name)))
            at += step
    if dice.random() < 0.5:
        labels += [
            Label(Fraction(place, 4), dice.choice(_SYLLABLES), LabelKind.LYRIC)
            for place in range(int(length * 4))
            if dice.random() < 0.7
        ]
    if dice.random() < 0.3:
        labels.append(Label(Fraction(0), "let the last one ring", LabelKind.TEXT))
    return labels


def crowded(seed: int) -> tuple[Score, PlateStyle]:
    """The same score with all that stands around its notes as well.

    Three verses, chord names over diagrams, words in every other bar, repeats and endings.
    """
    score, style = everything(seed)
    dice = random.Random(seed)
    held = held_by(score.neck.tuning.name)
    labels = [label for label in score.labels if label.kind is not LabelKind.LYRIC]
    if not any(label.kind is LabelKind.CHORD for label in labels):
        names = [dice.choice(_CHORDS) for _ in score.bars]
        labels += [
            Label(bar.start, name, LabelKind.CHORD, held.get(name))
            for bar, name in zip(score.bars, names, strict=True)
        ]
    labels += [Label(bar.start, "with the next one", LabelKind.TEXT) for bar in score.bars[1::2]]
    labels += [
        Label(onset, dice.choice(_SYLLABLES), LabelKind.LYRIC, verse=verse)
        for onset in sorted({note.onset for note in score.notes})
        for verse in (1, 2, 3)
        if dice.random() < 0.7
    ]
    bars = list(score.bars)
    if len(bars) > 2:
        bars[0] = replace(bars[0], opens_repeat=True)
        bars[-2] = replace(bars[-2], closes_repeat=2, endings=(1,))
        bars[-1] = replace(bars[-1], endings=(2,))
    return replace(score, bars=tuple(bars), labels=tuple(labels)), style


def chart(seed: int) -> tuple[Score, PlateStyle]:
    """A chart by chance: rhythm slashes or bars without notes under chord names, repeats, endings, words."""
    score, style = everything(seed)
    dice = random.Random(seed)
    if dice.random() < 0.4:
        score = replace(score, notes=(), rests=())
    else:
        score = replace(
            score,
            notes=tuple(note for note in score.notes if note.voice == 1),
            rests=tuple(rest for rest in score.rests if rest.voice == 1),
        )
    bars = list(score.bars)
    if len(bars) > 2:
        bars[0] = replace(bars[0], opens_repeat=True)
        bars[-2] = replace(bars[-2], closes_repeat=2, endings=(1,))
        bars[-1] = replace(bars[-1], endings=(2,))
    return replace(score, bars=tuple(bars), writing=Writing.SLASHES), style
