"""Keys and values of YAML text, each with its place, and nothing converted.

What enters is YAML 1.2 text of one flat mapping. Every scalar is taken as the text that was written (the
failsafe schema of YAML 1.2.2, section 10.1), so that ``no``, ``1:30`` and ``012`` stay what they are. A value
is text or a list of texts. Anchors, aliases and tags are refused, and so is deeper nesting. The events of the
parser are walked one after another; nothing here recurses.
"""

import re
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Final

import yaml

from fretwright.base.spans import Span
from fretwright.course.entries import Entries, Entry, Text
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.page import Page
from fretwright.course.yamlerrors import report_syntax

_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_MOST_CHARACTERS: Final = 200_000
_MOST_ENTRIES: Final = 250
"""More than these are mistakes already: no two keys are the same, and there are not that many."""
_MOST_PARTS: Final = 2_000
_MOST_BAD_PARTS: Final = 40

_KEY_LINE = re.compile(r"[^\s#|\-][^:|]*:(?:\s|$)")
_SWALLOWED = re.compile(r"\s+#\S")

_OPENING = (yaml.MappingStartEvent, yaml.SequenceStartEvent)
_CLOSING = (yaml.MappingEndEvent, yaml.SequenceEndEvent)


def read_entries(page: Page, notebook: Notebook) -> Entries:
    """The keys and values of a page. What cannot be read is a finding; the rest is there.

    After a syntax error each entry is tried by itself, so that one slip hides no other mistake.
    """
    entries: dict[str, Entry] = {}
    for entry in islice(_entries(page, notebook), _MOST_ENTRIES):
        name = entry.key.text
        if name in entries:
            message = f'The key "{name}" is here twice; it stands in line {entries[name].key.line} already.'
            notebook.error("duplicate-key", entry.key, message, "Keep one of the two.")
        else:
            entries[name] = entry
    return entries


def _entries(page: Page, notebook: Notebook) -> Iterator[Entry]:
    if len(page.text) > _MOST_CHARACTERS:
        message = f"There are more than {_MOST_CHARACTERS} characters of keys and values here."
        notebook.error("file-too-big", page.span(0), message, "Split it, or check that the block is closed.")
        return
    try:
        events = _events(page)
    except yaml.YAMLError:
        yield from _one_by_one(page, notebook)
    else:
        yield from _Walker(page, events, notebook).entries()


def _events(page: Page) -> list[yaml.Event]:
    return list(yaml.parse(page.text, Loader=_Loader))


def _one_by_one(page: Page, notebook: Notebook) -> Iterator[Entry]:
    """Parse from each line that opens an entry to the next, and report those that fail."""
    starts = [row for row, line in enumerate(page.lines) if _KEY_LINE.match(line)][:_MOST_PARTS]
    if not starts or any(line.strip() and not line.startswith("#") for line in page.lines[: starts[0]]):
        starts.insert(0, 0)
    failures = 0
    for start, stop in zip(starts, (*starts[1:], len(page.lines)), strict=True):
        part = page.part(start, stop)
        try:
            events = _events(part)
        except yaml.YAMLError as error:
            report_syntax(error, part, notebook)
            failures += 1
            if failures == _MOST_BAD_PARTS:
                return
        else:
            yield from _Walker(part, events, notebook).entries()


class _Walker:
    """Walks the events of one page and keeps what a course uses."""

    def __init__(self, page: Page, events: Iterable[yaml.Event], notebook: Notebook) -> None:
        self._page = page
        self._events = iter(events)
        self._notebook = notebook

    def entries(self) -> Iterator[Entry]:
        """The entries of the top mapping."""
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent) and event.explicit:
                message = "Three dashes have no meaning here."
                self._refuse(event, "unreadable-text", message, "Delete the line.")
            elif isinstance(event, yaml.MappingStartEvent):
                self._refuse_references(event)
                yield from self._pairs()
            elif isinstance(event, (yaml.ScalarEvent, yaml.AliasEvent, yaml.SequenceStartEvent)):
                self._refuse_non_mapping(event)

    def _pairs(self) -> Iterator[Entry]:
        for event in self._events:
            if isinstance(event, yaml.MappingEndEvent):
                return
            key = self._key(event)
            value = next(self._events)
            self._refuse_references(value)
            is_list = isinstance(value, yaml.SequenceStartEvent)
            texts = self._items() if is_list else self._one_text(value)
            if key is not None and texts is not None:
                yield Entry(key, texts, is_list)

    def _key(self, event: yaml.Event) -> Span | None:
        self._refuse_references(event)
        if isinstance(event, yaml.ScalarEvent):
            return self._page.span(*self._place(event), event.value.strip())
        self._refuse(event, "unreadable-text", "This is no name of a key.", 'Write "key: value".')
        self._skip(event)
        return None

    def _one_text(self, event: yaml.Event) -> tuple[Text, ...] | None:
        if isinstance(event, yaml.ScalarEvent):
            return (self._text(event),)
        self._refuse_nesting(event)
        return None

    def _items(self) -> tuple[Text, ...]:
        texts = []
        for event in self._events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            self._refuse_references(event)
            if isinstance(event, yaml.ScalarEvent):
                texts.append(self._text(event))
            else:
                self._refuse_nesting(event)
        return tuple(texts)

    def _text(self, event: yaml.ScalarEvent) -> Text:
        row, column = self._place(event)
        end = event.end_mark
        end_row, end_column = (end.line, end.column) if end is not None else (row, column)
        rest = self._page.lines[end_row][end_column:] if end_row < len(self._page.lines) else ""
        if not event.style and _SWALLOWED.match(rest):
            self._notebook.warning(
                "comment-cuts-text",
                self._page.span(end_row, end_column + rest.index("#"), rest.strip()),
                f"{quoted(rest)} is taken as a comment and not read.",
                "Put the whole value between quotation marks, or a space after # if it is a comment.",
            )
        return Text(event.value, self._page, row, column, end_row, event.style or "")

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
        message = f'What starts with "{sign}" is a reference in YAML, which a course does not use.'
        self._refuse(event, "yaml-reference", message, "Put the value between quotation marks.")

    def _refuse_nesting(self, event: yaml.Event) -> None:
        if not isinstance(event, yaml.AliasEvent):
            message = "Text or a plain list is expected here; this is a list or a set of keys inside it."
            mend = "Write the value on one line; put it between quotation marks if it holds a colon."
            self._refuse(event, "nested-value", message, mend)
        self._skip(event)

    def _refuse_non_mapping(self, event: yaml.Event) -> None:
        row, _ = self._place(event)
        line = self._page.lines[row].strip()
        if not (isinstance(event, yaml.ScalarEvent) and not event.value.strip()):
            message = f"{quoted(line)} is no key with a value."
            self._refuse(event, "not-a-key", message, 'Write "key: value", with a space after the colon.')
        self._skip(event)

    def _refuse(self, event: yaml.Event, code: str, message: str, mend: str) -> None:
        row, column = self._place(event)
        text = self._page.lines[row][column:].strip()
        self._notebook.error(code, self._page.span(row, column, text), message, mend)

    def _place(self, event: yaml.Event) -> tuple[int, int]:
        """Row and column where an event starts."""
        mark = event.start_mark
        return (0, 0) if mark is None else (min(mark.line, len(self._page.lines) - 1), mark.column)
