r"""One line of tab: the numbers, slurs and bar lines on one string.

``-`` fills; a number is a fret; ``h``, ``p``, ``/`` and ``\`` between two numbers slur them; ``|`` is a bar
line, and a colon beside it opens or closes a repeat (common practice, no source).
"""

import re
from dataclasses import dataclass, field
from typing import Final

from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook, quoted
from fretwright.fretboard.neck import Place
from fretwright.score.note import Attack

SLURS: Final = {"h": Attack.HAMMER_ON, "p": Attack.PULL_OFF, "/": Attack.SLIDE, "\\": Attack.SLIDE}
"""Sign between two numbers, and how the second one starts."""

_TOKEN = re.compile(r"-+|[0-9]+|[hHpP/\\]|\|+:?|:\|*|(.)\1*")
_NOT_YET: Final = {
    "b": "a bend",
    "^": "a bend",
    "r": "a release",
    "~": "vibrato",
    "v": "vibrato",
    "x": "a muted string",
    "t": "a tap",
    "s": "a slide (which is written / or \\)",
    "(": "a note in brackets",
    ")": "a note in brackets",
    "<": "a harmonic",
    ">": "a harmonic",
    "*": "a harmonic",
}
_FILLERS: Final = " –—−_=."


@dataclass(frozen=True, slots=True)
class Number:
    """A fret where it is written."""

    column: int
    """Counted from the first bar line of its line, which is 0."""
    text: str
    place: Place
    span: Span
    slur: str = ""
    """The sign that joins it to the number before it, small letters; empty where it is plucked."""
    slur_span: Span | None = None

    @property
    def end(self) -> int:
        """Column after its last digit."""
        return self.column + len(self.text)


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
        self._slur: Span | None = None

    def read(self) -> None:
        for match in _TOKEN.finditer(self._line.body):
            span = self._line.span(match.start(), match[0])
            sign = match[0][0]
            if sign == "-":
                continue
            if sign in "|:":
                self._bar_line(match[0], match.start(), span)
            elif sign in "0123456789":
                self._number(match[0], match.start(), span)
            elif sign.lower() in SLURS:
                self._open_slur(span)
            else:
                self._refuse_sign(match[0], span)
        if self._slur is not None:
            self._refuse_dangling(self._slur, "after")

    def _error(self, code: str, span: Span, message: str, mend: str) -> None:
        self._line.is_sound = False
        self._notebook.error(code, span, message, mend)

    def _number(self, text: str, column: int, span: Span) -> None:
        slur, self._slur = self._slur, None
        last = self._last_fret
        if len(text) > 2 or int(text) > last:
            apart = " If these are two notes, put a dash between them." if len(text) > 1 else ""
            message = f"There is no fret {text[:8]} on this neck; the last one is {last}."
            self._error("fret-beyond-neck", span, message, f"Write a fret from 0 to {last}.{apart}")
            return
        place = Place(self._line.string, int(text))
        sign = slur.text.lower() if slur is not None else ""
        self._line.numbers.append(Number(column, text, place, span, sign, slur))

    def _open_slur(self, span: Span) -> None:
        if self._slur is not None or not self._line.numbers:
            self._refuse_dangling(span, "before")
        else:
            self._slur = span

    def _bar_line(self, text: str, column: int, span: Span) -> None:
        for offset, sign in enumerate(text):
            if sign == "|":
                self._line.bar_lines.append(column + offset)
            else:
                self._line.colons.add(column + offset)
        if "|" not in text and self._line.body[column - 1] != "|":
            message = "A colon stands here without a bar line beside it."
            self._error("unknown-sign", span, message, "Write |: where a repeat starts and :| where it ends.")

    def _refuse_dangling(self, span: Span, where: str) -> None:
        name = SLURS[span.text.lower()].value
        message = f"This {quoted(span.text)} has no number {where} it on its own string."
        mend = f"A {name} joins two numbers of one line, such as 5{span.text}7; it cannot change the string."
        self._error("dangling-slur", span, message, mend)

    def _refuse_sign(self, text: str, span: Span) -> None:
        name = _NOT_YET.get(text[0].lower())
        if name is not None:
            message = f"{quoted(text)} stands for {name}, which is not engraved yet."
            self._error("not-engraved-yet", span, message, "Leave it out for now and say it in the remark.")
            return
        message = f"{quoted(text) if text.strip() else 'A space'} has no meaning in tab."
        is_filler = text[0] in _FILLERS
        mend = "Use a plain dash." if is_filler else "Use numbers, dashes, bar lines and h p / \\ only."
        self._error("unknown-sign", span, message, mend)
