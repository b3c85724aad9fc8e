"""A page: some lines of a teacher's file that know where they stand."""

import re
from dataclasses import dataclass
from itertools import zip_longest
from typing import Final

from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook

_ODD = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff\ud800-\udfff]")
"""Characters that no editor shows and YAML refuses, line ends apart (YAML 1.2.2, section 5.1)."""
_CHARACTER_NAMES: Final = {"\x00": "a NUL character", "\ufeff": "a byte order mark"}


@dataclass(frozen=True, slots=True)
class Page:
    """Some lines of a file."""

    file: str
    """Path relative to the course folder, with forward slashes."""
    lines: tuple[str, ...]
    """Without line ends."""
    first_line: int = 1
    """Number of the first line in the file."""
    cut: tuple[int, ...] = ()
    """Characters taken off the start of each line; empty where none were."""

    @property
    def text(self) -> str:
        """The lines as one text."""
        return "\n".join(self.lines)

    def span(self, row: int, column: int = 0, text: str = "") -> Span:
        """Where a place counted from 0 inside the page stands in the file."""
        taken = self.cut[row] if row < len(self.cut) else 0
        return Span(self.file, self.first_line + row, taken + column + 1, text)

    def part(self, start: int, stop: int, indent: int = 0) -> "Page":
        """The rows from ``start`` to before ``stop``, less up to ``indent`` spaces at each line's start."""
        lines = self.lines[start:stop]
        first = self.first_line + start
        if not indent:
            return Page(self.file, lines, first, self.cut[start:stop])
        off = tuple(min(indent, len(line) - len(line.lstrip(" "))) for line in lines)
        cut = tuple(before + more for before, more in zip_longest(self.cut[start:stop], off, fillvalue=0))
        return Page(
            self.file, tuple(line[taken:] for line, taken in zip(lines, off, strict=True)), first, cut
        )


def page_of(file: str, text: str) -> Page:
    """A whole file as a page; CRLF and CR end a line as LF does, and a byte order mark is dropped."""
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    return Page(file, tuple(plain.split("\n")))


def without_odd_characters(page: Page, notebook: Notebook) -> Page:
    """The page with each invisible character reported and replaced by a space, so that columns hold."""
    if not _ODD.search(page.text):
        return page
    for row, line in enumerate(page.lines):
        for match in _ODD.finditer(line):
            name = _CHARACTER_NAMES.get(match[0], f"the invisible character U+{ord(match[0]):04X}")
            notebook.error(
                "odd-character",
                page.span(row, match.start()),
                f"There is {name} in this line.",
                "Delete it; typing the line anew is the surest way.",
            )
    return Page(page.file, tuple(_ODD.sub(" ", line) for line in page.lines), page.first_line, page.cut)


def without_tabs(page: Page, notebook: Notebook) -> Page:
    """The page with each line's tab characters reported and replaced by single spaces."""
    if "\t" not in page.text:
        return page
    for row, line in enumerate(page.lines):
        if "\t" in line:
            notebook.error(
                "tab-character",
                page.span(row, line.index("\t")),
                "There is a tab character in this line, which every editor shows at another width.",
                "Write spaces in its place.",
            )
    return Page(page.file, tuple(line.replace("\t", " ") for line in page.lines), page.first_line, page.cut)
