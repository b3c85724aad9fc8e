r"""Text tab as a grid: which numbers stand on which string, in which column of which bar.

Tab is written as the trade writes it (common practice, no source): a line for each string, the highest on top,
each with the letter of its string and a bar line in front; ``-`` fills; a number is a fret; numbers in one
column sound together; ``h``, ``p``, ``/`` and ``\`` between two numbers of a line slur them; ``|`` is a bar
line, ``|:`` and ``:|`` enclose a repeat, and ``x3`` after its last bar line says how often it is played.
Systems are kept apart by an empty line.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

from fretwright.base.errors import NotationError
from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook, quoted
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Attack
from fretwright.theory.pitch import NoteName

_LINE = re.compile(r"(\s*)([A-Ga-g](?:#|b|♯|♭)?)?\s*(\|.*)$")
_TIMES = re.compile(r"\s*(?:x\s*([0-9]{1,2})|([0-9]{1,2})\s*x)\s*$", re.IGNORECASE)
_TOKEN = re.compile(r"-+|[0-9]+|[hHpP/\\]|\|+:?|:\|*|(.)\1*")
_SLURS: Final = {"h": Attack.HAMMER_ON, "p": Attack.PULL_OFF, "/": Attack.SLIDE, "\\": Attack.SLIDE}
_NOT_YET: Final = {
    "b": "a bend",
    "r": "a release",
    "~": "vibrato",
    "x": "a muted string",
    "t": "a tap",
    "v": "vibrato",
    "s": "a slide (write / or \\ instead)",
    "(": "a note in brackets",
    "<": "a harmonic",
    "*": "a harmonic",
    "^": "a bend",
}
_PARTNERS: Final = {")": "(", ">": "<"}
MOST_COLUMNS: Final = 4000


@dataclass(frozen=True, slots=True)
class Fretted:
    """One number of the tab."""

    place: Place
    attack: Attack
    span: Span


@dataclass(frozen=True, slots=True)
class GridBar:
    """One bar of the tab."""

    columns: tuple[tuple[Fretted, ...], ...]
    """What sounds together, in order of time; each column from the lowest string up."""
    span: Span
    """Its first character on the top line."""
    opens_repeat: bool = False
    closes_repeat: int = 0


@dataclass(slots=True)
class _Line:
    """One string's line of a system, and what was found in it."""

    string: int
    body: str
    start: Span
    """Place of the body's first bar line."""
    numbers: list["_Number"] = field(default_factory=list)
    bar_lines: list[int] = field(default_factory=list)
    colons: set[int] = field(default_factory=set)

    def span(self, column: int, text: str = "") -> Span:
        return self.start.moved(column, text)


@dataclass(slots=True)
class _Number:
    column: int
    text: str
    place: Place
    span: Span
    slur: str = ""
    slur_span: Span | None = None

    @property
    def end(self) -> int:
        return self.column + len(self.text)


def read_grid(lines: Sequence[Span], neck: Neck, notebook: Notebook) -> tuple[GridBar, ...] | None:
    """The bars of a tab, or None with findings where it cannot be read to its end."""
    bars: list[GridBar] = []
    is_sound = True
    for system in _systems(lines):
        found = _System(neck, notebook).read(system)
        is_sound = is_sound and found is not None
        bars.extend(found or ())
    return tuple(bars) if is_sound else None


def _systems(lines: Sequence[Span]) -> Iterator[list[Span]]:
    system: list[Span] = []
    for line in lines:
        if line.text.strip():
            system.append(line)
        elif system:
            yield system
            system = []
    if system:
        yield system


class _System:
    """Reads one system. Each step goes on over what the step before could not read."""

    def __init__(self, neck: Neck, notebook: Notebook) -> None:
        self._neck = neck
        self._notebook = notebook
        self._is_sound = True

    def read(self, spans: Sequence[Span]) -> tuple[GridBar, ...] | None:
        lines, times = self._lines(spans)
        if lines and self._has_every_string(lines, spans):
            self._check_letters(lines, spans)
        for line in lines:
            self._read_line(line)
        if self._is_sound:
            self._check_lengths(lines)
        if self._is_sound:
            self._check_bar_lines(lines)
        return tuple(self._bars(lines, times)) if self._is_sound and lines else None

    def _error(self, code: str, span: Span, message: str, mend: str) -> None:
        self._is_sound = False
        self._notebook.error(code, span, message, mend)

    def _lines(self, spans: Sequence[Span]) -> tuple[list[_Line], int]:
        lines: list[_Line] = []
        times = 2
        for span in spans:
            match = _LINE.fullmatch(span.text.rstrip())
            if match is None:
                text = span.text.strip()
                self._error(
                    "not-a-tab-line",
                    span.moved(len(span.text) - len(span.text.lstrip()), text),
                    f"{quoted(text)} is no line of tab.",
                    "Write the string's letter, a bar line and dashes, such as e|--5--7--|; other rows have keys of their own.",
                )
                continue
            body = match[3]
            after = _TIMES.search(body)
            if after and body[: after.start()].endswith("|"):
                times = int(after[1] or after[2])
                body = body[: after.start()]
                if not 2 <= times <= 32:
                    self._error(
                        "bad-value",
                        span.moved(match.start(3) + after.start(), after[0].strip()),
                        f"{quoted(after[0])} is no number of times to play a repeat.",
                        "Write from x2 to x32.",
                    )
            lines.append(_Line(len(lines) + 1, body, span.moved(match.start(3), body)))
        return lines, times

    def _has_every_string(self, lines: Sequence[_Line], spans: Sequence[Span]) -> bool:
        wanted = self._neck.tuning.string_count
        if len(lines) == wanted:
            return True
        if len(lines) == len(spans):
            message = f"The tab has {len(lines)} lines, and the tuning {self._neck.tuning.name} has {wanted} strings."
            mend = "Write one line for each string, and leave an empty line between two systems."
            self._error("wrong-string-count", lines[0].start, message, mend)
        self._is_sound = False
        return False

    def _check_letters(self, lines: Sequence[_Line], spans: Sequence[Span]) -> None:
        tuned = [pitch.name for pitch in self._neck.tuning.open_pitches]
        letters = [span.text[: span.text.index("|")].strip() for span in spans]
        if not any(letters):
            return
        wanted = " ".join(str(name) for name in tuned)
        written = [_note_name(letter) for letter in letters]
        is_upside_down = [name.pitch_class if name else -1 for name in reversed(written)] == [
            name.pitch_class for name in tuned
        ] and tuned != tuned[::-1]
        for line, letter, name, right in zip(lines, letters, written, tuned, strict=True):
            if name is not None and name.pitch_class == right.pitch_class:
                continue
            turned = "The highest string stands on top: turn the tab over. " if is_upside_down else ""
            said = f"says {quoted(letter)}" if letter else "has no letter"
            self._error(
                "wrong-string-letter",
                Span(line.start.file, line.start.line, _first_column(spans[line.string - 1]), letter),
                f"String {line.string} {said}, and the tuning {self._neck.tuning.name} has {right} there.",
                f"{turned}From the top the letters are {wanted}.",
            )
            if is_upside_down:
                return

    def _read_line(self, line: _Line) -> None:
        slur: tuple[str, Span] | None = None
        for match in _TOKEN.finditer(line.body):
            text, column = match[0], match.start()
            if text[0] == "-":
                continue
            span = line.span(column, text)
            if text[0] in "|:":
                self._read_bar_line(line, text, column)
            elif text.isdecimal() and text.isascii():
                self._read_number(line, text, column, slur)
                slur = None
            elif text[0] in "hHpP/\\":
                if slur is not None or not line.numbers:
                    self._refuse_dangling(text, span, "before")
                slur = (text.lower(), span)
            else:
                self._refuse_sign(text, span)
        if slur is not None:
            self._refuse_dangling(slur[0], slur[1], "after")

    def _read_number(self, line: _Line, text: str, column: int, slur: tuple[str, Span] | None) -> None:
        span = line.span(column, text)
        last = self._neck.last_fret
        if len(text) > 2 or int(text) > last:
            apart = " If these are two notes, put a dash between them." if len(text) > 1 else ""
            self._error(
                "fret-beyond-neck",
                span,
                f"There is no fret {text[:8]} on this neck; the last one is {last}.",
                f"Write a fret from 0 to {last}.{apart}",
            )
            return
        number = _Number(column, text, Place(line.string, int(text)), span)
        if slur is not None and line.numbers:
            number.slur, number.slur_span = slur
        line.numbers.append(number)

    def _read_bar_line(self, line: _Line, text: str, column: int) -> None:
        for offset, sign in enumerate(text):
            (line.bar_lines.append if sign == "|" else line.colons.add)(column + offset)
        if "|" not in text and column and line.body[column - 1] != "|":
            self._error(
                "unknown-sign",
                line.span(column, text),
                "A colon stands here without a bar line beside it.",
                "Write |: where a repeat starts and :| where it ends.",
            )

    def _refuse_dangling(self, sign: str, span: Span, where: str) -> None:
        name = _SLURS[sign.lower()].value
        self._error(
            "dangling-slur",
            span,
            f"This {quoted(sign)} has no number {where} it on its own string.",
            f"A {name} joins two numbers of one line, such as 5{sign}7; it cannot change the string.",
        )

    def _refuse_sign(self, text: str, span: Span) -> None:
        sign = _PARTNERS.get(text[0].lower(), text[0].lower())
        if sign in _NOT_YET:
            self._error(
                "not-engraved-yet",
                span,
                f"{quoted(text)} stands for {_NOT_YET[sign]}, which is not engraved yet.",
                "Leave the sign out for now and say it in the remark.",
            )
            return
        mend = (
            "Use a plain dash."
            if text[0] in " –—−_=."
            else "Use numbers, dashes, bar lines and h p / \\ only."
        )
        self._error(
            "unknown-sign",
            span,
            f"{quoted(text) if text.strip() else 'A space'} has no meaning in tab.",
            mend,
        )

    def _check_lengths(self, lines: Sequence[_Line]) -> None:
        usual = Counter(len(line.body) for line in lines).most_common(1)[0][0] if lines else 0
        for line in lines:
            if len(line.body) != usual:
                off = abs(len(line.body) - usual)
                how = "longer" if len(line.body) > usual else "shorter"
                self._error(
                    "uneven-tab",
                    line.span(min(len(line.body), usual), ""),
                    f"The line of string {line.string} is {off} character{'s' * (off > 1)} {how} than the others.",
                    "Let all lines of a system be equally long, so that what sounds together stands in one column.",
                )

    def _check_bar_lines(self, lines: Sequence[_Line]) -> None:
        wanted = Counter(column for line in lines for column in line.bar_lines)
        for line in lines:
            for column in line.bar_lines:
                if wanted[column] * 2 <= len(lines):
                    self._error(
                        "broken-bar-line",
                        line.span(column, "|"),
                        "The other strings have no bar line in this column.",
                        "Let a bar line run through all strings in one column.",
                    )
            for column, count in wanted.items():
                if count * 2 > len(lines) and column not in line.bar_lines:
                    self._error(
                        "broken-bar-line",
                        line.span(column, line.body[column : column + 1]),
                        f"The bar line of the other strings is missing on string {line.string}.",
                        "Let a bar line run through all strings in one column.",
                    )
        if lines and not lines[0].body.endswith("|"):
            end = len(lines[0].body)
            self._error(
                "bar-line-missing",
                lines[0].span(end),
                "The tab does not end with a bar line.",
                "Write | at its end.",
            )

    def _bars(self, lines: Sequence[_Line], times: int) -> Iterator[GridBar]:
        columns = list(self._columns(lines))
        edges = lines[0].bar_lines
        colons = {column for line in lines for column in line.colons}
        last = [edge for edge in edges if edge - 1 in colons][-1:]
        for left, right in pairwise(edges):
            if right - left == 1:
                continue
            inside = tuple(column for start, column in columns if left < start < right)
            closes = (times if [right] == last else 2) if right - 1 in colons else 0
            yield GridBar(inside, lines[0].span(left + 1), left + 1 in colons, closes)

    def _columns(self, lines: Sequence[_Line]) -> Iterator[tuple[int, tuple[Fretted, ...]]]:
        """Numbers whose characters overlap stand in one column; each with its first character."""
        numbers = sorted(
            (n for line in lines for n in line.numbers), key=lambda n: (n.column, -n.place.string)
        )
        group: list[_Number] = []
        before: list[_Number] = []
        for number in numbers:
            if group and number.column >= max(member.end for member in group):
                yield self._column(group, before)
                before, group = group, []
            group.append(number)
        if group:
            yield self._column(group, before)

    def _column(self, group: Sequence[_Number], before: Sequence[_Number]) -> tuple[int, tuple[Fretted, ...]]:
        strings = Counter(number.place.string for number in group)
        for number in group:
            if strings[number.place.string] > 1:
                self._error(
                    "columns-run-together",
                    number.span,
                    f"It cannot be told what {quoted(number.text)} sounds together with.",
                    "Put one more dash on every string between the two columns.",
                )
                break
        heads = tuple(
            Fretted(number.place, self._attack(number, before), number.span)
            for number in sorted(group, key=lambda n: -n.place.string)
        )
        return group[0].column, heads

    def _attack(self, number: _Number, before: Sequence[_Number]) -> Attack:
        if number.slur_span is None:
            return Attack.PLUCK
        left = next((other for other in before if other.place.string == number.place.string), None)
        if left is None:
            self._error(
                "dangling-slur",
                number.slur_span,
                f"Another string sounds between the two ends of this {quoted(number.slur)}.",
                "A slur joins two notes of one string with nothing in between.",
            )
        else:
            self._check_direction(number, left)
        return _SLURS[number.slur]

    def _check_direction(self, number: _Number, left: _Number) -> None:
        rises = number.place.fret > left.place.fret
        if number.slur_span and (number.slur, rises) in {("/", False), ("\\", True)}:
            right_sign, way = ("\\", "down") if number.slur == "/" else ("/", "up")
            self._notebook.warning(
                "slide-direction",
                number.slur_span,
                f"The slide from {left.text} to {number.text} goes {way}.",
                f"Write {left.text}{right_sign}{number.text}.",
            )


def _note_name(letter: str) -> NoteName | None:
    try:
        return NoteName.parse(letter)
    except NotationError:
        return None


def _first_column(span: Span) -> int:
    return span.column + len(span.text) - len(span.text.lstrip())
