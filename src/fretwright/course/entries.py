"""What a teacher wrote for each key: texts that know where they stand."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from fretwright.base.spans import Span
from fretwright.course.page import Page

_WORD = re.compile(r"\S+")


@dataclass(frozen=True, slots=True)
class Text:
    """One scalar as it was written."""

    value: str
    page: Page
    row: int
    """Row of its first character in the page, from 0."""
    column: int
    last_row: int
    style: str
    """Empty for plain text, else the sign that opens it: a quotation mark, ``|`` or ``>``."""

    @property
    def span(self) -> Span:
        """Its first character, holding the text without line ends."""
        words = self.words()
        at = words[0] if words else self.page.span(self.row, self.column)
        return Span(at.file, at.line, at.column, " ".join(self.value.split()))

    def lines(self) -> tuple[Span, ...]:
        """The lines of a literal block (``|``), each with its place; of other text, its one line."""
        if self.style != "|":
            return (self.span,)
        first = self.row + 1
        spans = []
        for offset, line in enumerate(self.value.rstrip("\n").split("\n")):
            row = min(first + offset, len(self.page.lines) - 1)
            spans.append(self.page.span(row, max(0, len(self.page.lines[row]) - len(line)), line))
        return tuple(spans)

    def rows(self) -> tuple[Span, ...]:
        """The lines as they were typed, spaces inside kept; each is a line of the file."""
        if self.style == "|":
            return self.lines()
        if self.row == self.last_row:
            span = self.span
            return (Span(span.file, span.line, span.column, self.value.strip()),)
        return tuple(_in_one(list(words)) for _, words in groupby(self.words(), key=lambda word: word.line))

    def words(self) -> tuple[Span, ...]:
        """The words between white space, each with its place."""
        is_block = self.style in {"|", ">"}
        row, column = (self.row + 1, 0) if is_block else (self.row, self.column)
        spans = []
        lost = False
        for word in _WORD.findall(self.value):
            place = None if lost else self._find(word, row, column)
            if place is None:
                lost = True  # an escape in quoted text; what follows is placed where the last word was
            else:
                row, column = place
            at = row if row < len(self.page.lines) else self.row
            spans.append(self.page.span(at, column, word))
            column += 0 if lost else len(word)
        return tuple(spans)

    def _find(self, word: str, row: int, column: int) -> tuple[int, int] | None:
        for here in range(row, min(self.last_row + 1, len(self.page.lines))):
            found = self.page.lines[here].find(word, column if here == row else 0)
            if found >= 0:
                return here, found
        return None


def _in_one(words: Sequence[Span]) -> Span:
    """The words of a line of the file as one text, each as far from the first as it stands there."""
    first, text = words[0], ""
    for word in words:
        text = text.ljust(max(word.column - first.column, len(text) + bool(text))) + word.text
    return Span(first.file, first.line, first.column, text)


@dataclass(frozen=True, slots=True)
class Entry:
    """One key with what is written for it."""

    key: Span
    """The key; ``text`` is its name."""
    texts: tuple[Text, ...]
    """One text, or the items of a list."""
    is_list: bool

    @property
    def text(self) -> str:
        """The value as one text."""
        return "\n".join(text.value for text in self.texts)

    @property
    def span(self) -> Span:
        """Where the value starts; the key's own place where it is empty."""
        return self.texts[0].span if self.texts and self.texts[0].value.strip() else self.key

    @property
    def is_empty(self) -> bool:
        """Whether nothing was written."""
        return not any(text.value.strip() for text in self.texts)

    def words(self) -> tuple[Span, ...]:
        """The words of the value, each with its place."""
        return tuple(word for text in self.texts for word in text.words())

    def lines(self) -> tuple[Span, ...]:
        """The lines of the value, each with its place."""
        return tuple(line for text in self.texts for line in text.lines())

    def rows(self) -> tuple[Span, ...]:
        """The lines of the value with the spaces inside them, each with its place."""
        return tuple(line for text in self.texts for line in text.rows())

    def parts(self) -> tuple[Span, ...]:
        """The items of a list, or what stands between commas; each with its place."""
        if self.is_list:
            return tuple(text.span for text in self.texts if text.value.strip())
        return tuple(_between_commas(self.words()))


def _between_commas(words: tuple[Span, ...]) -> Iterator[Span]:
    """Join words up to each comma; a comma may be glued to a word or stand alone."""
    start: Span | None = None
    held: list[str] = []
    for word in words:
        column = 0
        pieces = word.text.split(",")
        for index, piece in enumerate(pieces):
            if piece:
                start = start or word.moved(column)
                held.append(piece)
            if index < len(pieces) - 1 and start is not None:
                yield Span(start.file, start.line, start.column, " ".join(held))
                start, held = None, []
            column += len(piece) + 1
    if start is not None:
        yield Span(start.file, start.line, start.column, " ".join(held))


Entries = Mapping[str, Entry]
"""Keys with what is written for them, in order."""
