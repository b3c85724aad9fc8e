"""From a stream of written events to a score: bar lines, ties, ids.

The course reader and every import build their scores here, so that ids, ties and bar lengths follow one
rule. Two steps::

    into_bars(events, meter, pickup)   a flat stream -> bars, notes tied over the bar lines
    assemble(heading, bars)            bars -> Score, each note with its id
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from fretwright.base.errors import ScoreError
from fretwright.base.spans import Span
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.instruments import Instrument
from fretwright.score.meter import COMMON_TIME, Meter
from fretwright.score.note import Attack, Finger, Note, Rest
from fretwright.score.score import AirStroke, Bar, Label, Score, Writing
from fretwright.score.swing import STRAIGHT, Swing
from fretwright.score.techniques import PLAIN, PickingFinger, Stroke, Techniques
from fretwright.score.tempo import TempoMap
from fretwright.score.values import Value
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch
from fretwright.theory.scale import Scale


@dataclass(frozen=True, slots=True)
class Head:
    """One string's part of an event."""

    place: Place
    pitch: Pitch
    attack: Attack = Attack.PLUCK
    finger: Finger | None = None
    """Given where the teacher fixed it."""
    stroke: Stroke | None = None
    tied: bool = False
    """Whether it goes on sounding from the event before, with no attack of its own."""
    source: Span | None = None
    techniques: Techniques = PLAIN
    picking_finger: PickingFinger | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """What starts at one moment: notes on different strings, or a rest where ``heads`` is empty."""

    value: Value
    heads: tuple[Head, ...] = ()
    source: Span | None = None


@dataclass(frozen=True, slots=True)
class BarOfEvents:
    """One bar as the reader or an import saw it."""

    events: tuple[Event, ...]
    meter: Meter = COMMON_TIME
    is_pickup: bool = False
    opens_repeat: bool = False
    closes_repeat: int = 0
    endings: tuple[int, ...] = ()
    lower: tuple[Event, ...] = ()
    """The lower voice, as long as ``events``; empty where there is one voice."""

    @property
    def length(self) -> Fraction:
        """Sum of the written values in whole notes."""
        return sum((event.value.duration for event in self.events), Fraction(0))


@dataclass(frozen=True, slots=True)
class Heading:
    """What a score says once, before its first bar."""

    name: str
    title: str
    neck: Neck
    key: Key
    tempo: TempoMap
    swing: Swing = STRAIGHT
    labels: tuple[Label, ...] = ()
    scale: Scale | None = None
    position: int | None = None
    air_strokes: tuple[AirStroke, ...] = ()
    writing: Writing = Writing.NOTES
    instrument: Instrument = Instrument.ACOUSTIC_STEEL


def into_bars(
    events: Iterable[Event], meter: Meter = COMMON_TIME, pickup: Fraction = Fraction(0)
) -> tuple[BarOfEvents, ...]:
    """Cut a flat stream of events at the bar lines, tying what runs over one.

    The last bar is filled up with rests. Raises :class:`~fretwright.base.errors.ScoreError` where a
    tuplet runs over a bar line, since it cannot be cut, and for a pickup that is no part of a bar.
    """
    if not 0 <= pickup < meter.length:
        message = f"a pickup of {pickup} of a whole note is no part of a {meter} bar"
        raise ScoreError(message)
    bars: list[BarOfEvents] = []
    current: list[Event] = []
    # A pickup is the end of a full bar: its places rank as they do there.
    at = meter.length - pickup if pickup else Fraction(0)
    for event in events:
        for piece in _cut(event, at, meter):
            current.append(piece)
            at += piece.value.duration
            if at == meter.length:
                bars.append(BarOfEvents(tuple(current), meter, is_pickup=bool(pickup) and not bars))
                current, at = [], Fraction(0)
    if current:
        current.extend(Event(value) for value in meter.spell(at, meter.length - at))
        bars.append(BarOfEvents(tuple(current), meter, is_pickup=bool(pickup) and not bars))
    return tuple(bars)


def _cut(event: Event, at: Fraction, meter: Meter) -> list[Event]:
    """The event as pieces of which none runs over a bar line, the later ones tied."""
    left = event.value.duration
    if at + left <= meter.length:
        return [event]
    if event.value.tuplet is not None:
        message = f"a {event.value.name} runs over a bar line"
        raise ScoreError(message, "Let the tuplet end with its bar.")
    pieces: list[Event] = []
    while left > 0:
        part = min(left, meter.length - at)
        pieces.extend(_tied_chain(event, meter.spell(at, part), goes_on=bool(pieces)))
        left -= part
        at = Fraction(0)
    return pieces


def _tied_chain(event: Event, values: Sequence[Value], *, goes_on: bool) -> list[Event]:
    held = tuple(replace(head, tied=True) for head in event.heads)
    return [
        Event(value, held if goes_on or index else event.heads, event.source)
        for index, value in enumerate(values)
    ]


def assemble(heading: Heading, bars: Sequence[BarOfEvents]) -> Score:
    """Number the bars, merge ties, find what each slur leaves, and give every note its id.

    Raises :class:`~fretwright.base.errors.ScoreError` where a bar is not as long as its meter (only a
    pickup, and the last bar after one, may be shorter), or a tie or slur has nothing before it on its
    string.
    """
    laid_out = _lay_out_bars(bars)
    notes: list[Note] = []
    rests: list[Rest] = []
    for voice in (1, 2):
        _add_voice(notes, rests, laid_out, bars, voice)
    return Score(
        name=heading.name,
        title=heading.title,
        neck=heading.neck,
        key=heading.key,
        bars=laid_out,
        notes=tuple(sorted(notes, key=lambda note: (note.onset, -note.string))),
        rests=tuple(sorted(rests, key=lambda rest: rest.onset)),
        tempo=heading.tempo,
        swing=heading.swing,
        labels=heading.labels,
        scale=heading.scale,
        position=heading.position,
        air_strokes=heading.air_strokes,
        writing=heading.writing,
        instrument=heading.instrument,
    )


def _add_voice(
    notes: list[Note], rests: list[Rest], laid_out: Sequence[Bar], bars: Sequence[BarOfEvents], voice: int
) -> None:
    """Append the notes and rests of one voice; ties and slurs stay inside it."""
    latest: dict[int, int] = {}
    for bar, written in zip(laid_out, bars, strict=True):
        at = bar.start
        for event in written.events if voice == 1 else written.lower:
            if not event.heads:
                # The upper voice keeps the plain id, so that a second voice changes none of its ids.
                rest_id = _id(bar, at, "r" if voice == 1 else f"r{voice}")
                rests.append(Rest(rest_id, at, event.value, event.source, voice))
            for head in sorted(event.heads, key=lambda head: -head.place.string):
                _add_head(notes, latest, head, event.value, bar, at, voice)
            at += event.value.duration


def _lay_out_bars(bars: Sequence[BarOfEvents]) -> tuple[Bar, ...]:
    laid_out: list[Bar] = []
    start = Fraction(0)
    first = 0 if bars and bars[0].is_pickup else 1
    for index, bar in enumerate(bars):
        number = first + index
        lower = sum((event.value.duration for event in bar.lower), Fraction(0))
        if bar.lower and lower != bar.length:
            raise ScoreError(f"the lower voice of bar {number} is not as long as the upper one")
        may_be_short = bar.is_pickup or (index == len(bars) - 1 and bars[0].is_pickup)
        if bar.length > bar.meter.length or (bar.length < bar.meter.length and not may_be_short):
            raise ScoreError(
                f"bar {number} lasts {bar.length} of a whole note, its time signature says {bar.meter.length}"
            )
        laid_out.append(
            Bar(number, start, bar.meter, bar.length, bar.opens_repeat, bar.closes_repeat, bar.endings)
        )
        start += bar.length
    return tuple(laid_out)


def _add_head(
    notes: list[Note], latest: dict[int, int], head: Head, value: Value, bar: Bar, at: Fraction, voice: int
) -> None:
    """Append a note, or lengthen the one before it on the same string where the head is tied."""
    string = head.place.string
    before = latest.get(string)
    if head.tied:
        if before is None or notes[before].end != at or notes[before].place != head.place:
            message = f"a tie on string {string} in bar {bar.number} has no note before it to hold"
            raise ScoreError(message)
        notes[before] = replace(notes[before], values=(*notes[before].values, value))
        return
    is_from_grace = bool(head.techniques.graces) and head.techniques.graces[-1].is_slurred_on
    if head.attack.is_slur and before is None and not is_from_grace:
        message = f"a {head.attack.value} on string {string} in bar {bar.number} has no note before it"
        raise ScoreError(message)
    is_from_note = before is not None and head.attack.is_slur and not is_from_grace
    left = notes[before].id if before is not None and is_from_note else None
    latest[string] = len(notes)
    notes.append(
        Note(
            id=_id(bar, at, f"s{string}"),
            onset=at,
            values=(value,),
            place=head.place,
            pitch=head.pitch,
            attack=head.attack,
            slur_from=left,
            finger=head.finger,
            stroke=head.stroke,
            source=head.source,
            techniques=head.techniques,
            picking_finger=head.picking_finger,
            voice=voice,
        )
    )


def _id(bar: Bar, at: Fraction, what: str) -> str:
    """``b2t3-8s4``: bar 2, three eighths into it, string 4. Valid as an XML id and a CSS name."""
    offset = at - bar.start
    time = f"{offset.numerator}-{offset.denominator}" if offset else "0"
    return f"b{bar.number}t{time}{what}"
