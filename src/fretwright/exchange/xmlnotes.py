"""Notes and rests as MusicXML elements."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final
from xml.etree.ElementTree import Element

from fretwright.exchange.pieces import Piece, id_of
from fretwright.exchange.slurs import SlurEnds
from fretwright.exchange.xmlasked import add_asked, add_notehead, type_name
from fretwright.exchange.xmlout import add, add_pitch
from fretwright.fretboard.neck import Place
from fretwright.score.heads import Head
from fretwright.score.note import Attack, Note
from fretwright.score.score import Label
from fretwright.score.techniques import Grace, Stroke
from fretwright.score.values import Value
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch

_ACCIDENTALS: Final = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
_SIGNS: Final = {Attack.HAMMER_ON: ("hammer-on", "H"), Attack.PULL_OFF: ("pull-off", "P")}
_BOWS: Final = {Stroke.DOWN: "down-bow", Stroke.UP: "up-bow"}
"""The standard: these also stand for down- and up-strokes on plucked instruments."""


@dataclass(frozen=True, slots=True)
class Staff:
    """One staff of the part, as far as its notes need to know it."""

    number: int | None = None
    """``None`` where the part has one staff only."""
    is_tab: bool = False
    """A tab under a staff of notes: it repeats them, without accidentals and fingers."""
    voice: int = 1
    """Number of its first voice."""


_SYLLABIC: Final = {
    (False, False): "single", (False, True): "begin", (True, True): "middle", (True, False): "end",
}  # fmt: skip
"""Whether a syllable is inside a word that has begun, and whether it goes on."""


@dataclass(slots=True)
class Accidentals:
    """Which accidentals one bar has shown already."""

    key: Key
    _shown: dict[tuple[str, int], int] = field(default_factory=dict)

    def sign_for(self, pitch: Pitch, *, is_held: bool) -> str | None:
        """The sign that a note needs, by the usual rule: it holds for its line until the bar ends."""
        line = pitch.name.letter, pitch.octave
        shown = self._shown.get(line, self.key.alter_of(pitch.name.letter))
        if is_held or shown == pitch.name.alter:
            return None
        self._shown[line] = pitch.name.alter
        return _ACCIDENTALS.get(pitch.name.alter)


@dataclass(frozen=True, slots=True)
class NoteWriter:
    """Writes the notes of one score onto one staff."""

    divisions: int
    """Ticks of a quarter note."""
    staff: Staff
    slurs: SlurEnds
    inside: set[int] = field(default_factory=set)
    """Verses in which a word has begun and not ended."""

    def ticks(self, time: Fraction) -> int:
        """A length of time in the file's ticks."""
        return int(time * 4 * self.divisions)

    def write(
        self,
        measure: Element,
        piece: Piece,
        voice: int,
        accidentals: Accidentals,
        tuplet: tuple[str, ...],
        beams: tuple[str, ...] = (),
        lyrics: tuple[Label, ...] = (),
    ) -> None:
        """Append the notes of a piece, or its rest.

        ``tuplet`` says whether a group starts or stops here, ``beams`` what each beam does, ``lyrics`` what
        is sung.
        """
        if piece.rest is not None:
            rest_id = None if self.staff.is_tab else piece.rest.id
            self._rest(self._note(measure, rest_id), piece, voice, tuplet)
        if not self.staff.is_tab:
            for head in piece.heads:
                self._graces(measure, head, voice)
        for place, head in enumerate(piece.heads):
            note = self._note(measure, f"{id_of(head)}.tab" if self.staff.is_tab else id_of(head))
            if place:
                add(note, "chord")
            add_pitch(add(note, "pitch"), head.note.pitch)
            self._length(note, piece, head)
            sign = accidentals.sign_for(head.note.pitch, is_held=head.index > 0)
            self._look(note, piece, voice, None if self.staff.is_tab else sign, head)
            if not place:
                for number, kind in enumerate(beams, start=1):
                    add(note, "beam", kind, number=number)
            self._notations(note, head, tuplet if place == 0 else (), piece.value)
            for syllable in lyrics if place == 0 else ():
                self._sung(note, syllable)
            if head.note.techniques.palm_mute and not self.staff.is_tab:
                add(add(note, "play"), "mute", "palm")

    def _sung(self, note: Element, syllable: Label) -> None:
        """A syllable, whether it goes on in the next one, and whether it is held."""
        text = syllable.text[:-1] if len(syllable.text) > 1 and syllable.text[-1] in "-_" else syllable.text
        goes_on, is_inside = syllable.text == f"{text}-", syllable.verse in self.inside
        lyric = add(note, "lyric", number=syllable.verse)
        add(lyric, "syllabic", _SYLLABIC[is_inside, goes_on])
        add(lyric, "text", text)
        if syllable.text == f"{text}_":
            add(lyric, "extend")
        (self.inside.add if goes_on else self.inside.discard)(syllable.verse)

    def _graces(self, measure: Element, head: Head, voice: int) -> None:
        """The small notes before a note, each with the id of its note so that they stay together."""
        note = head.note
        graces = note.techniques.graces if not head.index else ()
        for nth, grace in enumerate(graces):
            small = self._note(measure, f"{note.id}.g{nth + 1}")
            add(small, "grace", slash="yes")
            add_pitch(add(small, "pitch"), grace.pitch)
            add(small, "voice", voice)
            add(small, "type", "eighth")
            if self.staff.number is not None:
                add(small, "staff", self.staff.number)
            following = graces[nth + 1].place if nth + 1 < len(graces) else note.place
            slides = nth + 1 == len(graces) and note.attack is Attack.SLIDE
            before = graces[nth - 1] if nth and graces[nth - 1].is_slurred_on else None
            self._grace_signs(add(small, "notations"), grace, following, before, slides=slides)

    @staticmethod
    def _grace_signs(
        notations: Element, grace: Grace, following: Place, before: Grace | None, *, slides: bool
    ) -> None:
        number = grace.place.string
        if before is not None:
            add(notations, "slur", type="stop", number=number)
        if grace.is_slurred_on:
            add(notations, "slur", type="start", number=number)
            if slides:
                add(notations, "slide", type="start", number=number, line_type="solid")
        technical = add(notations, "technical")
        if grace.finger is not None:
            add(technical, "fingering", grace.finger.mark)
        add(technical, "string", grace.place.string)
        add(technical, "fret", grace.place.fret)
        if before is not None:
            tag = "hammer-on" if grace.place.fret > before.place.fret else "pull-off"
            add(technical, tag, type="stop", number=number)
        if grace.is_slurred_on and not slides:
            is_up = following.fret > grace.place.fret
            add(
                technical,
                "hammer-on" if is_up else "pull-off",
                "H" if is_up else "P",
                type="start",
                number=number,
            )

    @staticmethod
    def _note(measure: Element, note_id: str | None) -> Element:
        return add(measure, "note", **({} if note_id is None else {"id": note_id}))

    def _rest(self, note: Element, piece: Piece, voice: int, tuplet: tuple[str, ...]) -> None:
        add(note, "rest")
        add(note, "duration", self.ticks(piece.value.duration))
        self._look(note, piece, voice, None)
        if tuplet:
            _add_tuplet(add(note, "notations"), tuplet)

    def _length(self, note: Element, piece: Piece, head: Head) -> None:
        add(note, "duration", self.ticks(piece.value.duration))
        for kind in _tie_kinds(head):
            add(note, "tie", type=kind)

    def _look(
        self, note: Element, piece: Piece, voice: int, accidental: str | None, head: Head | None = None
    ) -> None:
        value = piece.value
        add(note, "voice", voice)
        add(note, "type", type_name(value))
        for _ in range(value.dots):
            add(note, "dot")
        if accidental is not None:
            add(note, "accidental", accidental)
        if value.tuplet is not None:
            ratio = add(note, "time-modification")
            add(ratio, "actual-notes", value.tuplet.actual)
            add(ratio, "normal-notes", value.tuplet.normal)
        if head is not None:
            add_notehead(note, head.note.techniques)
        if self.staff.number is not None:
            add(note, "staff", self.staff.number)

    def _notations(self, note: Element, head: Head, tuplet: tuple[str, ...], value: Value) -> None:
        notations = Element("notations")
        for kind in _tie_kinds(head):
            add(notations, "tied", type=kind)
        # Some readers take a tie that ends in nothing for the one that it goes on from.
        is_untied = len(head.note.values) == 1
        if head.note.techniques.let_ring and is_untied and not self.staff.is_tab:
            add(notations, "tied", type="let-ring")
        _add_tuplet(notations, tuplet)
        if not head.index or not head.is_tied_on:
            self._arcs(notations, head)
        technical = self._technical(head)
        if not head.index and not self.staff.is_tab:
            add_asked(notations, technical, head.note, value)
        if len(technical):
            notations.append(technical)
        if len(notations):
            note.append(notations)

    def _arcs(self, notations: Element, head: Head) -> None:
        """Slurs and slides: they reach the first head of a note and leave its last."""
        note, number = head.note, head.note.string
        if not head.index and (note.id in self.slurs.slur_stops or _is_from_grace(note)):
            add(notations, "slur", type="stop", number=number)
        if not head.is_tied_on and note.id in self.slurs.slur_starts:
            add(notations, "slur", type="start", number=number)
        shifts = note.id in self.slurs.shift_stops and not self.staff.is_tab
        if not head.index and (note.attack is Attack.SLIDE or shifts):
            add(notations, "slide", type="stop", number=number, line_type="solid")
        shifts_on = note.id in self.slurs.shift_starts and not self.staff.is_tab
        slides = self.slurs.leaving.get(note.id) is Attack.SLIDE or shifts_on
        if not head.is_tied_on and slides:
            add(notations, "slide", type="start", number=number, line_type="solid")

    def _technical(self, head: Head) -> Element:
        technical = Element("technical")
        note = head.note
        if not head.index and not self.staff.is_tab:
            if note.stroke is not None:
                add(technical, _BOWS[note.stroke])
            if note.finger is not None:
                add(technical, "fingering", note.finger.mark)
        add(technical, "string", note.string)
        add(technical, "fret", note.fret)
        if not head.index and note.attack in _SIGNS:
            add(technical, _SIGNS[note.attack][0], type="stop", number=note.string)
        leaving = self.slurs.leaving.get(note.id)
        if not head.is_tied_on and leaving in _SIGNS:
            tag, letter = _SIGNS[leaving]
            add(technical, tag, letter, type="start", number=note.string)
        if not head.index and note.attack is Attack.TAP:
            add(technical, "tap", "T", hand="right")
        return technical


def _is_from_grace(note: Note) -> bool:
    """Whether a note is slurred from its own small note."""
    graces = note.techniques.graces
    return bool(graces) and graces[-1].is_slurred_on and note.attack.is_slur


def _tie_kinds(head: Head) -> tuple[str, ...]:
    return (*(("stop",) if head.index else ()), *(("start",) if head.is_tied_on else ()))


def _add_tuplet(notations: Element, tuplet: tuple[str, ...]) -> None:
    for kind in tuplet:
        add(notations, "tuplet", type=kind, number=1)
