"""What a YAML parser complains of, in a teacher's words."""

import re
from typing import Final

import yaml

from fretwright.course.notebook import Notebook, quoted
from fretwright.course.page import Page

_IN_WORDS: Final = (
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


_TAB_LINE = re.compile(r"\s*[A-Ga-g]?[#b]?\s*\|")
_BAD_START = re.compile(r"[^:]*:\s+([*&!%@`])")
_LIST_START = re.compile(r"[^:]*:\s+-(\s|$)")


def report_syntax(error: yaml.YAMLError, page: Page, notebook: Notebook) -> None:
    """Write down where the parser stopped, and what a teacher can do about it."""
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    row, column = (mark.line, mark.column) if mark is not None else (0, 0)
    if row >= len(page.lines):
        row, column = len(page.lines) - 1, len(page.lines[-1])
    complaint = f"{getattr(error, 'context', '') or ''} {getattr(error, 'problem', '') or error}"
    line = page.lines[row]
    message, mend = _of_line(line) or next(
        ((said, way) for words, said, way in _IN_WORDS if words in complaint),
        (f"This line cannot be read ({complaint.strip()}).", "Put the value between quotation marks."),
    )
    span = page.span(row, column, line[column:].strip())
    notebook.error("unreadable-text", span, f"{message} It reads {quoted(line)}.", mend)


def _of_line(line: str) -> tuple[str, str] | None:
    """What a teacher most likely meant by a line that YAML cannot read."""
    if _TAB_LINE.match(line):
        return (
            "This line of tab stands outside its key.",
            'Write "tab: |" above the tab, and move its lines two spaces to the right.',
        )
    if match := _BAD_START.match(line):
        return f'A value cannot start with "{match[1]}".', "Put the value between quotation marks."
    if _LIST_START.match(line):
        return "A value cannot start with a dash.", "Write a dot where nothing is meant."
    return None
