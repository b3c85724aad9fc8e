r"""One note of a tab with all the signs that touch it.

The number, or what stands for it, comes first: ``7`` a fret, ``(7)`` played softly, ``x`` a string that is
only touched (``x7`` over that fret), ``<12>`` a natural harmonic, ``7<19>`` one of a stopped string that the
picking hand touches over fret 19, ``7<19p>`` a pinched one. Small notes stand before it, ``g5h7``; a bend, a
trill and vibrato behind it, ``7b9r7``, ``7tr9``, ``7~`` (common practice, no source; ``g`` and ``=`` are our
own).
"""

import re
from dataclasses import dataclass, replace
from typing import Final

from fretwright.base.errors import ScoreError
from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.rhythm import value_of_letters
from fretwright.course.tabbend import BEND, bend_of
from fretwright.score.note import Attack
from fretwright.score.techniques import Bend, Harmonic, HarmonicKind
from fretwright.score.values import SIXTEENTH, Value

STARTS: Final = frozenset("0123456789(<xXgG")
"""What a note begins with."""
SLURS: Final = {"h": Attack.HAMMER_ON, "p": Attack.PULL_OFF, "/": Attack.SLIDE, "\\": Attack.SLIDE}
"""Sign between two numbers, and how the second one starts."""

_GRACE: Final = re.compile(r"g(?P<fret>[0-9]+)?(?:s(?P<string>[0-9]+))?(?P<link>[hp/\\,])?", re.IGNORECASE)
_SOFT_OPENS: Final = re.compile(r"\(")
_SOFT_CLOSES: Final = re.compile(r"\)")
_NUMBER: Final = re.compile(r"(?P<dead>x)?(?P<fret>[0-9]*)", re.IGNORECASE)
_HARMONIC: Final = re.compile(r"<(?P<touched>[0-9]{0,2})(?P<pinch>p?)>", re.IGNORECASE)
_UNCLOSED: Final = re.compile(r"<[0-9p]*", re.IGNORECASE)
_TRILL: Final = re.compile(r"tr(?P<fret>[0-9]*)(?:=(?P<value>[whqest]\.{0,2}3?))?", re.IGNORECASE)
_VIBRATO: Final = re.compile(r"~+")
_USUAL_PINCH: Final = 24
"""Frets above the stopped one where the thumb touches if nothing is said: two octaves (from memory)."""
_MOST_GRACES: Final = 8


@dataclass(frozen=True, slots=True)
class GraceSign:
    """A small note as it is written."""

    fret: int
    string: int | None
    """Where it is another string than that of its line."""
    link: str
    """How the next note is reached: ``h p / \\`` without a pluck, ``,`` with one."""
    span: Span


@dataclass(frozen=True, slots=True)
class NoteSign:
    """A note as it is written, pitches left open."""

    column: int
    """Of its number; small notes before it do not count."""
    end: int
    """Column after its number and the brackets around it."""
    stop: int
    """Column after the last sign that touches it."""
    text: str
    """The number with its brackets."""
    span: Span
    """Where the number stands."""
    fret: int
    dead: bool = False
    ghost: bool = False
    harmonic: Harmonic | None = None
    bend: Bend | None = None
    trill: tuple[int, Value] | None = None
    """The other fret, and how long each of its notes is."""
    waves: int = 0
    """1 for vibrato, 2 for a wide one."""
    graces: tuple[GraceSign, ...] = ()


def read_note(
    body: str, start: Span, at: int, last_fret: int, notebook: Notebook
) -> tuple[NoteSign | None, int]:
    """The note that begins at a column of a line, or None with findings; and the column after it.

    ``start`` is the place of the line's first column.
    """
    reader = _NoteReader(body, start, at, last_fret, notebook)
    return reader.read(), reader.at


class _NoteReader:
    def __init__(self, body: str, start: Span, at: int, last_fret: int, notebook: Notebook) -> None:
        self._body = body
        self._start = start
        self.at = at
        self._last_fret = last_fret
        self._notebook = notebook
        self._is_sound = True

    def read(self) -> NoteSign | None:
        start = self.at
        graces = self._graces()
        if self.at > start and self._body[self.at : self.at + 1] not in STARTS:
            return None
        note = self._core()
        if note is None:
            return None
        note = self._with_signs_behind(replace(note, graces=graces))
        self._check(note)
        return replace(note, stop=self.at) if self._is_sound else None

    def _error(self, code: str, span: Span, message: str, mend: str) -> None:
        self._is_sound = False
        self._notebook.error(code, span, message, mend)

    def _span(self, column: int, end: int) -> Span:
        return self._start.moved(column, self._body[column:end])

    def _take(self, pattern: re.Pattern[str]) -> tuple[re.Match[str] | None, Span]:
        """What stands here, if it is what is looked for; the reader goes on behind it."""
        match = pattern.match(self._body, self.at)
        if match is None or not match[0]:
            return None, self._span(self.at, self.at + 1)
        self.at = match.end()
        return match, self._span(match.start(), match.end())

    def _fret(self, text: str, span: Span) -> int:
        """A fret of this neck; 0 with a finding for another one."""
        last = self._last_fret
        if len(text) <= 2 and int(text) <= last:
            return int(text)
        apart = " If these are two notes, put a dash between them." if len(text) > 1 else ""
        message = f"There is no fret {text[:8]} on this neck; the last one is {last}."
        self._error("fret-beyond-neck", span, message, f"Write a fret from 0 to {last}.{apart}")
        return 0

    def _graces(self) -> tuple[GraceSign, ...]:
        graces = []
        while True:
            match, span = self._take(_GRACE)
            if match is None:
                break
            if not match["fret"] or not match["link"]:
                what = "how the next note is reached" if match["fret"] else "which fret it is on"
                message = f"The small note {quoted(span.text)} does not say {what}."
                mend = "Write g5h7 or g5/7 for a small 5 slurred into 7, or g5,7 where both are plucked."
                self._error("bad-grace", span, message, mend)
                continue
            string = int(match["string"][:2]) if match["string"] else None
            graces.append(GraceSign(self._fret(match["fret"], span), string, match["link"].lower(), span))
        if graces and (len(graces) > _MOST_GRACES or self._body[self.at : self.at + 1] not in STARTS):
            message = f"No note stands behind the small note {quoted(graces[-1].span.text)}."
            mend = "Write the note it leads to right behind it, such as g5h7."
            self._error("bad-grace", graces[-1].span, message, mend)
        return tuple(graces)

    def _core(self) -> NoteSign | None:
        """The number, a cross or a harmonic, in brackets or not."""
        at = self.at
        soft, _ = self._take(_SOFT_OPENS)
        number, span = self._take(_NUMBER)
        fret = self._fret(number["fret"], span) if number is not None and number["fret"] else 0
        note = NoteSign(at, self.at, self.at, span.text, span, fret, ghost=soft is not None)
        note = replace(note, dead=number is not None and bool(number["dead"]))
        if self._body[self.at : self.at + 1] == "<":
            note = self._with_harmonic(note, is_natural=number is None)
        elif number is None:
            self._refuse_bracket(at)
            return None
        if soft is not None and self._take(_SOFT_CLOSES)[0] is None:
            self._refuse_bracket(at)
        return replace(note, text=self._body[at : self.at], end=self.at)

    def _refuse_bracket(self, at: int) -> None:
        self.at = max(self.at, at + 1)
        message = "This bracket is not closed around a fret."
        mend = "Write (5) for a note that is played softly."
        self._error("unknown-sign", self._span(at, at + 1), message, mend)

    def _with_harmonic(self, note: NoteSign, *, is_natural: bool) -> NoteSign:
        match, span = self._take(_HARMONIC)
        if match is None or not (match["touched"] or match["pinch"]) or (is_natural and match["pinch"]):
            span = span if match is not None else self._take(_UNCLOSED)[1]
            mend = "Write <12> for a natural harmonic, 7<19> for a stopped string, 7<p> for a pinched one."
            message = f"{quoted(span.text)} does not say where the string is touched."
            self._error("bad-harmonic", span, message, mend)
            return note
        touched = int(match["touched"]) if match["touched"] else note.fret + _USUAL_PINCH
        kind = HarmonicKind.PINCH if match["pinch"] else HarmonicKind.ARTIFICIAL
        if is_natural:
            kind = HarmonicKind.NATURAL
            self._fret(match["touched"], span)
        try:
            harmonic = Harmonic(kind, touched, 0 if is_natural else note.fret)
        except ScoreError as error:
            self._is_sound = False
            self._notebook.refused("bad-harmonic", span, error)
            return note
        return replace(note, harmonic=harmonic, fret=harmonic.fret, span=span if is_natural else note.span)

    def _with_signs_behind(self, note: NoteSign) -> NoteSign:
        """The note with its bend, trill and vibrato, each of which it may have once."""
        while True:
            at = self.at
            waves, _ = self._take(_VIBRATO)
            if waves is not None:
                note = replace(note, waves=min(2, len(waves[0])))
                continue
            trill, span = self._take(_TRILL)
            if trill is not None:
                note = self._with_trill(note, trill, span)
                continue
            match, span = self._take(BEND)
            if match is None:
                return note
            if note.bend is not None:
                message = f"{quoted(span.text)} is a second bend of one note."
                self._error("bad-bend", span, message, "Write all of its curve in one, such as 7b9r7b9.")
            bend = bend_of(match[0], note.fret, span, self._notebook)
            self._is_sound = self._is_sound and bend is not None
            note = replace(note, bend=bend)
            if self.at == at:
                return note

    def _with_trill(self, note: NoteSign, match: re.Match[str], span: Span) -> NoteSign:
        value = value_of_letters(match["value"] or "") or SIXTEENTH
        fret = self._fret(match["fret"], span) if match["fret"] else 0
        if fret <= note.fret and self._is_sound:
            message = (
                f"{quoted(span.text)} does not say with which higher fret of the string {note.fret} changes."
            )
            self._error(
                "bad-trill", span, message, f"Write {note.fret}tr{note.fret + 2}, or another higher fret."
            )
        return replace(note, trill=(fret, value))

    def _check(self, note: NoteSign) -> None:
        asks = note.bend is not None or note.trill is not None or note.waves > 0
        if note.dead and (asks or note.harmonic is not None):
            message = f"{quoted(note.text)} has no pitch, so that nothing can be done with it."
            self._error("signs-clash", note.span, message, "Write the note with its fret, or the x alone.")
