"""The events of a MIDI file at their musical times, before any of them is given a meaning."""

import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from io import BytesIO
from typing import Any, Final

from mido import KeySignatureError, MidiFile

from fretwright.base.errors import ExchangeError, FretwrightError
from fretwright.score.meter import Meter
from fretwright.theory.key import Key

MOST_BYTES: Final = 4_000_000
_MOST_WHOLES: Final = 20_000
"""A longer file is broken."""
_UNHELD: Final = {
    "control_change": "controllers", "aftertouch": "aftertouch",
    "polytouch": "aftertouch", "sysex": "messages for one maker's device", "lyrics": "lyrics",
}  # fmt: skip
_CHANNELS: Final = 16
_WHEEL_STEPS: Final = 8192
"""From the middle of a pitch wheel to its end."""
_BROKEN: Final = "Export it again from its program."


@dataclass(frozen=True, slots=True)
class MidiNote:
    """One note as it was played."""

    start: Fraction
    """In whole notes from the start of the file."""
    end: Fraction
    midi: int
    velocity: int


@dataclass(slots=True)
class MidiPart:
    """The notes of one channel of one track."""

    track: int
    channel: int
    name: str
    notes: list[MidiNote] = field(default_factory=list)
    wheel: list[tuple[Fraction, float]] = field(default_factory=list)
    """Where the pitch wheel is put: times in whole notes, and semitones."""
    program: int | None = None
    """The last General MIDI program that its channel is told in its track, counted from 0."""


@dataclass(slots=True)
class MidiEvents:
    """Everything in a file that a score can use, and the names of what it cannot."""

    title: str = ""
    tempos: dict[Fraction, int] = field(default_factory=dict)
    """Microseconds a quarter note, from each time on."""
    meters: dict[Fraction, Meter] = field(default_factory=dict)
    keys: dict[Fraction, Key] = field(default_factory=dict)
    names: list[str] = field(default_factory=list)
    """Of all tracks, those without notes included."""
    parts: list[MidiPart] = field(default_factory=list)
    """Those with notes, in the file's order."""
    unheld: list[str] = field(default_factory=list)
    """In words, once for each event that no score can hold."""
    tick: Fraction = Fraction(1, 1920)
    """The least step of time, in whole notes."""
    length: Fraction = Fraction(0)
    """Where the last track ends, in whole notes."""
    has_own_tracks: bool = True
    """Whether each instrument has a track of its own (a file of type 1)."""


@dataclass(slots=True)
class _WheelRange:
    """How far the wheel of a channel reaches: registered parameter 0, by MIDI 1.0 two semitones."""

    semitones: float = 2.0
    _chosen: tuple[int, int] = (127, 127)
    """The registered parameter that data go to, high and low part; none is 127, 127."""

    def takes(self, message: Any) -> bool:  # noqa: ANN401 - mido has no types
        """Whether a controller speaks of registered parameters; the range follows it."""
        high, low = self._chosen
        match message.control:
            case 101:
                self._chosen = message.value, low
            case 100:
                self._chosen = high, message.value
            case 6 if self._chosen == (0, 0):
                self.semitones = float(message.value)
            case 38 if self._chosen == (0, 0):
                self.semitones = int(self.semitones) + message.value / 100
            case 6 | 38:
                pass
            case _:
                return False
        return True


def read_events(data: bytes, name: str) -> MidiEvents:
    """The events of a Standard MIDI File.

    Raises :class:`~fretwright.base.errors.ExchangeError` where it is none, is broken, counts in film frames
    instead of beats, or is longer than any piece.
    """
    if len(data) > MOST_BYTES:
        raise ExchangeError(f"{name} is larger than {MOST_BYTES // 1_000_000} MB.", "Export a shorter piece.")
    try:
        file = MidiFile(file=BytesIO(data))
    except (EOFError, OSError, ValueError, LookupError, TypeError, struct.error, KeySignatureError) as error:
        raise ExchangeError(f"{name} is no whole MIDI file.", _BROKEN) from error
    if file.ticks_per_beat <= 0:
        raise ExchangeError(f"{name} counts time in film frames, not in beats.", "Export it with beats.")
    events = MidiEvents(tick=Fraction(1, file.ticks_per_beat * 4), has_own_tracks=file.type == 1)
    for number, track in enumerate(file.tracks):
        _read_track(track, number, file.ticks_per_beat * 4, events, name)
    return events


def _read_track(track: Any, number: int, ticks_per_whole: int, events: MidiEvents, name: str) -> None:  # noqa: ANN401 - mido has no types
    parts = {channel: MidiPart(number, channel, "") for channel in range(_CHANNELS)}
    begun: dict[tuple[int, int], list[tuple[Fraction, int]]] = {}
    wheels: dict[int, _WheelRange] = {}
    title, ticks = "", 0
    at = Fraction(0)
    for message in track:
        ticks += message.time
        at = Fraction(ticks, ticks_per_whole)
        if at > _MOST_WHOLES:
            raise ExchangeError(f"{name} is longer than any piece.", _BROKEN)
        match message.type:
            case "note_on" if message.velocity:
                begun.setdefault((message.channel, message.note), []).append((at, message.velocity))
            case "note_on" | "note_off":
                part = parts[message.channel]
                _end_note(begun, part, message.note, at)
            case "pitchwheel" | "program_change" | "control_change" if _tell_part(message, at, parts, wheels):
                pass
            case "track_name":
                title = title or " ".join(message.name.split())
            case _:
                _read_other(message, at, events)
    for (channel, note), _ in list(begun.items()):
        part = parts[channel]
        while begun[channel, note]:
            _end_note(begun, part, note, at)
    for part in parts.values():
        part.name = title
    events.parts += [part for _, part in sorted(parts.items()) if part.notes]
    events.names.append(title)
    events.title = events.title or title
    events.length = max(events.length, at)


def _tell_part(
    message: Any,  # noqa: ANN401 - likewise
    at: Fraction,
    parts: Mapping[int, MidiPart],
    wheels: dict[int, _WheelRange],
) -> bool:
    """Whether a message is about a part's wheel or program; the part then knows it."""
    part, reach = parts[message.channel], wheels.setdefault(message.channel, _WheelRange())
    if message.type == "program_change":
        part.program = message.program
    elif message.type == "pitchwheel":
        part.wheel.append((at, message.pitch / _WHEEL_STEPS * reach.semitones))
    else:
        return reach.takes(message)
    return True


def _end_note(
    begun: dict[tuple[int, int], list[tuple[Fraction, int]]], part: MidiPart, note: int, at: Fraction
) -> None:
    """End the note of that pitch that began first; an off without an on says nothing."""
    waiting = begun.get((part.channel, note))
    if waiting:
        start, velocity = waiting.pop(0)
        if at > start:
            part.notes.append(MidiNote(start, at, note, velocity))


def _read_other(message: Any, at: Fraction, events: MidiEvents) -> None:  # noqa: ANN401 - likewise
    match message.type:
        case "set_tempo":
            events.tempos[at] = message.tempo
        case "time_signature":
            events.meters |= dict(_meter(message.numerator, message.denominator, at))
        case "key_signature":
            events.keys[at] = Key.parse(message.key)
        case kind if kind in _UNHELD:
            events.unheld.append(_UNHELD[kind])
        case _:
            pass  # programs, copyright lines and the like say nothing about the notes


def _meter(count: int, unit: int, at: Fraction) -> Iterator[tuple[Fraction, Meter]]:
    try:
        yield at, Meter(count, unit)
    except (FretwrightError, ZeroDivisionError):
        return
