"""Keys and values of YAML text, each with its place, and nothing converted.

What enters is YAML 1.2 text of one flat mapping. Every scalar is taken as the text that was written
(the failsafe schema of YAML 1.2.2, section 10.1), so that ``no``, ``1:30`` and ``012`` stay what they
are. A value is text or a list of texts. Anchors, aliases and tags are refused, and so is deeper nesting.
The parser is read event by event; nothing here recurses.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

import yaml

from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.page import Page

_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_MOST_BAD_ENTRIES = 40

_WORD = re.compile(r"\S+")
_KEY_LINE = re.compile(r"[^\s#|\-][^:|]*:(?:\s|$)")
_SWALLOWED = re.compile(r"\s+#\S")

_SCALAR, _OPENING, _CLOSING = (
    yaml.ScalarEvent,
    (yaml.MappingStartEvent, yaml.SequenceStartEvent),
    (yaml.MappingEndEvent, yaml.SequenceEndEvent),
)


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


def read_entries(page: Page, notebook: Notebook) -> Entries:
    """The keys and values of a page. What cannot be read is a finding; the rest is there.

    After a syntax error each entry is tried by itself, so that one slip hides no other mistake.
    """
    entries: dict[str, Entry] = {}
    try:
        found = list(_Parser(page, notebook).entries())
    except yaml.YAMLError:
        found = list(_one_by_one(page, notebook))
    for entry in found:
        name = entry.key.text
        if name in entries:
            notebook.error(
                "duplicate-key",
                entry.key,
                f'The key "{name}" is here a second time; it stands in line {entries[name].key.line} already.',
                "Keep one of the two.",
            )
        else:
            entries[name] = entry
    return entries


def _one_by_one(page: Page, notebook: Notebook) -> Iterator[Entry]:
    """Parse from each line that opens an entry to the next, and report those that fail."""
    starts = [row for row, line in enumerate(page.lines) if _KEY_LINE.match(line)]
    if not starts or any(line.strip() and not line.startswith("#") for line in page.lines[: starts[0]]):
        starts.insert(0, 0)
    failures = 0
    for start, stop in zip(starts, (*starts[1:], len(page.lines)), strict=True):
        part = page.part(start, stop)
        part = Page(page.file, part.lines, part.first_line, page.cut[start:stop])
        try:
            yield from list(_Parser(part, notebook).entries())
        except yaml.YAMLError as error:
            _report(error, part, notebook)
            failures += 1
            if failures == _MOST_BAD_ENTRIES:
                return


class _Parser:
    """Walks the events of one page."""

    def __init__(self, page: Page, notebook: Notebook) -> None:
        self._page = page
        self._notebook = notebook
        self._events = yaml.parse(page.text, Loader=_Loader)

    def entries(self) -> Iterator[Entry]:
        """The entries of the top mapping."""
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent) and event.explicit:
                self._refuse(
                    event, "unreadable-text", "Three dashes have no meaning here.", "Delete the line."
                )
            if isinstance(event, yaml.MappingStartEvent):
                self._refuse_references(event)
                yield from self._pairs()
            elif isinstance(event, (_SCALAR, yaml.AliasEvent, yaml.SequenceStartEvent)):
                self._refuse_non_mapping(event)

    def _pairs(self) -> Iterator[Entry]:
        for event in self._events:
            if isinstance(event, yaml.MappingEndEvent):
                return
            key = self._key(event)
            texts, is_list = self._value(next(self._events))
            if key is not None and texts is not None:
                yield Entry(key, texts, is_list)

    def _key(self, event: yaml.Event) -> Span | None:
        if isinstance(event, _SCALAR):
            self._refuse_references(event)
            return self._page.span(event.start_mark.line, event.start_mark.column, event.value.strip())
        self._refuse(event, "unreadable-text", "This is no name of a key.", 'Write "key: value".')
        self._skip(event)
        return None

    def _value(self, event: yaml.Event) -> tuple[tuple[Text, ...] | None, bool]:
        self._refuse_references(event)
        if isinstance(event, _SCALAR):
            return (self._text(event),), False
        if isinstance(event, yaml.SequenceStartEvent):
            return self._items(), True
        if isinstance(event, yaml.MappingStartEvent):
            self._refuse_nesting(event)
            self._skip(event)
        return None, False

    def _items(self) -> tuple[Text, ...]:
        texts = []
        for event in self._events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            self._refuse_references(event)
            if isinstance(event, _SCALAR):
                texts.append(self._text(event))
            elif not isinstance(event, yaml.AliasEvent):
                self._refuse_nesting(event)
                self._skip(event)
        return tuple(texts)

    def _text(self, event: yaml.ScalarEvent) -> Text:
        start, end = event.start_mark, event.end_mark
        style = event.style or ""
        if style == "":
            rest = self._page.lines[end.line][end.column :] if end.line < len(self._page.lines) else ""
            if _SWALLOWED.match(rest):
                self._notebook.warning(
                    "comment-cuts-text",
                    self._page.span(end.line, end.column + rest.index("#"), rest.strip()),
                    f"{quoted(rest)} is taken as a comment and not read.",
                    "Put the whole value between quotation marks, or a space after # if a comment is meant.",
                )
        return Text(event.value, self._page, start.line, start.column, end.line, style)

    def _skip(self, opening: yaml.Event) -> None:
        """Pass over everything up to where what ``opening`` opened is closed again."""
        depth = int(isinstance(opening, _OPENING))
        while depth:
            event = next(self._events)
            depth += isinstance(event, _OPENING)
            depth -= isinstance(event, _CLOSING)

    def _refuse_references(self, event: yaml.Event) -> None:
        if isinstance(event, yaml.AliasEvent):
            sign = "*"
        elif getattr(event, "anchor", None) is not None:
            sign = "&"
        elif getattr(event, "tag", None) is not None:
            sign = "!"
        else:
            return
        message = f'A value that starts with "{sign}" is a reference in YAML, which a course does not use.'
        self._refuse(event, "yaml-reference", message, "Put the value between quotation marks.")

    def _refuse_nesting(self, event: yaml.Event) -> None:
        message = "A text or a plain list is expected here, and this is a list or a set of keys inside it."
        mend = "Write the value on one line; put it between quotation marks if it holds a colon."
        self._refuse(event, "nested-value", message, mend)

    def _refuse_non_mapping(self, event: yaml.Event) -> None:
        row = event.start_mark.line
        line = self._page.lines[row].strip() if row < len(self._page.lines) else ""
        if isinstance(event, _SCALAR) and not event.value.strip():
            return
        self._refuse(
            event,
            "not-a-key",
            f"{quoted(line)} is no key with a value.",
            'Write "key: value", with a space after the colon.',
        )
        self._skip(event)

    def _refuse(self, event: yaml.Event, code: str, message: str, mend: str) -> None:
        mark = event.start_mark
        row = min(mark.line, len(self._page.lines) - 1)
        self._notebook.error(code, self._page.span(row, mark.column), message, mend)


_WAYS_OUT: Final = (
    (
        "mapping values are not allowed",
        "There is a second colon in this line.",
        "Put the value between quotation marks.",
    ),
    (
        "cannot start any token",
        "A value cannot start with this character.",
        "Put the value between quotation marks.",
    ),
    (
        "could not find expected ':'",
        "This line is no key with a value, and it does not belong to the value above.",
        'Write "key: value"; move the lines of a longer value two spaces to the right of their key.',
    ),
    (
        "unexpected end of stream",
        "A quotation mark is opened and never closed.",
        "Close it, or leave both out.",
    ),
    ("exceeded maximum nesting", "There are far too many brackets here.", "Write the value as plain text."),
    (
        "expected <block end>",
        "This line stands further in or out than its neighbours.",
        "Let all keys start in the same column.",
    ),
    (
        "while parsing a flow",
        "A bracket is opened and never closed.",
        "Close it, or put the value in quotation marks.",
    ),
    (
        "alphabetic or numeric",
        'A value that starts with "*" or "&" is a reference in YAML.',
        "Put the value between quotation marks.",
    ),
)
"""Words of the parser's complaint, and the same in a teacher's."""


def _report(error: yaml.YAMLError, page: Page, notebook: Notebook) -> None:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    row, column = (mark.line, mark.column) if mark is not None else (0, 0)
    if row >= len(page.lines):
        row, column = len(page.lines) - 1, len(page.lines[-1])
    complaint = f"{getattr(error, 'context', '') or ''} {getattr(error, 'problem', '') or error}"
    message, mend = next(
        ((said, way) for words, said, way in _WAYS_OUT if words in complaint),
        (f"This line cannot be read ({complaint.strip()}).", "Put the value between quotation marks."),
    )
    line = page.lines[row].strip()
    notebook.error(
        "unreadable-text", page.span(row, column, line), f"{message} It reads {quoted(line)}.", mend
    )
