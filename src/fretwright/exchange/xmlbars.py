"""Bars as MusicXML measures: what opens them, what stands above them, their notes, their bar lines."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final
from xml.etree.ElementTree import Element

from fretwright.exchange.beams import beams
from fretwright.exchange.chorddegrees import in_degrees
from fretwright.exchange.chordnames import split_name
from fretwright.exchange.pieces import BarOfVoices, Piece, Voice, tuplet_groups
from fretwright.exchange.xmlasked import type_name
from fretwright.exchange.xmlframes import add_frame
from fretwright.exchange.xmlnotes import Accidentals, NoteWriter
from fretwright.exchange.xmlout import add, add_name, add_pitch
from fretwright.fretboard.neck import Neck
from fretwright.score.score import Bar, Label, LabelKind, Score
from fretwright.score.swing import STRAIGHT, Swing
from fretwright.score.tempo import TempoMark
from fretwright.score.values import value_of

_BASS_TOP_MIDI: Final = 48
"""Instruments whose highest open string is C3 or lower read the bass clef."""
_TREBLE_BOTTOM_MIDI: Final = 57
"""Instruments whose lowest open string is A3 or higher are written where they sound."""
_USUAL_TIMES: Final = 2
SWING_TYPES: Final = {Fraction(1, 8): "eighth", Fraction(1, 16): "16th"}
"""The units of swing that the standard knows (``swing-type-value``)."""


@dataclass(frozen=True, slots=True)
class BarWriter:
    """Writes the measures of one score onto its staves."""

    score: Score
    writers: tuple[NoteWriter, ...]
    """One for each staff."""

    def write(self, part: Element, index: int, content: BarOfVoices) -> None:
        """Append one measure."""
        bar = content.bar
        measure = add(part, "measure", number=bar.number, **({"implicit": "yes"} if bar.number == 0 else {}))
        before = self.score.bars[index - 1] if index else None
        after = self.score.bars[index + 1] if index + 1 < len(self.score.bars) else None
        _left_bar_line(measure, bar, before)
        self._attributes(measure, bar, before)
        for place, writer in enumerate(self.writers):
            if place:
                _back_up(measure, writer, bar.length)
            self._staff(measure, content, writer, signs=not place)
        _right_bar_line(measure, bar, after)

    def _attributes(self, measure: Element, bar: Bar, before: Bar | None) -> None:
        if before is not None and before.meter == bar.meter:
            return
        attributes = add(measure, "attributes")
        if before is None:
            add(attributes, "divisions", self.writers[0].divisions)
            key = add(attributes, "key")
            add(key, "fifths", self.score.key.fifths)
            add(key, "mode", "minor" if self.score.key.minor else "major")
        time = add(attributes, "time")
        add(time, "beats", bar.meter.count)
        add(time, "beat-type", bar.meter.unit)
        if before is None:
            self._staves(attributes)

    def _staves(self, attributes: Element) -> None:
        if len(self.writers) > 1:
            add(attributes, "staves", len(self.writers))
        for writer in self.writers:
            numbered = {} if writer.staff.number is None else {"number": writer.staff.number}
            _clef(add(attributes, "clef", **numbered), self.score.neck, is_tab=writer.staff.is_tab)
        self._tab_details(attributes)

    def _tab_details(self, attributes: Element) -> None:
        """Lines, tuning and capo of the tab staff.

        The standard keeps tuning with a staff of tab. Where none is written it is named as a second staff
        that is not shown: on a staff of notes some readers would take it to be tab.
        """
        staff, neck = self.writers[-1].staff, self.score.neck
        hidden = {} if staff.is_tab else {"print_object": "no"}
        details = add(attributes, "staff-details", number=2, **hidden, show_frets="numbers")
        if staff.is_tab:
            add(details, "staff-type", "alternate")
        add(details, "staff-lines", neck.tuning.string_count)
        # Lines are counted from the bottom, strings from the top.
        for line, pitch in enumerate(reversed(neck.tuning.open_pitches), start=1):
            add_pitch(add(details, "staff-tuning", line=line), pitch, "tuning-")
        if neck.capo:
            add(details, "capo", neck.capo)

    def _staff(self, measure: Element, content: BarOfVoices, writer: NoteWriter, *, signs: bool) -> None:
        """All voices on one staff; with ``signs``, also what stands above it."""
        for number, voice in enumerate(content.voices, start=writer.staff.voice):
            if number > writer.staff.voice:
                _back_up(measure, writer, content.bar.length)
            pending = self._above(content.bar) if signs and number == writer.staff.voice else []
            self._voice(measure, content.bar, voice, number, writer, pending)

    def _voice(
        self,
        measure: Element,
        bar: Bar,
        voice: Voice,
        number: int,
        writer: NoteWriter,
        pending: list["_Above"],
    ) -> None:
        accidentals = Accidentals(self.score.key)
        groups = tuplet_groups(voice)
        joined = beams(bar, voice)
        cursor = bar.start
        for index, piece in enumerate(voice):
            if piece.start > cursor:
                add(add(measure, "forward"), "duration", writer.ticks(piece.start - cursor))
            until = voice[index + 1].start if index + 1 < len(voice) else bar.end
            for sign in [each for each in pending if each.at < until and not _is_sung(each, piece)]:
                pending.remove(sign)
                self._sign(measure, sign, piece, writer)
            tuplet = tuple(
                kind
                for group in groups
                for kind, end in (("start", group[0]), ("stop", group[1]))
                if end == index
            )
            sung = self._sung(pending, piece) if piece.heads else ()
            writer.write(measure, piece, number, accidentals, tuplet, joined[index], sung)
            cursor = piece.end
        if cursor < bar.end:
            add(add(measure, "forward"), "duration", writer.ticks(bar.end - cursor))

    @staticmethod
    def _sung(pending: list["_Above"], piece: Piece) -> tuple[Label, ...]:
        """What is sung on a note, taken off what waits."""
        sung = [sign for sign in pending if _is_sung(sign, piece)]
        for sign in sung:
            pending.remove(sign)
        return tuple(sign for sign in sung if isinstance(sign, Label))

    def _above(self, bar: Bar) -> list["_Above"]:
        """What stands above a bar, in order of time."""
        signs: list[_Above] = [mark for mark in self.score.tempo.marks if bar.start <= mark.at < bar.end]
        signs += [label for label in self.score.labels if bar.start <= label.at < bar.end]
        return sorted(signs, key=lambda sign: sign.at)

    def _sign(self, measure: Element, sign: "_Above", piece: Piece, writer: NoteWriter) -> None:
        offset = writer.ticks(sign.at - piece.start)
        if isinstance(sign, TempoMark):
            swing = self.score.swing if sign.at == 0 else STRAIGHT
            _tempo(measure, sign, swing, offset, writer.staff.number)
        elif sign.kind is LabelKind.CHORD:
            _harmony(measure, sign, offset, writer.staff.number)
        else:
            _words(measure, sign, offset, writer.staff.number)


_Above = TempoMark | Label


def _is_sung(sign: _Above, piece: Piece) -> bool:
    """Whether a sign is a word that is sung on a note; one that falls on none is written as words."""
    is_lyric = isinstance(sign, Label) and sign.kind is LabelKind.LYRIC
    return is_lyric and bool(piece.heads) and sign.at == piece.start


def _back_up(measure: Element, writer: NoteWriter, length: Fraction) -> None:
    add(add(measure, "backup"), "duration", writer.ticks(length))


def _clef(clef: Element, neck: Neck, *, is_tab: bool) -> None:
    heights = [pitch.midi for pitch in neck.tuning.open_pitches]
    if is_tab:
        add(clef, "sign", "TAB")
        add(clef, "line", neck.tuning.string_count - 1)
        return
    is_bass = max(heights) <= _BASS_TOP_MIDI
    add(clef, "sign", "F" if is_bass else "G")
    add(clef, "line", 4 if is_bass else 2)
    if is_bass or min(heights) < _TREBLE_BOTTOM_MIDI:
        add(clef, "clef-octave-change", -1)


def _left_bar_line(measure: Element, bar: Bar, before: Bar | None) -> None:
    opens_ending = bool(bar.endings) and (before is None or before.endings != bar.endings)
    if not bar.opens_repeat and not opens_ending:
        return
    line = add(measure, "barline", location="left")
    if bar.opens_repeat:
        add(line, "bar-style", "heavy-light")
    if opens_ending:
        add(line, "ending", number=_numbers(bar), type="start")
    if bar.opens_repeat:
        add(line, "repeat", direction="forward")


def _right_bar_line(measure: Element, bar: Bar, after: Bar | None) -> None:
    ends_ending = bool(bar.endings) and (after is None or after.endings != bar.endings)
    if after is not None and not bar.closes_repeat and not ends_ending:
        return
    line = add(measure, "barline", location="right")
    if bar.closes_repeat or after is None:
        add(line, "bar-style", "light-heavy")
    if ends_ending:
        add(line, "ending", number=_numbers(bar), type="stop" if bar.closes_repeat else "discontinue")
    if bar.closes_repeat:
        times = {"times": bar.closes_repeat} if bar.closes_repeat != _USUAL_TIMES else {}
        add(line, "repeat", direction="backward", **times)


def _numbers(bar: Bar) -> str:
    return ", ".join(map(str, bar.endings))


def _tempo(measure: Element, mark: TempoMark, swing: Swing, offset: int, staff: int | None) -> None:
    direction = add(measure, "direction", placement="above")
    beat = value_of(mark.beat)
    if beat is not None:
        metronome = add(add(direction, "direction-type"), "metronome")
        add(metronome, "beat-unit", type_name(beat))
        for _ in range(beat.dots):
            add(metronome, "beat-unit-dot")
        add(metronome, "per-minute", _number(mark.bpm))
    else:
        add(add(direction, "direction-type"), "words", f"{_number(mark.bpm)} beats a minute")
    _place(direction, offset, staff)
    sound = add(direction, "sound", tempo=_number(mark.bpm * float(mark.beat) * 4))
    if swing != STRAIGHT and swing.unit in SWING_TYPES:
        long_part, whole = swing.share.numerator, swing.share.denominator
        swung = add(sound, "swing")
        add(swung, "first", long_part)
        add(swung, "second", whole - long_part)
        add(swung, "swing-type", SWING_TYPES[swing.unit])


def _number(value: float) -> str:
    return repr(value).removesuffix(".0")


def _harmony(measure: Element, label: Label, offset: int, staff: int | None) -> None:
    chord = split_name(label.text)
    harmony = add(measure, "harmony", placement="above")
    if chord.root is None:
        # A root is asked for even where no chord sounds; its kind, none, says that it is not to be read.
        add(add(harmony, "root"), "root-step", "C", text_="")
    else:
        add_name(harmony, "root", chord.root)
    exact = in_degrees(label.text) if chord.kind == "other" else None
    add(harmony, "kind", chord.kind if exact is None else exact.kind, text_=chord.text)
    if chord.bass is not None:
        add_name(harmony, "bass", chord.bass)
    for degree in () if exact is None else exact.degrees:
        # What is printed stands in the kind's text already.
        change = add(harmony, "degree", print_object="no")
        add(change, "degree-value", degree.value)
        add(change, "degree-alter", degree.alter)
        add(change, "degree-type", degree.type)
    if label.voicing is not None:
        add_frame(harmony, label.voicing)
    _place(harmony, offset, staff)


def _words(measure: Element, label: Label, offset: int, staff: int | None) -> None:
    side = "below" if label.kind is LabelKind.LYRIC else "above"
    # Words that fall on no note cannot be lyrics; their id tells the verse that they belong to.
    own = f"verse{label.verse}t{label.at.numerator}-{label.at.denominator}"
    named = {"id": own} if label.verse > 1 else {}
    direction = add(measure, "direction", placement=side, **named)
    add(add(direction, "direction-type"), "words", label.text)
    _place(direction, offset, staff)


def _place(sign: Element, offset: int, staff: int | None) -> None:
    if offset:
        add(sign, "offset", offset)
    if staff is not None:
        add(sign, "staff", staff)


def signs_of(score: Score) -> Iterator[Fraction]:
    """Every written time that the file has to hold exactly."""
    for note in score.notes:
        at = note.onset
        yield at
        for value in note.values:
            at += value.duration
            yield at
    for rest in score.rests:
        yield from (rest.onset, rest.end)
    yield from (time for bar in score.bars for time in (bar.start, bar.end))
    yield from (mark.at for mark in score.tempo.marks)
    yield from (label.at for label in score.labels)
