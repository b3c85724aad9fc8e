"""A lesson file, cut into front matter, prose and exercise blocks.

The file is CommonMark 0.31. An exercise is a fenced code block (section 4.5 of that text) whose info string
is ``exercise`` and an id, at the top level of the file: not inside a list, a quotation or a comment.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from fretwright.base.spans import Span
from fretwright.course.entries import Entries
from fretwright.course.model import Prose
from fretwright.course.notebook import Notebook, nearest, quoted
from fretwright.course.page import Page, without_odd_characters, without_tabs
from fretwright.course.values import refuse_unknown_keys
from fretwright.course.yamltext import read_entries

LESSON_KEYS: Final = ("title", "goal", "teaches", "needs")

_FENCE = re.compile(r"( {0,3})(`{3,}(?=[^`]*$)|~{3,})[ \t]*(.*?)[ \t]*$")
_MISPLACED = re.compile(r"[ \t>*+\-0-9.)]+(?:`{3,}|~{3,})[ \t]*(?:exercise|chart|tuning)\b")
_ID = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
_LONGEST_ID: Final = 60
MOST_EXERCISES: Final = 200
_FRONT: Final = "---"
BLOCKS: Final = ("exercise", "chart", "tuning")
"""Words that open a block of the course; what opens with another word is prose."""
_NOT_EXERCISE: Final = {"exec", "excerpt", "char", "cart", "charts", "art"}


@dataclass(frozen=True, slots=True)
class Block:
    """One exercise block, its keys read and their values not yet understood."""

    id: str
    lesson: str
    span: Span
    """The line that opens the block; ``text`` is the id."""
    entries: Entries
    notebook: Notebook
    """The page of the notebook that belongs to this exercise."""
    kind: str = "exercise"
    """The word that opens it, one of :data:`BLOCKS`."""

    @property
    def is_tuning(self) -> bool:
        """Whether it is about tuning, and no exercise."""
        return self.kind == "tuning"

    @property
    def is_chart(self) -> bool:
        """Whether it is a chart of chords."""
        return self.kind == "chart"

    @property
    def name(self) -> str:
        """``lesson/exercise``."""
        return f"{self.lesson}/{self.id}"


@dataclass(frozen=True, slots=True)
class Draft:
    """A lesson file, read and not yet built."""

    slug: str
    title: str
    goal: str
    teaches: tuple[tuple[str, Span], ...]
    needs: tuple[tuple[str, Span], ...]
    parts: tuple[Prose | Block, ...]
    span: Span


def read_lesson(page: Page, slug: str, notebook: Notebook) -> Draft:
    """Cut a lesson file up. Every part that can be read is there."""
    page = without_odd_characters(page, notebook)
    entries, start = _front_matter(page, notebook)
    return Draft(
        slug=slug,
        title=_text(entries, "title") or _words_of(slug),
        goal=_text(entries, "goal"),
        teaches=_named(entries, "teaches"),
        needs=_named(entries, "needs"),
        parts=tuple(_parts(page, start, slug, notebook)),
        span=entries["title"].span if "title" in entries else page.span(0),
    )


def _text(entries: Entries, name: str) -> str:
    return " ".join(entries[name].text.split()) if name in entries else ""


def _named(entries: Entries, name: str) -> tuple[tuple[str, Span], ...]:
    return tuple((part.text, part) for part in entries[name].parts()) if name in entries else ()


def _words_of(slug: str) -> str:
    """``07-river-shape`` as a title: ``River shape``."""
    words = re.sub(r"^[0-9]+[-_]", "", slug).replace("-", " ").replace("_", " ")
    return words[:1].upper() + words[1:]


def _front_matter(page: Page, notebook: Notebook) -> tuple[Entries, int]:
    """The keys above the prose, and the row at which prose starts."""
    if page.lines[0].rstrip() != _FRONT:
        notebook.error(
            "no-front-matter",
            page.span(0),
            "The lesson does not start with its title and goal.",
            'Start the file with a line "---", then "title: ..." and "goal: ...", then another "---".',
        )
        return {}, 0
    end = next((row for row, line in enumerate(page.lines) if row and line.rstrip() == _FRONT), None)
    if end is None:
        notebook.error(
            "front-matter-not-closed",
            page.span(0, 0, _FRONT),
            "The title and goal have no line --- after them.",
            'Put a line "---" between the keys and the prose.',
        )
        return {}, 1
    entries = read_entries(without_tabs(page.part(1, end), notebook), notebook)
    refuse_unknown_keys(entries, LESSON_KEYS, notebook)
    for name in ("title", "goal"):
        if name not in entries:
            message = f'The lesson says nothing for "{name}".'
            notebook.error("missing-key", page.span(0, 0, _FRONT), message, f'Add a line "{name}: ...".')
    return entries, end + 1


def _parts(page: Page, start: int, slug: str, notebook: Notebook) -> Iterator[Prose | Block]:
    """Prose and blocks by turns, from row ``start`` on."""
    seen: dict[str, int] = {}
    blocks = 0
    row = prose_start = start
    while row < len(page.lines):
        line = page.lines[row]
        if line.lstrip().startswith("<!--"):
            row = _after_comment(page, row)
            continue
        fence = _FENCE.fullmatch(line)
        if fence is None:
            _look_for_misplaced(page, row, notebook)
            row += 1
            continue
        closing = _closing_row(page, row, fence[2])
        kind = _opened_by(page, row, fence, notebook)
        if kind is None:
            row = closing + 1
            continue
        yield from _prose(page, prose_start, row)
        if closing == len(page.lines):
            notebook.error(
                "block-not-closed",
                page.span(row, len(fence[1]), line.strip()),
                "This exercise block is never closed.",
                f"Put a line {fence[2]} after its last key.",
            )
        blocks += 1
        if blocks > MOST_EXERCISES:
            message = f"The lesson has more than {MOST_EXERCISES} exercises; the rest is not read."
            notebook.error("too-many-exercises", page.span(row, 0, line), message, "Split the lesson.")
            return
        yield _block(page, row, closing, fence, kind, slug, seen, notebook)
        row = prose_start = closing + 1
    yield from _prose(page, prose_start, len(page.lines))


def _after_comment(page: Page, row: int) -> int:
    """The row after the line that closes an HTML comment (CommonMark 0.31, section 4.6, condition 2)."""
    for here in range(row, len(page.lines)):
        if "-->" in page.lines[here]:
            return here + 1
    return len(page.lines)


def _closing_row(page: Page, row: int, fence: str) -> int:
    """The row of the closing fence, or the number of rows where there is none."""
    closing = re.compile(rf" {{0,3}}{re.escape(fence[0])}{{{len(fence)},}}[ \t]*")
    for here in range(row + 1, len(page.lines)):
        if closing.fullmatch(page.lines[here]):
            return here
    return len(page.lines)


def _prose(page: Page, start: int, stop: int) -> Iterator[Prose]:
    while start < stop and not page.lines[start].strip():
        start += 1
    markdown = "\n".join(page.lines[start:stop]).rstrip()
    if markdown:
        yield Prose(markdown, page.span(start))


def _look_for_misplaced(page: Page, row: int, notebook: Notebook) -> None:
    line = page.lines[row]
    if _MISPLACED.match(line):
        notebook.error(
            "misplaced-block",
            page.span(row, 0, line.strip()),
            "This exercise block stands inside a list or a quotation, or too far to the right.",
            "Let the block start in the first column, on a line of its own.",
        )


def _opened_by(page: Page, row: int, fence: re.Match[str], notebook: Notebook) -> str | None:
    """The word that opens a block of the course here, or None for a fence that is prose."""
    word = fence[3].split(maxsplit=1)[0] if fence[3] else ""
    if word in BLOCKS:
        return word
    near = nearest(word, BLOCKS) if word not in _NOT_EXERCISE else None
    if near is not None and (near == "exercise" or len(fence[3].split()) > 1):
        notebook.error(
            "misspelled-block",
            page.span(row, fence.start(3), word),
            f"{quoted(word)} opens no {near}.",
            f'Did you mean "{near}"?',
        )
    return None


def _block(
    page: Page,
    row: int,
    closing: int,
    fence: re.Match[str],
    kind: str,
    slug: str,
    seen: dict[str, int],
    notebook: Notebook,
) -> Block:
    exercise_id = fence[3].removeprefix(kind).strip()
    span = page.span(row, fence.end(3) - len(exercise_id) if exercise_id else fence.start(3), exercise_id)
    mine = notebook.for_exercise(f"{slug}/{exercise_id}" if exercise_id else slug)
    if closing == len(page.lines):
        mine.is_broken = True
    if not exercise_id:
        message = f"The {kind} has no id."
        mend = f"Write one after the word {kind}, such as: {kind} up-and-back."
        mine.error("bad-id", span, message, mend)
    elif not _ID.fullmatch(exercise_id) or len(exercise_id) > _LONGEST_ID:
        message = f"{quoted(exercise_id)} cannot be an id."
        mend = f"Use small letters, digits and hyphens, such as {_as_id(exercise_id)}."
        mine.error("bad-id", span, message, mend)
    elif exercise_id in seen:
        message = f"The id {quoted(exercise_id)} is taken; the exercise in line {seen[exercise_id]} has it."
        mine.error("duplicate-id", span, message, "Give this exercise another id.")
    body = without_tabs(page.part(row + 1, closing, indent=len(fence[1])), mine)
    entries = read_entries(body, mine)
    seen.setdefault(exercise_id, span.line)
    return Block(exercise_id, slug, span, entries, mine, kind)


def _as_id(text: str) -> str:
    simple = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:_LONGEST_ID].strip("-")
    return simple if _ID.fullmatch(simple) else "up-and-back"
