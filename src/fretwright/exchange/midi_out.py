"""A score as a Standard MIDI File.

Format 1: a first track with name, tempo, time and key signatures, then the notes, in one track or in one for
each string. Repeats are taken and swing is played, so that the file sounds as the exercise does. Every time
is an exact tick: the ticks of a quarter note are chosen so that all of them are whole.

MIDI has no slurs and no strokes; they are kept as how hard a note is struck. With a track for each string,
its channel carries that string alone and its name says what the string sounds, so that places can be read
back.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from math import lcm
from typing import Final

from mido import Message, MetaMessage, MidiFile, MidiTrack

from fretwright.base.errors import RenderError
from fretwright.exchange.midi_names import string_name
from fretwright.exchange.programs import Program, program_of
from fretwright.score.meter import Meter
from fretwright.score.note import Attack, Note
from fretwright.score.score import Bar, Score
from fretwright.score.techniques import Stroke
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
_VELOCITIES: Final = {Attack.HAMMER_ON: 68, Attack.PULL_OFF: 60, Attack.SLIDE: 56, Attack.TAP: 72}
_STROKES: Final = {Stroke.DOWN: 92, Stroke.UP: 84, None: 88}

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


@dataclass(frozen=True, slots=True)
class _Played:
    """One sounding of a note, in played musical time."""

    note: Note
    start: Fraction
    end: Fraction


def write_midi(score: Score, options: MidiOptions = MidiOptions()) -> bytes:
    """The score as a MIDI file of format 1; the same bytes each time.

    Raises :class:`~fretwright.base.errors.RenderError` where a time or a tempo is finer or slower than the
    format can say.
    """
    played = tuple(_placed(unfold(score.bars)))
    notes = list(_sounding(score, played, options))
    clock = _Clock.of(
        [*(time for note in notes for time in (note.start, note.end)), *(start for start, _ in played)]
    )
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


def _sounding(
    score: Score, played: Iterable[tuple[Fraction, PlayedBar]], options: MidiOptions
) -> Iterator[_Played]:
    """Every note as often as its bar is played."""
    by_bar: dict[int, list[Note]] = {}
    for note in score.notes:
        by_bar.setdefault(score.bar_at(note.onset).number, []).append(note)
    for start, bar in played:
        for note in by_bar.get(bar.bar.number, ()):
            times = (note.onset, note.end)
            if options.swing:
                times = (_swung(score, note.onset), _swung(score, note.end))
            yield _Played(note, *(start + time - bar.bar.start for time in times))


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


def _parts(score: Score, notes: list[_Played], options: MidiOptions) -> Iterator[list[_Timed]]:
    program = program_of(score.neck)
    if not options.track_per_string:
        yield list(_part(program.name, 0, program, notes, options))
        return
    for string in score.neck.tuning.strings:
        own = [note for note in notes if note.note.string == string]
        yield list(_part(string_name(score.neck, string), string - 1, program, own, options))


def _merged(notes: Iterable[_Played]) -> list[_Played]:
    """What one channel can sound, where each pitch has one on and one off.

    Of two strings in unison the longer note is kept; a note that still sounds ends where its pitch is struck
    again.
    """
    kept: dict[int, list[_Played]] = {}
    for note in sorted(notes, key=lambda note: (note.start, -note.end)):
        row = kept.setdefault(note.note.midi, [])
        if row and row[-1].start == note.start:
            continue
        if row and row[-1].end > note.start:
            row[-1] = _Played(row[-1].note, row[-1].start, note.start)
        row.append(note)
    return [note for row in kept.values() for note in row]


def _part(
    name: str, channel: int, program: Program, notes: Iterable[_Played], options: MidiOptions
) -> Iterator[_Timed]:
    yield Fraction(0), 0, MetaMessage("track_name", name=_latin(name))
    yield Fraction(0), 1, Message("program_change", channel=channel, program=program.number)
    for note in _merged(notes):
        pitch = {"channel": channel, "note": note.note.midi}
        if options.note_ids:
            yield note.start, 3, MetaMessage("text", text=note.note.id)
        # Note-offs come first, so that a pitch struck again is not cut off at once.
        yield note.start, 4, Message("note_on", velocity=_velocity(note.note), **pitch)
        yield note.end, 2, Message("note_off", velocity=64, **pitch)


def _velocity(note: Note) -> int:
    return _VELOCITIES.get(note.attack) or _STROKES[note.stroke]


def _latin(text: str) -> str:
    """Text as the file's character set holds it: ISO 8859-1, anything else as a question mark."""
    return text.encode("latin-1", "replace").decode("latin-1")
