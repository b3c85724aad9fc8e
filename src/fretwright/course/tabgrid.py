"""Text tab as a grid: which numbers stand on which string, in which column of which bar.

Tab is written as the trade writes it (common practice, no source): a line for each string, the highest on
top, each with the letter of its string and a bar line in front; numbers in one column sound together. ``|:``
and ``:|`` enclose a repeat, and ``x3`` after the last bar line says how often it is played. Systems are kept
apart by an empty line.
"""

import re
from collections import Counter, deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from fretwright.base.errors import NotationError
from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.tabline import SHIFTS, SLIDES, TAP, Line, Number, read_line
from fretwright.course.tabsigns import SLURS, NoteSign
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Attack
from fretwright.score.techniques import SlideEnd
from fretwright.theory.pitch import NoteName

_LINE = re.compile(r"(?P<letter>\s*(?:[A-Ga-g](?:#|b|♯|♭)?)?)\s*(?P<body>\|.*)")
_TIMES = re.compile(r"\s*(?:x\s*([0-9]{1,2})|([0-9]{1,2})\s*x)\s*$", re.IGNORECASE)
_MOST_TIMES: Final = 32

_LONGEST_TAB: Final = 100_000
"""Characters of a tab; no exercise is longer."""


@dataclass(frozen=True, slots=True)
class Fretted:
    """One number of the tab."""

    place: Place
    attack: Attack
    span: Span
    sign: NoteSign
    shift_slide: bool = False
    slide_in: SlideEnd | None = None
    slide_out: SlideEnd | None = None


@dataclass(frozen=True, slots=True)
class GridBar:
    """One bar of the tab."""

    columns: tuple[tuple[Fretted, ...], ...]
    """What sounds together, in order of time; each column from the lowest string up."""
    span: Span
    """Its first character on the top line."""
    opens_repeat: bool = False
    closes_repeat: int = 0


Grid = tuple[GridBar, ...]
"""All bars of a tab, or of the strings of one voice."""


def read_grid(lines: Sequence[Span], neck: Neck, notebook: Notebook) -> Grid | None:
    """The bars of a tab, or None with findings where it cannot be read to its end."""
    grids = read_grids(lines, neck, [frozenset(neck.tuning.strings)], notebook)
    return None if grids is None else grids[0]


def read_grids(
    lines: Sequence[Span], neck: Neck, voices: Sequence[frozenset[int]], notebook: Notebook
) -> tuple[Grid, ...] | None:
    """The bars of each voice of one tab, which is given by its strings; None with findings."""
    if sum(len(line.text) for line in lines) > _LONGEST_TAB:
        message = f"The tab has more than {_LONGEST_TAB} characters."
        notebook.error("exercise-too-long", lines[0], message, "Split the exercise.")
        return None
    systems = [_System(spans, neck, voices, notebook).read() for spans in _systems(lines)]
    bars = [bar for system in systems for bar in (system or [()])[0]]
    if None in systems or not _repeats_close(bars, notebook):
        return None
    read = [system for system in systems if system is not None]
    return tuple(tuple(bar for system in read for bar in system[nth]) for nth in range(len(voices)))


def _systems(lines: Sequence[Span]) -> Iterator[list[Span]]:
    system: list[Span] = []
    for line in (*lines, None):
        if line is not None and line.text.strip():
            system.append(line)
        elif system:
            yield system
            system = []


def _repeats_close(bars: Sequence[GridBar], notebook: Notebook) -> bool:
    """Whether each repeat that is opened is closed again; what is not is written down."""
    opened: Span | None = None
    is_sound = True
    for bar in (*bars, None):
        if opened is not None and (bar is None or bar.opens_repeat):
            message = "A repeat is opened here and not closed."
            notebook.error("dangling-repeat", opened, message, "Write :| at the end of its last bar.")
            is_sound = False
        if bar is not None:
            opened = bar.span if bar.opens_repeat else opened
            opened = None if bar.closes_repeat else opened
        else:
            break
    return is_sound


class _System:
    """Reads one system. Each step reports all that it can before the next one is given up."""

    def __init__(
        self, spans: Sequence[Span], neck: Neck, voices: Sequence[frozenset[int]], notebook: Notebook
    ) -> None:
        self._spans = spans
        self._neck = neck
        self._voices = voices
        self._notebook = notebook
        self._is_sound = True
        self._times: int | None = None

    def read(self) -> tuple[Grid, ...] | None:
        lines = self._lines()
        if self._has_every_string(lines):
            self._check_letters(lines)
        for line in lines:
            read_line(line, self._neck.last_fret, self._notebook)
            self._is_sound = self._is_sound and line.is_sound
        for check in (self._check_lengths, self._check_bar_lines):
            if self._is_sound:
                check(lines)
        grids = tuple(tuple(self._bars(lines, voice)) for voice in self._voices) if self._is_sound else ()
        return grids if self._is_sound else None

    def _error(self, code: str, span: Span, message: str, mend: str) -> None:
        self._is_sound = False
        self._notebook.error(code, span, message, mend)

    def _lines(self) -> list[Line]:
        lines: list[Line] = []
        for span in self._spans:
            match = _LINE.fullmatch(span.text.rstrip())
            if match is None:
                text = span.text.strip()
                self._error(
                    "not-a-tab-line",
                    span.moved(len(span.text) - len(span.text.lstrip()), text),
                    f"{quoted(text)} is no line of tab.",
                    "Write the string's letter, a bar line and dashes, such as e|--5--7--|.",
                )
                continue
            start = match.start("body")
            body = self._without_times(match["body"], span.moved(start))
            letter = match["letter"].strip()
            letter_span = span.moved(match.end("letter") - len(letter), letter)
            lines.append(Line(len(lines) + 1, body, span.moved(start, body), letter_span))
        return lines

    def _without_times(self, body: str, start: Span) -> str:
        """The line without ``x3`` after its last bar line."""
        match = _TIMES.search(body)
        if match is None or not body[: match.start()].endswith("|"):
            return body
        times = int(match[1] or match[2])
        if not body[: match.start()].endswith(":|") or not 2 <= times <= _MOST_TIMES:
            self._error(
                "dangling-repeat",
                start.moved(match.start(), match[0].strip()),
                f"{quoted(match[0])} does not say how often a repeat is played.",
                f"Write x2 to x{_MOST_TIMES} after the sign :| that ends the system.",
            )
        self._times = times
        return body[: match.start()]

    def _has_every_string(self, lines: Sequence[Line]) -> bool:
        tuning = self._neck.tuning
        if len(lines) == tuning.string_count:
            return True
        if len(lines) == len(self._spans):
            self._error(
                "wrong-string-count",
                lines[0].start,
                f"The tab has {len(lines)} lines; {tuning.name} tuning has {tuning.string_count} strings.",
                "Write one line for each string, and leave an empty line between two systems.",
            )
        return False

    def _check_letters(self, lines: Sequence[Line]) -> None:
        tuned = [pitch.name for pitch in self._neck.tuning.open_pitches]
        if not any(line.letter.text for line in lines):
            return
        sounding = [_pitch_class(line.letter.text) for line in lines]
        right = [name.pitch_class for name in tuned]
        is_upside_down = sounding != right and sounding[::-1] == right
        for line, name in zip(lines, tuned, strict=True):
            letter = line.letter.text
            if _pitch_class(letter) == name.pitch_class:
                continue
            said = f"says {quoted(letter)}" if letter else "has no letter"
            turn = "The highest string stands on top: turn the tab over. " if is_upside_down else ""
            self._error(
                "wrong-string-letter",
                line.letter,
                f"String {line.string} {said}, and {self._neck.tuning.name} tuning has {name} there.",
                f"{turn}From the top write {' '.join(map(str, tuned))}, or another tuning as a key.",
            )
            if is_upside_down:
                return

    def _check_lengths(self, lines: Sequence[Line]) -> None:
        usual = Counter(len(line.body) for line in lines).most_common(1)[0][0]
        for line in lines:
            off = len(line.body) - usual
            if off:
                count = f"{abs(off)} character{'s' * (abs(off) > 1)}"
                self._error(
                    "uneven-tab",
                    line.span(min(len(line.body), usual), line.body[usual:]),
                    f"String {line.string} is {count} {'longer' if off > 0 else 'shorter'} than the others.",
                    "Let all lines of a system be equally long, with what sounds together in one column.",
                )

    def _check_bar_lines(self, lines: Sequence[Line]) -> None:
        mend = "Let each bar line run through all strings in one column."
        strings_at = Counter(column for line in lines for column in line.bar_lines)
        for line in lines:
            for column, count in strings_at.items():
                is_there = column in line.bar_lines
                if is_there and count * 2 <= len(lines):
                    message = "The other strings have no bar line in this column."
                elif not is_there and count * 2 > len(lines):
                    message = f"The bar line of the other strings is missing on string {line.string}."
                else:
                    continue
                self._error("broken-bar-line", line.span(column, line.body[column]), message, mend)
        if not lines[0].body.endswith("|"):
            end = lines[0].span(len(lines[0].body))
            self._error(
                "bar-line-missing", end, "The tab does not end with a bar line.", "Write | at its end."
            )

    def _bars(self, lines: Sequence[Line], strings: frozenset[int]) -> Iterator[GridBar]:
        columns = deque(self._columns([line for line in lines if line.string in strings]))
        colons = {column for line in lines for column in line.colons}
        edges = lines[0].bar_lines
        for left, right in pairwise(edges):
            if right - left == 1:
                continue
            inside = []
            while columns and columns[0][0] < right:
                inside.append(columns.popleft()[1])
            times = 2 if right - 1 in colons else 0
            if times and self._times and right == edges[-1]:
                times = self._times
            yield GridBar(tuple(inside), lines[0].span(left + 1), left + 1 in colons, times)

    def _columns(self, lines: Sequence[Line]) -> Iterator[tuple[int, tuple[Fretted, ...]]]:
        """Numbers whose characters overlap stand in one column; each comes with its first character."""
        before: list[Number] = []
        group: list[Number] = []
        numbers = sorted((number for line in lines for number in line.numbers), key=lambda n: n.column)
        for number in numbers:
            if group and number.column >= max(member.end for member in group):
                yield group[0].column, self._column(group, before)
                before, group = group, []
            group.append(number)
        if group:
            yield group[0].column, self._column(group, before)

    def _column(self, group: Sequence[Number], before: Sequence[Number]) -> tuple[Fretted, ...]:
        seen: set[int] = set()
        for number in group:
            if number.place.string in seen:
                self._error(
                    "columns-run-together",
                    number.span,
                    f"It cannot be told what {quoted(number.text)} sounds together with.",
                    "Put one more dash on every string between the two columns.",
                )
            seen.add(number.place.string)
        return tuple(
            self._fretted(number, before) for number in sorted(group, key=lambda number: -number.place.string)
        )

    def _fretted(self, number: Number, before: Sequence[Number]) -> Fretted:
        return Fretted(
            number.place,
            self._attack(number, before),
            number.span,
            number.sign,
            shift_slide=number.link in SHIFTS,
            slide_in=number.slide_in,
            slide_out=number.slide_out,
        )

    def _attack(self, number: Number, before: Sequence[Number]) -> Attack:
        sign = number.link
        if number.link_span is None or sign == TAP:
            if number.link_span is None and number.sign.graces:
                return SLURS.get(number.sign.graces[-1].link, Attack.PLUCK)
            return Attack.TAP if sign == TAP else Attack.PLUCK
        left = next((other for other in before if other.place.string == number.place.string), None)
        if left is None:
            self._error(
                "dangling-slur",
                number.link_span,
                f"Another string sounds between the two ends of this {quoted(sign)}.",
                "A slur joins two notes of one string with nothing in between.",
            )
        else:
            self._check_direction(left, number, number.link_span)
        return SLURS.get(sign, Attack.PLUCK)

    def _check_direction(self, left: Number, right: Number, sign: Span) -> None:
        rise = right.place.fret - left.place.fret
        wanted = ("/" if rise > 0 else "\\") * len(right.link)
        if rise and right.link in SLIDES | SHIFTS and right.link != wanted:
            message = f"The slide from {left.text} to {right.text} goes {'up' if rise > 0 else 'down'}."
            self._notebook.warning(
                "slide-direction", sign, message, f"Write {left.text}{wanted}{right.text}."
            )


def _pitch_class(letter: str) -> int | None:
    try:
        return NoteName.parse(letter).pitch_class
    except NotationError:
        return None
