r"""One line of tab: the notes, slurs, slides and bar lines on one string.

``-`` fills; a number is a fret, with the signs of :mod:`~fretwright.course.tabsigns` around it; ``h``, ``p``,
``/`` and ``\`` between two numbers slur them, ``//`` and ``\\`` slide to a note that is plucked all the same;
``t`` before a number taps it; ``|`` is a bar line, and a colon beside it opens or closes a repeat. A slide
sign that touches one number alone has no other end: ``/7`` slides into it from below, ``7\`` slides down out
of it (common practice, no source).
"""

import re
from dataclasses import dataclass, field, replace
from typing import Final

from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.tabsigns import SLURS, STARTS, NoteSign, read_note
from fretwright.fretboard.neck import Place
from fretwright.score.techniques import SlideEnd

TAP: Final = "t"
SLIDES: Final = frozenset({"/", "\\"})
SHIFTS: Final = frozenset({"//", "\\\\"})
_IN: Final = {"/": SlideEnd.BELOW, "\\": SlideEnd.ABOVE}
_OUT: Final = {"/": SlideEnd.ABOVE, "\\": SlideEnd.BELOW}

_TOKEN = re.compile(
    r"(?P<fill>-+)|(?P<bar>\|+:?|:\|*)|(?P<link>//|\\\\|[hpt/\\])|(?P<note>[0-9(<xg])|(?P<other>(.)\6*)",
    re.IGNORECASE,
)
_LEFT_ALONE: Final = {
    "b": "A bend touches its number: write 7b9.",
    "r": "A release stands behind its bend: write 7b9r7.",
    "~": "Vibrato touches its number: write 7~, or 7~~ for a wide one.",
    "v": "Write 7~ for vibrato.",
    "s": "Write 5/7 for a slide, or 5//7 where the 7 is plucked.",
    "^": "Write 7b9 for a bend up to the pitch of fret 9.",
    ")": "Write (5) for a note that is played softly.",
    ">": "Write <12> for a harmonic; an accent is said by the key accent.",
    "*": "Write <12> for a natural harmonic.",
    "=": "Use a plain dash; between notes = has no meaning.",
}
"""What was most likely meant by a sign that touches no number."""
_FILLERS: Final = " –—−_."


@dataclass(frozen=True, slots=True)
class Number:
    """A note where it is written."""

    place: Place
    sign: NoteSign
    link: str = ""
    """The sign that joins it to the number before it, or ``t``; empty where it is plucked."""
    link_span: Span | None = None
    slide_in: SlideEnd | None = None
    slide_out: SlideEnd | None = None

    @property
    def column(self) -> int:
        """Counted from the first bar line of its line, which is 0."""
        return self.sign.column

    @property
    def end(self) -> int:
        """Column after its last digit or bracket."""
        return self.sign.end

    @property
    def text(self) -> str:
        """The fret as it is written."""
        return self.sign.text

    @property
    def span(self) -> Span:
        """Where it stands."""
        return self.sign.span


@dataclass(slots=True)
class Line:
    """One string's line of a system, and what was found in it."""

    string: int
    body: str
    """From the first bar line on."""
    start: Span
    """Place of the first bar line."""
    letter: Span
    """The letter of the string, where one is written; ``text`` is empty otherwise."""
    numbers: list[Number] = field(default_factory=list)
    bar_lines: list[int] = field(default_factory=list)
    """Columns of the bar lines."""
    colons: set[int] = field(default_factory=set)
    """Columns of the colons of repeat signs."""
    is_sound: bool = True
    """Whether nothing in it was a mistake."""

    def span(self, column: int, text: str = "") -> Span:
        """Where a column of this line stands in the file."""
        return self.start.moved(column, text)


def read_line(line: Line, last_fret: int, notebook: Notebook) -> None:
    """Find the numbers and bar lines of a line; what is none of them is written down."""
    _LineReader(line, last_fret, notebook).read()


class _LineReader:
    def __init__(self, line: Line, last_fret: int, notebook: Notebook) -> None:
        self._line = line
        self._last_fret = last_fret
        self._notebook = notebook
        self._link: Span | None = None
        self._slide_in: SlideEnd | None = None
        self._touched_at = -1
        """Column after the last number, bar lines behind it not counted."""

    def read(self) -> None:
        at, body = 0, self._line.body
        while match := _TOKEN.match(body, at):
            span = self._line.span(at, match[0])
            at = match.end()
            if match["bar"]:
                self._bar_line(match[0], match.start(), span)
            elif match["note"]:
                at = self._note(match.start())
            elif match["link"]:
                self._open_link(match, span)
            elif match["other"]:
                self._refuse_sign(match[0], span)
        if self._link is not None:
            self._refuse_dangling(self._link, "after")

    def _error(self, code: str, span: Span, message: str, mend: str) -> None:
        self._line.is_sound = False
        self._notebook.error(code, span, message, mend)

    def _note(self, column: int) -> int:
        """Read the note that begins at a column; gives the column after it."""
        line = self._line
        sign, stop = read_note(line.body, line.start, column, self._last_fret, self._notebook)
        link, slide_in = self._link, self._slide_in
        self._link = self._slide_in = None
        self._touched_at = stop
        if sign is None:
            line.is_sound = False
            return stop
        if sign.graces and (link is not None or slide_in is not None):
            message = f"A slur or a tap leads to the small note {quoted(sign.graces[0].span.text)}."
            self._error(
                "bad-grace", sign.graces[0].span, message, "A small note is plucked; leave the sign out."
            )
        name = link.text.lower() if link is not None else ""
        place = Place(line.string, sign.fret)
        line.numbers.append(Number(place, sign, name, link, slide_in))
        return stop

    def _open_link(self, match: re.Match[str], span: Span) -> None:
        sign = span.text.lower()
        before = self._touched_at == match.start()
        behind = self._line.body[match.end() :].lstrip("|:")[:1] in STARTS
        if self._link is not None or self._slide_in is not None:
            self._refuse_dangling(span, "before")
        elif sign in SLIDES and before and not behind:
            last = self._line.numbers[-1] if self._line.numbers else None
            if last is not None:
                self._line.numbers[-1] = replace(last, slide_out=_OUT[sign])
        elif sign in SLIDES and behind and not before:
            self._slide_in = _IN[sign]
        elif sign != TAP and not self._line.numbers:
            self._refuse_dangling(span, "before")
        else:
            self._link = span

    def _bar_line(self, text: str, column: int, span: Span) -> None:
        if self._touched_at == column:
            self._touched_at = column + len(text)
        for offset, sign in enumerate(text):
            if sign == "|":
                self._line.bar_lines.append(column + offset)
            else:
                self._line.colons.add(column + offset)
        if "|" not in text and self._line.body[column - 1] != "|":
            message = "A colon stands here without a bar line beside it."
            self._error("unknown-sign", span, message, "Write |: where a repeat starts and :| where it ends.")

    def _refuse_dangling(self, span: Span, where: str) -> None:
        sign = span.text.lower()
        message = f"This {quoted(span.text)} has no number {where} it on its own string."
        if sign == TAP:
            mend = "Write t12 to tap fret 12; a trill touches its number: 7tr9."
        else:
            name = "slide" if sign in SLIDES | SHIFTS else SLURS[sign].value
            mend = (
                f"A {name} joins two numbers of one line, such as 5{span.text}7; it cannot change the string."
            )
        self._error("dangling-slur", span, message, mend)

    def _refuse_sign(self, text: str, span: Span) -> None:
        message = f"{quoted(text) if text.strip() else 'A space'} has no meaning in tab."
        usual = "Use numbers, dashes, bar lines and the signs of tab: h p / \\ b r ~ x t ( ) < >."
        mend = "Use a plain dash." if text[0] in _FILLERS else _LEFT_ALONE.get(text[0].lower(), usual)
        self._error("unknown-sign", span, message, mend)
