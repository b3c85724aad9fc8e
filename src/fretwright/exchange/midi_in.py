"""A MIDI file as a score.

One part is taken: the notes of one channel of one track, or, where tracks are named after strings as
:mod:`fretwright.exchange.midi_out` names them, all of those together with their places. Times become written
ones by the rule of :mod:`fretwright.exchange.quantise`. MIDI has no spelling: the key signature gives it.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from fretwright.base.errors import ExchangeError, FretwrightError
from fretwright.base.findings import Severity
from fretwright.base.spans import Span
from fretwright.exchange.asked import NOTHING, Asked
from fretwright.exchange.draft import Draft, DraftBar, DraftNote, ReadOptions
from fretwright.exchange.imported import Imported, as_score
from fretwright.exchange.losses import Losses
from fretwright.exchange.midi_bends import Moved, WheelOfPart
from fretwright.exchange.midi_events import MidiEvents, MidiNote, MidiPart, read_events
from fretwright.exchange.midi_names import read_string_name
from fretwright.exchange.names import exercise_name
from fretwright.exchange.pieces import is_binary
from fretwright.exchange.quantise import quantised
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import Tuning
from fretwright.score.meter import COMMON_TIME, Meter
from fretwright.score.techniques import Techniques
from fretwright.score.tempo import FASTEST_BPM, SLOWEST_BPM, TempoMark
from fretwright.theory.key import Key

_DRUMS: Final = 9
"""The channel of General MIDI's percussion, counted from 0."""
_USUAL_US: Final = 500_000
"""Microseconds a quarter note where a file does not say (MIDI 1.0: 120 quarters a minute)."""
_TOLD_FROM: Final = Fraction(1, 192)
"""A move of a start by less than this, in whole notes, is not worth a finding."""
_MOST_PLAYED: Final = 50_000
_MOST_BARS: Final = 5_000


@dataclass(frozen=True, slots=True)
class _Source:
    """One part that can be read: a channel, or all strings of an instrument."""

    name: str
    parts: tuple[MidiPart, ...]
    neck: Neck | None = None
    """Where the tracks name their strings."""


def read_midi(data: bytes, name: str, options: ReadOptions | None = None) -> Imported:
    """The score in a MIDI file, and what of it could not be carried over.

    ``name`` is the file's, for messages and spans. Raises :class:`~fretwright.base.errors.ExchangeError` for
    what is no MIDI file, and where no part has notes that a guitar could play.
    """
    options = options or ReadOptions()
    events = read_events(data, name)
    losses = Losses()
    span = Span(name, 1, 1)
    for what in events.unheld:
        losses.left_out(what, span)
    source = _chosen(_sources(events, losses, span), options, losses, name)
    neck = source.neck or options.neck
    key = events.keys[min(events.keys)] if events.keys else Key(0)
    if len(set(events.keys.values())) > 1:
        losses.left_out("changes of key signature", span)
    played = list(_notes(source, neck, key, name, events, losses))
    if not 0 < len(played) <= _MOST_PLAYED:
        raise ExchangeError(
            f"{name} has no notes, or more than {_MOST_PLAYED}.", "Choose another part with --part."
        )
    bars = _bars(events, max(note.end for note in played), name)
    written = quantised(played, bars, events.tick)
    if written.largest_move >= _TOLD_FROM:
        share = float(written.largest_move * 4)
        losses.add(
            "times-moved",
            span,
            f"Notes were moved to written times, by up to {share:.2f} of a quarter note.",
            "Look at the rhythm; it was played by hand.",
            severity=Severity.ADVICE,
        )
    title = events.title or source.name or name.rpartition("/")[2].partition(".")[0]
    draft = Draft(
        name=exercise_name(title),
        title=title,
        neck=neck,
        key=key,
        bars=bars,
        notes=tuple(replace(note, span=_in_bar(bars, note)) for note in written.notes),
        rests=(),
        tempo=tuple(_tempos(events, bars, losses, span)),
        span=span,
    )
    return as_score(draft, options, losses)


def _sources(events: MidiEvents, losses: Losses, span: Span) -> list[_Source]:
    sources: list[_Source] = []
    strings: list[MidiPart] = []
    for part in events.parts:
        if part.channel == _DRUMS:
            losses.left_out("the percussion channel", span)
        elif read_string_name(part.name) is not None:
            strings.append(part)
        elif events.has_own_tracks and (same := _same_instrument(sources, part)) is not None:
            # A note that moves the wheel may have a channel of its own.
            sources[same] = replace(sources[same], parts=(*sources[same].parts, part))
        else:
            sources.append(_Source(part.name or f"channel {part.channel + 1}", (part,)))
    return [_Source("strings", tuple(strings), _named_neck(events)), *sources] if strings else sources


def _same_instrument(sources: Sequence[_Source], part: MidiPart) -> int | None:
    """The source that a further channel of the same track and program belongs to."""
    if part.program is None:
        return None
    own = (part.track, part.program)
    firsts = ((first.track, first.program) for first in (source.parts[0] for source in sources))
    return next((nth for nth, each in enumerate(firsts) if each == own), None)


def _named_neck(events: MidiEvents) -> Neck | None:
    """The neck that tracks named after strings describe, if they name all of them."""
    named = {found.string: found for found in map(read_string_name, events.names) if found is not None}
    if sorted(named) != list(range(1, len(named) + 1)):
        return None
    try:
        tuning = Tuning.of_pitches(named[string].open_pitch for string in sorted(named))
        return Neck(tuning, capo=named[1].capo)
    except FretwrightError:
        return None


def _chosen(sources: Sequence[_Source], options: ReadOptions, losses: Losses, name: str) -> _Source:
    if not sources:
        raise ExchangeError(f"{name} has no notes of a pitch.", "Export a part that has.")
    listed = ", ".join(f"{number} {source.name}" for number, source in enumerate(sources, start=1))
    number = options.part or 1
    if not 1 <= number <= len(sources):
        raise ExchangeError(f"{name} has no part {number}.", f"It has {len(sources)}: {listed}.")
    chosen = sources[number - 1]
    if len(sources) > 1:
        losses.add(
            "other-parts",
            Span(name, 1, 1),
            f"One part of {len(sources)} was read: {chosen.name}. There are: {listed}.",
            "Choose another with --part and its number.",
            severity=Severity.ADVICE,
        )
    return chosen


def _notes(
    source: _Source, neck: Neck, key: Key, name: str, events: MidiEvents, losses: Losses
) -> Iterator[DraftNote]:
    """The notes as they were played, with places where their track names its string."""
    seconds = _Seconds(events)
    span = Span(name, 1, 1)
    for part in source.parts:
        wheel = WheelOfPart(part.wheel, [(note.start, note.end) for note in part.notes])
        named = read_string_name(part.name) if source.neck is not None else None
        for note in part.notes:
            place = None
            if named is not None:
                fret = note.midi - neck.midi_at(Place(named.string, 0))
                place = Place(named.string, fret) if fret >= 0 else None
            moved = wheel.moves(note.start, note.end, seconds.of(note))
            yield DraftNote(
                note.start,
                note.end - note.start,
                key.spell(note.midi),
                span,
                place=place,
                asked=_asked(moved, losses, span),
            )


def _asked(moved: Moved, losses: Losses, span: Span) -> Asked:
    """What the pitch wheel asks of a note."""
    if moved.is_lost:
        losses.left_out("movements of the pitch wheel that are no bend of one string", span)
    if moved.bend is None and moved.vibrato is None:
        return NOTHING
    return Asked(Techniques(bend=moved.bend, vibrato=moved.vibrato))


class _Seconds:
    """How long notes last by the tempos of a file."""

    def __init__(self, events: MidiEvents) -> None:
        self._tempos = sorted(events.tempos.items())
        self._times = [at for at, _ in self._tempos]

    def of(self, note: MidiNote) -> float:
        """Seconds of a note at the tempo of its start."""
        nth = bisect_right(self._times, note.start)
        microseconds = self._tempos[nth - 1][1] if nth else _USUAL_US
        return float(note.end - note.start) * 4 * microseconds / 1_000_000


def _bars(events: MidiEvents, end: Fraction, name: str) -> tuple[DraftBar, ...]:
    """The bars that hold everything up to ``end``; a time signature inside a bar ends it there."""
    changes = sorted(events.meters.items())
    bars: list[DraftBar] = []
    now, meter = Fraction(0), COMMON_TIME
    while now < end:
        while changes and changes[0][0] <= now:
            meter = changes.pop(0)[1]
        length, own = meter.length, meter
        if changes and changes[0][0] < now + length:
            length = changes[0][0] - now
            own = _meter_of(length, meter, name)
        bars.append(DraftBar(now, length, own, _bar_span(name, len(bars) + 1)))
        now += length
        if len(bars) > _MOST_BARS:
            raise ExchangeError(f"{name} has more than {_MOST_BARS} bars.", "Export a shorter piece.")
    return _with_pickup(bars)


def _meter_of(length: Fraction, meter: Meter, name: str) -> Meter:
    unit = max(meter.unit, length.denominator)
    try:
        if is_binary(length):
            return Meter(int(length * unit), unit)
    except FretwrightError:
        pass
    raise ExchangeError(f"{name} has a time signature where no beat is.", "Export it again with beats.")


def _with_pickup(bars: list[DraftBar]) -> tuple[DraftBar, ...]:
    """The bars, a short first one as the pickup of the second, and a last one that completes it cut short."""
    if len(bars) < 2 or bars[0].length >= bars[1].length:
        return tuple(bars)
    meter = bars[1].meter
    bars[0] = replace(bars[0], meter=meter, is_pickup=True, span=_bar_span(bars[0].span.file, 0))
    bars[1:] = [
        replace(bar, span=_bar_span(bar.span.file, number)) for number, bar in enumerate(bars[1:], start=1)
    ]
    last = bars[-1]
    if len(bars) > 2 and last.length < bars[-2].length:
        bars[-1] = replace(last, meter=bars[-2].meter)
    return tuple(bars)


def _bar_span(name: str, number: int) -> Span:
    """A place in a file that has no lines: the bar's number stands for the line."""
    return Span(name, max(1, number), 1, f"bar {number}")


def _in_bar(bars: Sequence[DraftBar], note: DraftNote) -> Span:
    return bars[max(0, bisect_right(bars, note.onset, key=lambda bar: bar.start) - 1)].span


def _tempos(events: MidiEvents, bars: Sequence[DraftBar], losses: Losses, span: Span) -> Iterator[TempoMark]:
    """Tempo marks in the beats of the meter that holds there; a file that says nothing goes at 120."""
    told: tuple[float, Fraction] | None = None
    for at, us in sorted(({Fraction(0): _USUAL_US} | events.tempos).items()):
        if at >= bars[-1].end:
            return
        beat = bars[max(0, bisect_right(bars, at, key=lambda bar: bar.start) - 1)].meter.beat
        bpm = _plain(us, beat)
        if not SLOWEST_BPM <= bpm <= FASTEST_BPM:
            losses.left_out("tempos that nobody can practise", span)
        elif (bpm, beat) != told:
            told = bpm, beat
            yield TempoMark(at, bpm, beat)


def _plain(us: int, beat: Fraction) -> float:
    """Beats a minute in as few digits as give the same microseconds again."""
    beats_per_quarter = Fraction(1, 4) / beat
    exact = 60_000_000 / max(us, 1) * float(beats_per_quarter)
    for digits in range(4):
        rounded = round(exact, digits)
        if rounded > 0 and round(60_000_000 * float(beats_per_quarter) / rounded) == us:
            return rounded
    return exact
