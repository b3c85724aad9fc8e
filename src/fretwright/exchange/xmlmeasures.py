"""Walking through the measures of one MusicXML part."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import accumulate
from math import ceil
from typing import Final

from fretwright.base.errors import ExchangeError
from fretwright.base.findings import Severity
from fretwright.base.spans import Span
from fretwright.exchange.draft import DraftBar, DraftRest
from fretwright.exchange.losses import Losses
from fretwright.exchange.pieces import is_binary
from fretwright.exchange.xmlframes import read_frame
from fretwright.exchange.xmlgraces import Graces
from fretwright.exchange.xmlheads import Heads, WrittenNote
from fretwright.exchange.xmlmarks import read_marks, value_of_note
from fretwright.exchange.xmlsigns import (
    BarLines,
    read_bar_lines,
    read_chord_name,
    read_key,
    read_meter,
    read_neck,
    read_pitch,
    read_swing,
    read_tempo,
)
from fretwright.exchange.xmltree import Node
from fretwright.fretboard.neck import Neck
from fretwright.score.meter import COMMON_TIME, Meter
from fretwright.score.score import Label, LabelKind
from fretwright.score.swing import STRAIGHT, Swing
from fretwright.score.tempo import TempoMark
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch

_FINEST_DIVISIONS: Final = 1_000_000
_LONGEST_BAR: Final = 8
"""Whole notes; a longer one is a broken file."""
_MOST_VERSES: Final = 9
_VERSE_ID: Final = re.compile(r"verse([2-9])t.*")
"""How words that are sung on no note tell their verse."""
_MOST_COUNTED: Final = 32
"""The largest upper figure of a time signature."""
_UNITS: Final = (1, 2, 4, 8, 16, 32, 64)
_JUMPS: Final = ("dacapo", "dalsegno", "tocoda", "segno", "coda", "fine")
_UNHELD_DIRECTIONS: Final = {
    "dynamics": "dynamics", "wedge": "hairpins", "pedal": "pedal marks", "rehearsal": "rehearsal marks",
    "octave-shift": "octave lines", "dashes": "dashed lines", "bracket": "brackets",
    "segno": "jumps", "coda": "jumps",
}  # fmt: skip


@dataclass(slots=True)
class MeasureReader:
    """Reads measures in order and keeps what it finds."""

    file: str
    losses: Losses
    neck: Neck
    key: Key | None = None
    bars: list[DraftBar] = field(default_factory=list)
    heads: Heads = field(default_factory=Heads)
    _rests: list[tuple[DraftRest, str]] = field(default_factory=list)
    """Each with the file's name for its voice."""
    _graces: Graces = field(default_factory=Graces)
    labels: list[Label] = field(default_factory=list)
    tempo: dict[Fraction, TempoMark] = field(default_factory=dict)
    swing: Swing = STRAIGHT
    _meter: Meter = COMMON_TIME
    _divisions: int = 1
    _transposition: int = 0
    _endings: tuple[int, ...] = ()
    _number: str = ""
    _at: Fraction = Fraction(0)
    """Where the reader stands, in whole notes from the start."""
    _last: Fraction = Fraction(0)
    """Onset of the note before, which a chord shares."""
    _reached: Fraction = Fraction(0)

    def read(self, measures: Sequence[Node]) -> None:
        """Read every measure of a part."""
        start: Fraction | None = None
        for measure, following in zip(measures, (*measures[1:], None), strict=True):
            self._number = measure.get("number")[:10]
            if start is None:
                start = self._reached = self.bars[-1].end if self.bars else Fraction(0)
            self._at = self._last = self._reached
            for child in measure:
                self._element(child)
            splits = following is not None and self._completes(following, self._reached - start)
            if following is not None and splits and self.bars and not _repeats_between(measure, following):
                continue
            self._close(measure, start, is_last=following is None)
            start = None
        self._shorten_last()

    def _completes(self, following: Node, filled: Fraction) -> bool:
        """Whether the next measure is the other part of a bar that this one begins."""
        missing = self._meter.length - filled
        if not filled or missing <= 0 or following.find("attributes/time") is not None:
            return False
        lengths = [
            -self._length(child) if child.tag == "backup" else self._length(child)
            for child in following
            if child.tag in {"note", "forward", "backup"} and child.find("chord") is None
        ]
        return max(accumulate(lengths), default=Fraction(0)) == missing

    # one child of a measure ------------------------------------------------

    def _element(self, node: Node) -> None:
        match node.tag:
            case "note":
                self._note(node)
            case "backup":
                self._at = max(self.bars[-1].end if self.bars else Fraction(0), self._at - self._length(node))
            case "forward":
                self._at += self._length(node)
                self._reached = max(self._reached, self._at)
            case "attributes":
                self._attributes(node)
            case "direction":
                self._direction(node)
            case "sound":
                self._sound(node, self._at)
            case "harmony":
                self._harmony(node)
            case "figured-bass":
                self.losses.left_out("figured bass", self._span(node))
            case _:
                pass  # layout, links and the like say nothing about the music

    def _span(self, node: Node) -> Span:
        return Span(self.file, node.line, node.column, f"bar {self._number}")

    def _length(self, node: Node) -> Fraction:
        try:
            ticks = Fraction(node.words("duration", "0"))
        except (ValueError, ZeroDivisionError):
            ticks = Fraction(0)
        length = ticks / self._divisions / 4
        if not 0 <= length <= _LONGEST_BAR:
            raise ExchangeError(f"{self.file}, line {node.line}: a duration of {ticks} ticks cannot be.", "")
        return length

    def _attributes(self, node: Node) -> None:
        divisions = node.number("divisions")
        if divisions is not None and 0 < divisions <= _FINEST_DIVISIONS:
            self._divisions = divisions
        for key in node.all("key"):
            self._key(key)
        for time in node.all("time"):
            meter = read_meter(time)
            if meter is None:
                self.losses.left_out("time signatures of no usual kind", self._span(time))
            else:
                self._meter = meter
        for details in node.all("staff-details"):
            neck = read_neck(details, self.neck)
            if neck is not None and (details.find("staff-tuning") or details.find("capo")):
                self.neck = neck
        moved = node.find("transpose")
        if moved is not None:
            self._transposition = (moved.number("chromatic") or 0) + 12 * (moved.number("octave-change") or 0)

    def _key(self, node: Node) -> None:
        key = read_key(node)
        if self.key is None:
            self.key = key
        elif key is not None and key != self.key:
            self.losses.left_out("changes of key signature", self._span(node))

    def _note(self, node: Node) -> None:
        if node.find("cue") is not None:
            self.losses.left_out("cue notes", self._span(node))
            return
        if node.find("grace") is not None:
            self._graces.add(node, self._sounding, self.losses, self._span(node))
            return
        length = self._length(node)
        onset = self._last if node.find("chord") is not None else self._at
        if node.find("chord") is None:
            self._last = self._at
            self._at += length
            self._reached = max(self._reached, self._at)
        if not length:
            return
        value = value_of_note(node)
        value = value if value is not None and value.duration == length else None
        if node.find("rest") is not None:
            if value is not None and is_binary(value.base):
                self._rests.append((DraftRest(onset, value), node.words("voice")))
            return
        pitch = read_pitch(node.find("pitch") or node)
        if pitch is None:
            unpitched = node.find("unpitched") is not None
            what = "notes without a pitch" if unpitched else "pitches between two frets or out of hearing"
            self.losses.left_out(what, self._span(node))
            return
        self._lyrics(node, onset)
        marks = read_marks(node)
        self._graces.give_to(marks, is_chord=node.find("chord") is not None)
        for what in marks.unheld:
            self.losses.left_out(what, self._span(node))
        ties = {tie.get("type") for tie in node.all("tie")}
        head = WrittenNote(
            onset, length, value, self._sounding(pitch), node.words("staff"), "stop" in ties, "start" in ties,
            self._span(node), node.words("voice"),
        )  # fmt: skip
        self.heads.add(head, marks)

    @property
    def rests(self) -> tuple[DraftRest, ...]:
        """The rests of all voices that have notes."""
        number_of = self.heads.voices()
        return tuple(
            replace(rest, voice=number_of[voice]) for rest, voice in self._rests if voice in number_of
        )

    def _lyrics(self, node: Node, onset: Fraction) -> None:
        """What is sung on a note, verse by verse."""
        for nth, lyric in enumerate(node.all("lyric"), start=1):
            text = " ".join(lyric.words("text").split())
            number = lyric.get("number")
            verse = int(number) if number.isdecimal() and 0 < int(number) <= _MOST_VERSES else nth
            if not text or nth > _MOST_VERSES:
                self.losses.left_out("lyrics without words, or in too many verses", self._span(node))
                continue
            if lyric.words("syllabic") in {"begin", "middle"}:
                text += "-"
            elif lyric.find("extend") is not None:
                text += "_"
            self.labels.append(Label(onset, text, LabelKind.LYRIC, verse=verse))

    def _sounding(self, pitch: Pitch) -> Pitch:
        if not self._transposition:
            return pitch
        if self._transposition % 12 == 0:
            return Pitch(pitch.name, pitch.octave + self._transposition // 12)
        return (self.key or Key(0)).spell(pitch.midi + self._transposition)

    # what stands above -------------------------------------------------------

    def _direction(self, node: Node) -> None:
        at = self._at + self._offset(node)
        mark = read_tempo(node, at, self._meter.beat)
        if mark is not None:
            self.tempo[at] = mark
        for kind in node.all("direction-type"):
            for sign in kind:
                if sign.tag == "words" and mark is None and sign.text.strip():
                    kind_of = LabelKind.LYRIC if node.get("placement") == "below" else LabelKind.TEXT
                    verse = _VERSE_ID.fullmatch(node.get("id")) if kind_of is LabelKind.LYRIC else None
                    text = " ".join(sign.text.split())
                    self.labels.append(Label(at, text, kind_of, verse=int(verse[1]) if verse else 1))
                elif sign.tag in _UNHELD_DIRECTIONS:
                    self.losses.left_out(_UNHELD_DIRECTIONS[sign.tag], self._span(sign))
        for sound in node.all("sound"):
            self._sound(sound, at, tempo=mark is None)

    def _offset(self, node: Node) -> Fraction:
        offset = node.number("offset") or 0
        return max(Fraction(offset, self._divisions * 4), -self._at)

    def _sound(self, node: Node, at: Fraction, *, tempo: bool = True) -> None:
        mark = read_tempo(node, at, self._meter.beat) if tempo else None
        if mark is not None:
            self.tempo[at] = mark
        swing = read_swing(node)
        if swing is not None and self.heads.is_empty:
            self.swing = swing
        elif swing is not None and swing != self.swing:
            self.losses.left_out("changes of swing", self._span(node))
        if any(name in node.attributes for name in _JUMPS):
            self.losses.left_out("jumps", self._span(node))

    def _harmony(self, node: Node) -> None:
        name = read_chord_name(node)
        if name is None:
            self.losses.left_out("chord names given by degree", self._span(node))
            return
        frame = node.find("frame")
        voicing = read_frame(frame, name, self.neck) if frame is not None else None
        if frame is not None and voicing is None:
            self.losses.left_out("chord diagrams", self._span(node))
        self.labels.append(Label(self._at + self._offset(node), name, LabelKind.CHORD, voicing))

    # the end of a measure ------------------------------------------------------

    def _close(self, measure: Node, start: Fraction, *, is_last: bool) -> None:
        lines = read_bar_lines(measure)
        if lines.opened is not None:
            self._endings = lines.opened
        length, meter, is_pickup = self._room(measure, self._reached - start, is_last=is_last)
        self.bars.append(self._bar(measure, start, length, meter, lines, is_pickup=is_pickup))
        if lines.closes_ending:
            self._endings = ()

    def _shorten_last(self) -> None:
        """After a pickup the last bar may end where its notes do."""
        last = self.bars[-1] if self.bars else None
        filled = self._reached - last.start if last is not None else Fraction(0)
        if last is not None and self.bars[0].is_pickup and 0 < filled < last.length and is_binary(filled):
            self.bars[-1] = replace(last, length=filled)

    def _bar(
        self,
        measure: Node,
        start: Fraction,
        length: Fraction,
        meter: Meter,
        lines: BarLines,
        *,
        is_pickup: bool,
    ) -> DraftBar:
        return DraftBar(
            start, length, meter, self._span(measure), is_pickup, lines.opens_repeat, lines.closes_repeat,
            self._endings,
        )  # fmt: skip

    def _room(self, measure: Node, filled: Fraction, *, is_last: bool) -> tuple[Fraction, Meter, bool]:
        """Length, meter and kind of a bar that holds so much: a bar lasts as long as what is in it."""
        full = self._meter.length
        if filled == full or not filled:
            return full, self._meter, False
        if filled < full and not self.bars and is_binary(filled):
            return filled, self._meter, True
        if filled < full and (is_last or not is_binary(filled)):
            return full, self._meter, False
        meter = _meter_for(filled, self._meter)
        if meter is None:
            message = f"{self.file}, line {measure.line}: bar {self._number} is longer than any bar."
            raise ExchangeError(message, "Mend it in the program that wrote it.")
        self.losses.add(
            "bar-of-other-length",
            self._span(measure),
            f"Bar {self._number} is not as long as its time signature says; it was given {meter}.",
            "Mend the bar in the file if that is not meant.",
            severity=Severity.ADVICE,
        )
        return meter.length, meter, False


def _meter_for(length: Fraction, usual: Meter) -> Meter | None:
    """A time signature for a bar of that length, in the usual unit if it can be, or for the next longer."""
    for unit in (usual.unit, length.denominator):
        if unit in _UNITS and (length * unit).denominator == 1 and length * unit <= _MOST_COUNTED:
            return Meter(int(length * unit), unit)
    longer = ((ceil(length * unit), unit) for unit in _UNITS[::-1])
    return next((Meter(count, unit) for count, unit in longer if count <= _MOST_COUNTED), None)


def _repeats_between(measure: Node, following: Node) -> bool:
    """Whether a repeat or an ending bracket stands where two measures meet."""
    left, right = read_bar_lines(measure), read_bar_lines(following)
    return bool(left.closes_repeat or left.closes_ending or right.opens_repeat or right.opened is not None)
