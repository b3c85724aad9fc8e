"""What the picking hand does to held chords: a pattern and voicings enter, hits leave.

A hit is everything that starts at one moment. Which strings it takes follows the chord that is held:

* a stroke passes over all sounding strings, or over as many as it says from the one it meets first;
* the bass is the lowest string that sounds the chord's bass note; the string that alternates with it is one
  of the next two that no finger needs, that of the fifth before others (common practice, no source);
* ring, middle and index finger have the three highest strings, the thumb the bass.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook
from fretwright.course.pattern import Action, Bass, Pattern, Pluck, Silence, Strike
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.voicing import Voicing
from fretwright.score.assemble import BarOfEvents, Head
from fretwright.score.meter import Meter
from fretwright.score.note import Finger
from fretwright.score.score import AirStroke, Label, Writing
from fretwright.score.techniques import PickingFinger, Stroke, Techniques

_TOP: Final = {PickingFinger.RING: 0, PickingFinger.MIDDLE: 1, PickingFinger.INDEX: 2}
"""Which of the three highest strings a finger has."""
_FINGER_STRINGS: Final = 3
_FIFTHS: Final = frozenset({6, 7, 8})
"""Semitones above the root that a flat, perfect or sharp fifth sounds."""


@dataclass(frozen=True, slots=True)
class Held:
    """A chord from some moment on."""

    at: Fraction
    """Written time from the start of the score, in whole notes."""
    voicing: Voicing | None
    """None where nothing is held."""
    span: Span


@dataclass(frozen=True, slots=True)
class Hit:
    """Everything that starts at one moment."""

    at: Fraction
    heads: tuple[Head, ...]
    """Empty for a silence."""
    unit: Fraction
    """Length of a place of the grid that it stands on."""
    source: Span

    @property
    def rings(self) -> bool:
        """Whether it sounds on until something else is struck."""
        return any(not head.techniques.dead for head in self.heads)


@dataclass(frozen=True, slots=True)
class BarPlace:
    """Where a bar starts and how long it is."""

    start: Fraction
    length: Fraction


@dataclass(frozen=True, slots=True)
class Strummed:
    """What came of chords and a pattern."""

    bars: tuple[BarOfEvents, ...]
    labels: tuple[Label, ...]
    air_strokes: tuple[AirStroke, ...]
    writing: Writing


class Hand:
    """The picking hand on its way through a chart; hits and strokes in the air are gathered on it."""

    def __init__(
        self,
        neck: Neck,
        held: Sequence[Held],
        notebook: Notebook,
        *,
        alternates: bool,
        silent: Collection[int] = (),
    ) -> None:
        self.hits: list[Hit] = []
        self.air_strokes: list[AirStroke] = []
        self._neck = neck
        self._held = held
        self._notebook = notebook
        self._alternates = alternates
        self._silent = frozenset(silent)
        """Bars, counted from 0, in which nothing is struck."""
        self._now = 0
        self._basses = 0
        """How often the bass was struck since the chord began."""
        self._struck: set[int] = set()
        self.is_refused = False
        """Whether something could not be played, with a finding."""
        self._told: set[tuple[str, str]] = set()

    def play(self, pattern: Pattern, bars: Sequence[BarPlace], meter: Meter) -> None:
        """Go through the bars; of a shorter one the end of the pattern's bar is played."""
        for nth, bar in enumerate(bars):
            if nth in self._silent:
                self._rest(bar)
                continue
            played = pattern.bar(nth)
            missing = meter.length - bar.length if nth == 0 else Fraction(0)
            for step in played.steps:
                if missing <= step.at < missing + bar.length:
                    self._act(bar.start + step.at - missing, step.action, played.unit, step.span)

    def _rest(self, bar: BarPlace) -> None:
        """A bar of silence; its chords are not missed."""
        for nth, chord in enumerate(self._held):
            if bar.start <= chord.at < bar.start + bar.length:
                self._struck.add(nth)
        self.hits.append(Hit(bar.start, (), bar.length, self._held[0].span))

    def strike_each_chord(self, unit: Fraction) -> None:
        """One down-stroke where each chord begins."""
        for chord in self._held:
            action: Action = Strike(stroke=Stroke.DOWN) if chord.voicing else Silence.REST
            self._act(chord.at, action, unit, chord.span)

    @property
    def unstruck(self) -> tuple[Held, ...]:
        """Chords that come and go without being struck."""
        return tuple(
            chord
            for nth, chord in enumerate(self._held)
            if nth not in self._struck and chord.voicing is not None
        )

    def _act(self, at: Fraction, action: Action, unit: Fraction, span: Span) -> None:
        chord = self._chord_at(at)
        if isinstance(action, Strike) and action.is_in_air:
            self.air_strokes.append(AirStroke(at, action.stroke))
            return
        heads: tuple[Head, ...] = ()
        if isinstance(action, Strike):
            heads = tuple(self._struck_heads(action, chord))
        elif isinstance(action, tuple):
            heads = tuple(self._plucked_heads(action, chord, span))
        if heads:
            self._struck.add(self._now)
        self.hits.append(Hit(at, heads, unit, span))

    def _chord_at(self, at: Fraction) -> Held:
        while self._now + 1 < len(self._held) and self._held[self._now + 1].at <= at:
            self._now += 1
            self._basses = 0
        return self._held[self._now]

    def _struck_heads(self, strike: Strike, chord: Held) -> Iterator[Head]:
        voicing = chord.voicing
        if voicing is None:
            places = self._open_places() if strike.is_muted else ()
        elif strike.bass is not None:
            places = (self._bass(voicing, strike.bass),)
        else:
            places = voicing.places
        if strike.most is not None:
            places = places[: strike.most] if strike.stroke is Stroke.DOWN else places[-strike.most :]
        techniques = Techniques(dead=strike.is_muted, ghost=strike.is_soft, accent=strike.is_accented)
        for place in places:
            yield self._head(place, chord, techniques, stroke=strike.stroke)

    def _plucked_heads(self, plucks: Sequence[Pluck], chord: Held, span: Span) -> Iterator[Head]:
        if chord.voicing is None:
            return
        taken: set[int] = set()
        for pluck in plucks:
            place = self._place_of(pluck, chord.voicing)
            if place is None or place.string in taken:
                self._say_no_string(pluck, chord.voicing, span)
                continue
            taken.add(place.string)
            techniques = Techniques(accent=pluck.is_accented)
            yield self._head(place, chord, techniques, finger=pluck.finger)

    def _place_of(self, pluck: Pluck, voicing: Voicing) -> Place | None:
        if pluck.string is not None:
            return next((place for place in voicing.places if place.string == pluck.string), None)
        if pluck.finger is PickingFinger.THUMB:
            return self._bass(voicing, Bass.ROOT)
        return pluck_place(pluck.finger, voicing)

    def _bass(self, voicing: Voicing, bass: Bass) -> Place:
        """The bass string that is meant; with an alternating bass every second one is the other."""
        if self._alternates and bass is Bass.ROOT:
            bass = Bass.OTHER if self._basses % 2 else Bass.ROOT
            self._basses += 1
        return bass_places(voicing)[bass is Bass.OTHER]

    def _open_places(self) -> tuple[Place, ...]:
        return tuple(Place(string, 0) for string in reversed(self._neck.tuning.strings))

    def _head(
        self,
        place: Place,
        chord: Held,
        techniques: Techniques,
        *,
        stroke: Stroke | None = None,
        finger: PickingFinger | None = None,
    ) -> Head:
        voicing = chord.voicing
        pitch = voicing.chord.spell(self._neck.midi_at(place)) if voicing else self._neck.pitch_at(place)
        return Head(
            place=place,
            pitch=pitch,
            finger=Finger(voicing.fingers[place.string - 1]) if voicing else Finger.OPEN,
            stroke=stroke,
            source=chord.span,
            techniques=techniques,
            picking_finger=finger,
        )

    def _say_no_string(self, pluck: Pluck, voicing: Voicing, span: Span) -> None:
        """Once for each chord and finger: it has no string of its own."""
        told = (str(voicing.chord), pluck.finger.value)
        if told in self._told:
            return
        self._told.add(told)
        self.is_refused = True
        where = f"string {pluck.string} is silent" if pluck.string else "no string is left for it"
        finger, held = pluck.finger.spoken, f"{voicing.chord} ({voicing.text})"
        message = f"The {finger} finds nothing to pluck in {held}: {where}."
        mend = "Name another string behind the finger, such as i4, or choose a voicing with more strings."
        self._notebook.error("picking-without-string", span, message, mend)


def pluck_place(finger: PickingFinger, voicing: Voicing) -> Place | None:
    """What a finger of the picking hand plucks of a chord where nothing else is said."""
    if finger is PickingFinger.THUMB:
        return bass_places(voicing)[0]
    top = voicing.places[::-1][:_FINGER_STRINGS]
    nth = _TOP[finger]
    return top[nth] if nth < len(top) else None


def bass_places(voicing: Voicing) -> tuple[Place, Place]:
    """The bass of a voicing and the place that alternates with it; the same twice where there is one."""
    places = voicing.places
    bass = voicing.chord.bass.pitch_class
    root = next((place for place in places if voicing.neck.midi_at(place) % 12 == bass), places[0])
    above = [place for place in places if place.string < root.string]
    free = [place for place in above if place not in places[-_FINGER_STRINGS:]][:2] or above[:1]
    if not free:
        return root, root
    tonic = voicing.chord.root.pitch_class
    fifths = [place for place in free if (voicing.neck.midi_at(place) - tonic) % 12 in _FIFTHS]
    return root, (fifths or free)[0]
