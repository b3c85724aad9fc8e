"""Scores with every technique and with two voices, made by chance; import them from ``strategies``."""

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.meter import Meter
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.techniques import (
    USUAL_VIBRATO,
    WIDE_VIBRATO,
    Bend,
    BendPoint,
    Finger,
    Grace,
    Harmonic,
    HarmonicKind,
    PickingFinger,
    Roll,
    SlideEnd,
    Stroke,
    Techniques,
    Trill,
    Vibrato,
    bend_and_release,
    bend_up,
    pre_bend,
    pre_bend_and_release,
)
from fretwright.score.tempo import TempoMap
from fretwright.score.values import Value
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch
from fretwright.theory.scale import Scale


def bends() -> st.SearchStrategy[Bend]:
    """The usual bends, and curves of a teacher's own."""
    rises = st.integers(1, 8).map(lambda halves: Fraction(halves, 2))
    own = st.lists(st.tuples(st.integers(0, 12), st.integers(0, 8)), min_size=1, max_size=5)
    return st.one_of(
        st.builds(bend_up, rises),
        st.builds(bend_and_release, rises),
        st.builds(pre_bend, rises),
        st.builds(pre_bend_and_release, rises),
        own.map(_own_bend)
        .filter(lambda bend: bend is not None)
        .map(lambda bend: bend or pre_bend(Fraction(1))),
    )


def _own_bend(corners: list[tuple[int, int]]) -> Bend | None:
    points = [
        BendPoint(Fraction(at, 12), Fraction(height, 2)) for at, height in sorted(dict(corners).items())
    ]
    return Bend(tuple(points)) if any(point.semitones for point in points) else None


@st.composite
def technique_scores(draw: st.DrawFn, *, voices: int | None = None, most_bars: int = 3) -> Score:
    """Scores with every technique, in one voice or two (the lower one on the strings from 4 on).

    All that is asked for fits together: no bend of an open string, no slur after a rest, one stroke for what
    starts together in a voice, no stroke where nothing is picked. Whether a hand can reach it is not asked.
    """
    neck = Neck(
        tuning=draw(st.sampled_from([TUNINGS["standard"], TUNINGS["drop D"], TUNINGS["DADGAD"]])),
        frets=draw(st.integers(20, 24)),
        capo=draw(st.integers(0, 3)),
    )
    scale = draw(st.sampled_from([Scale.parse("A minor pentatonic"), Scale.parse("Eb major"), None]))
    key = Key.of_scale(scale) if scale else draw(st.sampled_from([Key(0), Key(-3, minor=True), Key(4)]))
    meter = draw(st.sampled_from([Meter(4, 4), Meter(3, 4), Meter(6, 8)]))
    length = meter.length * draw(st.integers(1, most_bars))
    count = voices or draw(st.sampled_from([1, 1, 2]))
    spelling = scale or key
    vibratos = draw(
        st.sampled_from([(USUAL_VIBRATO, WIDE_VIBRATO), (Vibrato(4.5, 30.0), Vibrato(6.0, 120.0))])
    )
    players = [_Player(neck, spelling, vibratos, strings) for strings in _STRINGS_OF_VOICES[count]]
    bars = [into_bars(draw(_voice(player, length)), meter) for player in players]
    if count == 2:
        pairs = zip(*bars, strict=True)
        bars[0] = tuple(replace(upper, lower=lower.events) for upper, lower in pairs)
    heading = Heading("a", "A", neck, key, TempoMap.constant(80, meter.beat), scale=scale)
    score = assemble(heading, bars[0])
    assume(score.notes)
    return score


_STRINGS_OF_VOICES = {1: [range(1, 7)], 2: [range(1, 4), range(4, 7)]}
_VALUES = [Value(Fraction(1, 2**n), dots) for n in range(1, 5) for dots in (0, 1)]


@dataclass(frozen=True)
class _Player:
    neck: Neck
    spelling: Key | Scale
    vibratos: tuple[Vibrato, Vibrato]
    strings: range

    def pitch(self, place: Place) -> Pitch:
        return self.neck.pitch_at(place, self.spelling)


@st.composite
def _voice(draw: st.DrawFn, player: _Player, length: Fraction) -> list[Event]:
    """Events of one voice, as long as asked."""
    events: list[Event] = []
    before: dict[int, int] = {}
    left = length
    while left:
        fitting = [value for value in _VALUES if value.duration <= left]
        if not fitting:
            events.append(Event(next(value for value in _SMALL if value.duration <= left)))
            left -= events[-1].value.duration
            continue
        value = draw(st.sampled_from(fitting))
        kind = draw(st.sampled_from(["note", "note", "note", "slur", "chord", "rest"]))
        heads = () if kind == "rest" else draw(_heads(player, before, kind))
        events.append(Event(value, heads))
        before = {head.place.string: head.place.fret for head in heads if not head.techniques.slide_out}
        left -= value.duration
    return events


_SMALL = [Value(Fraction(1, 2**n)) for n in range(7)]


@st.composite
def _heads(draw: st.DrawFn, player: _Player, before: dict[int, int], kind: str) -> tuple[Head, ...]:
    """What starts together, picked by one stroke or by fingers."""
    strings = list(before) if kind == "slur" and before else list(player.strings)
    most = 3 if kind == "chord" else 1
    chosen = draw(st.lists(st.sampled_from(strings), min_size=1, max_size=most, unique=True))
    stroke = draw(st.sampled_from([None, Stroke.DOWN, Stroke.UP]))
    is_slur = kind == "slur" and bool(before)
    heads = [
        draw(_technique_head(player, string, before.get(string) if is_slur else None)) for string in chosen
    ]
    is_plucked = all(head.attack is Attack.PLUCK and not head.techniques.shift_slide for head in heads)
    if not is_plucked or len(player.strings) < player.neck.tuning.string_count:
        # no hand sweeps over strings that ring on
        heads = [replace(head, techniques=replace(head.techniques, rake=None)) for head in heads]
    roll = draw(st.sampled_from([None, None, *Roll])) if len(heads) > 1 and is_plucked else None
    heads = [replace(head, techniques=replace(head.techniques, roll=roll)) for head in heads]
    return tuple(
        replace(head, stroke=None if head.attack is not Attack.PLUCK else stroke)
        for head in sorted(heads, key=lambda head: -head.place.string)
    )


@st.composite
def _technique_head(draw: st.DrawFn, player: _Player, string: int, before: int | None) -> Head:
    fret = draw(st.integers(0, player.neck.last_fret))
    attack, shifts = Attack.PLUCK, False
    if before is not None and before != fret:
        way = Attack.HAMMER_ON if fret > before else Attack.PULL_OFF
        attack = draw(st.sampled_from([way, Attack.SLIDE, Attack.PLUCK]))
        shifts = attack is Attack.PLUCK
    elif fret > 0:
        attack = draw(st.sampled_from([Attack.PLUCK, Attack.PLUCK, Attack.TAP]))
    is_free = attack is Attack.PLUCK and not shifts
    techniques = draw(_held(player, string, fret) if fret else st.just(Techniques()))
    if is_free:
        harmonic = draw(st.none() | st.none() | _harmonics(player.neck))
        if harmonic is not None:
            techniques, fret = Techniques(harmonic=harmonic), harmonic.fret
        elif draw(st.booleans()):
            graces, attack = draw(_graces(player, Place(string, fret)))
            techniques = replace(techniques, graces=graces)
        elif techniques == Techniques():
            techniques = replace(techniques, dead=draw(st.booleans()))
        elif fret and techniques.bend is None:
            ends = st.sampled_from([None, SlideEnd.BELOW, SlideEnd.ABOVE])
            techniques = replace(techniques, slide_in=draw(ends))
    techniques = replace(techniques, shift_slide=shifts, **draw(_flags(is_free and not techniques.graces)))
    is_picked = attack is not Attack.TAP and not attack.is_slur
    if is_picked and techniques.trill is None and not techniques.dead:
        techniques = replace(techniques, tremolo=draw(st.sampled_from([None, None, Value(Fraction(1, 32))])))
    picking = draw(st.sampled_from([None, None, *PickingFinger])) if is_picked else None
    pitch = player.pitch(Place(string, fret))
    if techniques.harmonic is not None:
        stopped = Place(string, techniques.harmonic.stopped)
        pitch = player.spelling.spell(player.neck.midi_at(stopped) + techniques.harmonic.rise)
    return Head(Place(string, fret), pitch, attack, techniques=techniques, picking_finger=picking)


@st.composite
def _held(draw: st.DrawFn, player: _Player, string: int, fret: int) -> Techniques:
    """What the fretting hand does with a stopped note."""
    chosen = draw(st.sets(st.sampled_from(["bend", "vibrato", "trill", "slide out"]), max_size=2))
    trill = None
    if "trill" in chosen and "bend" not in chosen and fret < player.neck.last_fret:
        other = draw(st.integers(fret + 1, min(fret + 4, player.neck.last_fret)))
        value = draw(st.sampled_from([Value(Fraction(1, 16)), Value(Fraction(1, 32))]))
        trill = Trill(other, player.pitch(Place(string, other)), value)
    return Techniques(
        bend=draw(bends()) if "bend" in chosen else None,
        vibrato=draw(st.sampled_from(player.vibratos)) if "vibrato" in chosen else None,
        trill=trill,
        slide_out=draw(st.sampled_from(list(SlideEnd))) if "slide out" in chosen else None,
    )


@st.composite
def _harmonics(draw: st.DrawFn, neck: Neck) -> Harmonic:
    kind = draw(st.sampled_from(list(HarmonicKind)))
    above = draw(st.sampled_from([12, 7, 5, 19, 24, 4, 9, 16]))
    if kind is HarmonicKind.NATURAL:
        return Harmonic(kind, above if above <= neck.last_fret else 12)
    stopped = draw(st.integers(1, 12))
    return Harmonic(kind, stopped + above, stopped)


@st.composite
def _graces(draw: st.DrawFn, player: _Player, main: Place) -> tuple[tuple[Grace, ...], Attack]:
    """One or two small notes before a note, and how the note itself then starts."""
    graces: list[Grace] = []
    after, attack = main, Attack.PLUCK
    for _ in range(draw(st.integers(1, 2))):
        is_slurred_on = draw(st.booleans())
        string = after.string if is_slurred_on else draw(st.sampled_from(list(player.strings)))
        frets = [
            fret
            for fret in range(max(0, after.fret - 4), after.fret + 5)
            if player.neck.holds(Place(string, fret))
        ]
        fret = draw(st.sampled_from([fret for fret in frets if not is_slurred_on or fret != after.fret]))
        place = Place(string, fret)
        fingers = [None, *([Finger.OPEN] if fret == 0 else list(Finger)[1:])]
        graces.insert(0, Grace(place, player.pitch(place), is_slurred_on, draw(st.sampled_from(fingers))))
        if after == main and len(graces) == 1 and is_slurred_on:
            way = Attack.HAMMER_ON if main.fret > fret else Attack.PULL_OFF
            attack = draw(st.sampled_from([way, Attack.SLIDE]))
        after = place
    return tuple(graces), attack


def _flags(is_free: bool) -> st.SearchStrategy[dict[str, Any]]:
    """Some of what is on or off."""
    names = ["palm_mute", "let_ring", "ghost", "staccato", "accent", "swell"]
    flags = st.sets(st.sampled_from(names), max_size=2).map(lambda chosen: dict.fromkeys(chosen, True))
    if not is_free:
        return flags
    rakes = st.sampled_from([None, None, None, Stroke.DOWN, Stroke.UP])
    return st.builds(lambda chosen, rake: {**chosen, "rake": rake}, flags, rakes)
