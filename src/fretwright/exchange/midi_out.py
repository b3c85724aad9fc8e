"""A score as a Standard MIDI File.

Format 1: a first track with name, tempo, time and key signatures, then the notes, in one track or in one for
each string. Repeats are taken and swing is played, so that the file sounds as the exercise does. Every time
is an exact tick: the ticks of a quarter note are chosen so that all of them are whole.

MIDI has no slurs and no strokes; they are kept as how hard a note is struck. With a track for each string,
its channel carries that string alone and its name says what the string sounds, so that places can be read
back. Bends, vibrato and slides without a second note move the pitch wheel, whose range is set to an octave
either way (registered parameter 0); a note with such a curve has the channel of its string to itself.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from io import BytesIO
from math import lcm
from typing import Final

from mido import Message, MetaMessage, MidiFile, MidiTrack

from fretwright.base.errors import RenderError
from fretwright.exchange.midi_names import string_name
from fretwright.exchange.midi_touches import Played, Touch, touches_of
from fretwright.exchange.programs import Program, program_of
from fretwright.score.meter import Meter
from fretwright.score.note import Note
from fretwright.score.score import Bar, Score
from fretwright.score.tempo import TempoMark
from fretwright.score.unfold import PlayedBar, unfold
from fretwright.score.values import BASES

USUAL_TICKS: Final = 960
_MOST_TICKS: Final = 0x7FFF
"""The header keeps fifteen bits for the ticks of a quarter note."""
_SLOWEST_US: Final = 0xFFFFFF
"""The longest quarter note that a tempo event can say, in microseconds."""
_MOST_COUNTED: Final = 32
"""The largest upper figure of a time signature."""
WHEEL_SEMITONES: Final = 12
"""How far the pitch wheel reaches either way."""
_WHEEL_STEPS: Final = 8192
_PERCUSSION: Final = 9
"""The channel that plays no pitches."""
_EXPRESSION: Final = 11
"""The controller of a swell."""

_Timed = tuple[Fraction, int, object]


@dataclass(frozen=True, slots=True)
class MidiOptions:
    """How a score is written as MIDI."""

    track_per_string: bool = False
    """One track and one channel for each string, string 1 first."""
    swing: bool = True
    """Play swing; without it the notes stand where they are written."""
    note_ids: bool = False
    """A text event with its id before each note."""


def write_midi(score: Score, options: MidiOptions = MidiOptions()) -> bytes:
    """The score as a MIDI file of format 1; the same bytes each time.

    Raises :class:`~fretwright.base.errors.RenderError` where a time or a tempo is finer or slower than the
    format can say.
    """
    played = tuple(_placed(unfold(score.bars)))
    notes = list(_touches(score, played, options))
    clock = _Clock.of([*(time for touch in notes for time in _exact(touch)), *(start for start, _ in played)])
    length = played[-1][0] + played[-1][1].bar.length
    file = MidiFile(type=1, ticks_per_beat=clock.ticks_per_quarter)
    file.tracks.append(clock.track(_conductor(score, played), length))
    file.tracks += [clock.track(events, length) for events in _parts(score, notes, options)]
    written = BytesIO()
    file.save(file=written)
    return written.getvalue()


@dataclass(frozen=True, slots=True)
class _Clock:
    """From musical time to ticks."""

    ticks_per_quarter: int

    @classmethod
    def of(cls, times: Iterable[Fraction]) -> "_Clock":
        """The usual number of ticks, or the least multiple of it that makes every time whole."""
        needed = lcm(*((time * 4).denominator for time in times))
        ticks = lcm(USUAL_TICKS, needed)
        ticks = ticks if ticks <= _MOST_TICKS else needed
        if ticks > _MOST_TICKS:
            raise RenderError(
                "The exercise divides time more finely than a MIDI file can hold.",
                "Use fewer different kinds of tuplets in one exercise.",
            )
        return cls(ticks)

    def track(self, events: Iterable[_Timed], length: Fraction) -> MidiTrack:
        """A track of events in order of time; among those of one moment the lower rank comes first."""
        track = MidiTrack()
        now = 0
        for time, _, message in sorted(events, key=lambda event: event[:2]):
            at = int(time * 4 * self.ticks_per_quarter)
            track.append(message.copy(time=at - now))  # type: ignore[attr-defined] # mido has no types
            now = at
        end = int(length * 4 * self.ticks_per_quarter)
        track.append(MetaMessage("end_of_track", time=max(0, end - now)))
        return track


def _placed(bars: Iterable[PlayedBar]) -> Iterator[tuple[Fraction, PlayedBar]]:
    """Each played bar with the played time at which it starts."""
    now = Fraction(0)
    for bar in bars:
        yield now, bar
        now += bar.bar.length


def _touches(
    score: Score, played: Iterable[tuple[Fraction, PlayedBar]], options: MidiOptions
) -> Iterator[Touch]:
    """Every note as often as its bar is played, with all that it is made of."""
    by_bar: dict[int, list[Note]] = {}
    for note in score.notes:
        by_bar.setdefault(score.bar_at(note.onset).number, []).append(note)
    rings_until = _ringing(score)
    for start, bar in played:
        for note in by_bar.get(bar.bar.number, ()):
            times = (note.onset, note.end, rings_until.get(note.id, note.end))
            if options.swing:
                times = (_swung(score, times[0]), _swung(score, times[1]), _swung(score, times[2]))
            first, last, ring = (start + time - bar.bar.start for time in times)
            length_s = score.tempo.seconds_between(note.onset, note.end)
            yield from touches_of(Played(note, first, last, length_s), ring, score.neck)


def _exact(touch: Touch) -> Iterator[Fraction]:
    """The times of a note that have to be whole ticks; ornaments fall on the tick before."""
    techniques = touch.note.techniques
    if touch.is_main and not techniques.graces and techniques.rake is None:
        yield touch.start
        if techniques.trill is None and techniques.tremolo is None:
            yield touch.end


def _ringing(score: Score) -> dict[str, Fraction]:
    """When a note that rings on has to stop: where its string is needed again, or the passage ends.

    A passage ends with the first note of its voice that is not to ring, or with the bar.
    """
    until: dict[str, Fraction] = {}
    for index, note in enumerate(score.notes):
        if not note.techniques.let_ring:
            continue
        stop = max(note.end, score.bar_at(note.onset).end)
        for later in score.notes[index + 1 :]:
            if later.onset >= stop:
                break
            is_end = later.voice == note.voice and not later.techniques.let_ring
            if later.onset > note.onset and (later.string == note.string or is_end):
                stop = later.onset
                break
        until[note.id] = max(note.end, stop)
    return until


def _swung(score: Score, time: Fraction) -> Fraction:
    """A written time moved to where swing plays it."""
    bar = score.bar_at(time)
    # A pickup is counted from its end, so that its upbeats swing like those of a full bar.
    origin = bar.end - bar.meter.length if bar.number == 0 else bar.start
    return origin + score.swing.played(time - origin)


def _conductor(score: Score, played: Iterable[tuple[Fraction, PlayedBar]]) -> Iterator[_Timed]:
    yield Fraction(0), 0, MetaMessage("track_name", name=_latin(score.title))
    tonic = f"{score.key.tonic}{'m' if score.key.minor else ''}"
    yield Fraction(0), 0, MetaMessage("key_signature", key=tonic)
    told: Meter | None = None
    tempo: int | None = None
    for start, bar in played:
        meter = _meter_of(bar.bar)
        if meter != told:
            told = meter
            yield start, 1, _time_signature(meter)
        for mark in _tempos_in(score, bar.bar):
            us = _microseconds(mark)
            if us != tempo:
                tempo = us
                yield start + mark.at - bar.bar.start, 2, MetaMessage("set_tempo", tempo=us)


def _meter_of(bar: Bar) -> Meter:
    """The time signature of a bar; a short bar has one of its own, so that bar lines stand where they do."""
    length = bar.length
    if length == bar.meter.length or Fraction(1, length.denominator) not in BASES:
        return bar.meter
    unit = max(bar.meter.unit, length.denominator)
    count = int(length * unit)
    return Meter(count, unit) if count <= _MOST_COUNTED else bar.meter


def _time_signature(meter: Meter) -> MetaMessage:
    # A clock is a 24th of a quarter note.
    clocks = int(meter.beat * 4 * 24)
    return MetaMessage(
        "time_signature", numerator=meter.count, denominator=meter.unit, clocks_per_click=max(1, clocks)
    )


def _tempos_in(score: Score, bar: Bar) -> Iterator[TempoMark]:
    """The tempo that holds at the start of a bar, as if marked there, and the marks inside it."""
    for mark in reversed(score.tempo.marks):
        if mark.at <= bar.start:
            yield TempoMark(bar.start, mark.bpm, mark.beat)
            break
    yield from (mark for mark in score.tempo.marks if bar.start < mark.at < bar.end)


def _microseconds(mark: TempoMark) -> int:
    us = round(mark.seconds_per_whole * 250_000)
    if us > _SLOWEST_US:
        raise RenderError(
            f"A tempo of {mark.bpm:g} is slower than a MIDI file can say.", "Choose a faster tempo."
        )
    return us


def _parts(score: Score, notes: list[Touch], options: MidiOptions) -> Iterator[list[_Timed]]:
    program = program_of(score.neck)
    if not options.track_per_string:
        yield list(_part(program.name, None, program, notes, options))
        return
    for string in score.neck.tuning.strings:
        own = [note for note in notes if note.string == string]
        yield list(_part(string_name(score.neck, string), string - 1, program, own, options))


def _merged(touches: Iterable[Touch]) -> list[Touch]:
    """What one channel can sound, where each pitch has one on and one off.

    Of two strings in unison the longer note is kept; a note that still sounds ends where its pitch is struck
    again.
    """
    kept: dict[int, list[Touch]] = {}
    for touch in sorted(touches, key=lambda touch: (touch.start, -touch.end)):
        row = kept.setdefault(touch.midi, [])
        if row and row[-1].start == touch.start:
            continue
        if row and row[-1].end > touch.start:
            row[-1] = replace(row[-1], end=touch.start)
        row.append(touch)
    return [touch for row in kept.values() for touch in row]


def _channel(touch: Touch) -> int:
    """The channel of a note in a track of all strings: one of its own where it moves the pitch wheel."""
    if not touch.bends and not touch.swell:
        return 0
    return touch.note.string + (touch.note.string >= _PERCUSSION)


def _part(
    name: str, channel: int | None, program: Program, touches: Iterable[Touch], options: MidiOptions
) -> Iterator[_Timed]:
    """A track; with ``channel`` all on that one."""
    yield Fraction(0), 0, MetaMessage("track_name", name=_latin(name))
    by_channel: dict[int, list[Touch]] = {0 if channel is None else channel: []}
    for touch in touches:
        by_channel.setdefault(_channel(touch) if channel is None else channel, []).append(touch)
    for number, own in by_channel.items():
        yield Fraction(0), 1, Message("program_change", channel=number, program=program.number)
        if any(touch.bends for touch in own):
            yield from _wheel_range(number)
        for touch in sorted(_merged(own), key=lambda touch: touch.start):
            yield from _events(touch, number, options)


def _events(touch: Touch, channel: int, options: MidiOptions) -> Iterator[_Timed]:
    """One note with its curves; what ends comes first, so that a pitch struck again is not cut off."""
    pitch = {"channel": channel, "note": touch.midi}
    yield touch.end, 2, Message("note_off", velocity=64, **pitch)
    for at, semitones in touch.bends:
        yield at, 4 if at == touch.start else 6, _wheel(channel, semitones)
    if touch.bends:
        yield touch.end, 3, _wheel(channel, 0.0)
    for at, share in touch.swell:
        volume = round(127 * share)
        yield (
            at,
            4 if at == touch.start else 6,
            Message("control_change", channel=channel, control=_EXPRESSION, value=volume),
        )
    if options.note_ids and touch.is_main:
        yield touch.start, 4, MetaMessage("text", text=touch.note.id)
    yield touch.start, 5, Message("note_on", velocity=touch.velocity, **pitch)


def _wheel(channel: int, semitones: float) -> Message:
    value = round(semitones / WHEEL_SEMITONES * _WHEEL_STEPS)
    return Message("pitchwheel", channel=channel, pitch=max(-_WHEEL_STEPS, min(_WHEEL_STEPS - 1, value)))


def _wheel_range(channel: int) -> Iterator[_Timed]:
    """Registered parameter 0 (pitch bend sensitivity), and then none (127, 127), by MIDI 1.0."""
    for control, value in ((101, 0), (100, 0), (6, WHEEL_SEMITONES), (38, 0), (101, 127), (100, 127)):
        yield Fraction(0), 1, Message("control_change", channel=channel, control=control, value=value)


def _latin(text: str) -> str:
    """Text as the file's character set holds it: ISO 8859-1, anything else as a question mark."""
    return text.encode("latin-1", "replace").decode("latin-1")
