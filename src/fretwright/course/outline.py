"""``course.yaml``: what a course says once, and the order of its lessons."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fretwright.base.errors import FretwrightError
from fretwright.base.spans import Span
from fretwright.course.entries import Entries, Entry
from fretwright.course.files import NOTHING_UNSAVED, names_in, read_page
from fretwright.course.notebook import Notebook, did_you_mean, quoted
from fretwright.course.page import without_odd_characters, without_tabs
from fretwright.course.values import (
    read_count,
    read_instrument,
    read_scale_length_mm,
    read_tuning,
    refuse,
    refuse_unknown_keys,
)
from fretwright.course.yamltext import read_entries
from fretwright.fretboard.neck import Neck
from fretwright.score.instruments import Instrument

COURSE_FILE: Final = "course.yaml"
LESSONS_FOLDER: Final = "lessons"
COURSE_KEYS: Final = (
    "title",
    "teacher",
    "about",
    "language",
    "tuning",
    "scale length",
    "frets",
    "capo",
    "instrument",
    "hand",
    "days between lessons",
    "students know",
    "lessons",
)

_MOST_LESSONS: Final = 400
_SLUG = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,79}")
_LANGUAGE = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8}){0,3}")


@dataclass(frozen=True, slots=True)
class Outline:
    """What stands in ``course.yaml``, with the usual values where it is silent."""

    title: str
    teacher: str
    about: str
    language: str
    neck: Neck
    instrument: Instrument
    days_between_lessons: int
    assumes: tuple[tuple[str, Span], ...]
    """Skills that students bring along."""
    lesson_files: tuple[str, ...]
    """Paths of the lessons in teaching order."""
    span: Span


def read_outline(
    root: Path,
    notebook: Notebook,
    unsaved: Mapping[str, str] = NOTHING_UNSAVED,
    left_handed: bool | None = None,  # noqa: FBT001 - None is for what the course says
) -> Outline:
    """Read ``course.yaml`` and find the lesson files; ``left_handed`` goes before its ``hand``."""
    page = read_page(root, COURSE_FILE, notebook, unsaved)
    entries: Entries = {}
    if page is not None:
        entries = read_entries(without_tabs(without_odd_characters(page, notebook), notebook), notebook)
        refuse_unknown_keys(entries, COURSE_KEYS, notebook)
    top = Span(COURSE_FILE, 1, 1)
    return Outline(
        title=_required(entries, "title", top, notebook) if page is not None else root.name,
        teacher=_required(entries, "teacher", top, notebook) if page is not None else "",
        about=_text(entries, "about"),
        language=_language(entries.get("language"), notebook),
        neck=_neck(entries, notebook, left_handed),
        instrument=read_instrument(entries.get("instrument"), notebook) or Instrument.ACOUSTIC_STEEL,
        days_between_lessons=read_count(entries.get("days between lessons"), range(1, 366), notebook) or 7,
        assumes=_named(entries.get("students know")),
        lesson_files=_lesson_files(root, entries.get("lessons"), notebook),
        span=entries["title"].span if "title" in entries else top,
    )


def _text(entries: Entries, name: str) -> str:
    return entries[name].text.strip() if name in entries else ""


def _named(entry: Entry | None) -> tuple[tuple[str, Span], ...]:
    return () if entry is None else tuple((part.text, part) for part in entry.parts())


def _required(entries: Entries, name: str, top: Span, notebook: Notebook) -> str:
    text = _text(entries, name)
    if not text and not notebook.is_unreadable:
        message = f'{COURSE_FILE} says nothing for "{name}".'
        notebook.error("missing-key", top, message, f'Add a line such as "{name}: ...".')
    return text


def _language(entry: Entry | None, notebook: Notebook) -> str:
    if entry is None:
        return "en"
    language = entry.text.strip()
    if _LANGUAGE.fullmatch(language):
        return language
    message = f"{quoted(language)} is no language tag (BCP 47)."
    notebook.error("bad-value", entry.span, message, "Write a tag such as en, de or pt-BR.")
    return "en"


def _neck(entries: Entries, notebook: Notebook, left_handed: bool | None) -> Neck:  # noqa: FBT001 - likewise
    usual = Neck()
    written = _is_left_handed(entries.get("hand"), notebook)
    capo = read_count(entries.get("capo"), range(25), notebook)
    try:
        return Neck(
            tuning=read_tuning(entries.get("tuning"), notebook) or usual.tuning,
            scale_length_mm=read_scale_length_mm(entries.get("scale length"), notebook)
            or usual.scale_length_mm,
            frets=read_count(entries.get("frets"), range(1, 37), notebook) or usual.frets,
            capo=capo or 0,
            left_handed=written if left_handed is None else left_handed,
        )
    except FretwrightError as error:
        entry = entries.get("capo") or entries.get("scale length") or next(iter(entries.values()))
        notebook.refused("bad-value", entry.span, error)
        return Neck()


def _is_left_handed(entry: Entry | None, notebook: Notebook) -> bool:
    """Which hand plucks: ``right``, ``left``, or with ``-handed`` behind it."""
    if entry is None or entry.is_empty:
        return False
    text = entry.text.strip().lower().removesuffix("-handed")
    if text not in {"left", "right"}:
        refuse(entry, "Write left or right: the hand that plucks the strings.", notebook)
    return text == "left"


def _lesson_files(root: Path, entry: Entry | None, notebook: Notebook) -> tuple[str, ...]:
    """Paths of the lessons: as listed, or else all of them by number and name."""
    there = _slugs_there(root, notebook)
    if not there:
        span = Span(COURSE_FILE, 1, 1)
        mend = f"Put a file such as {LESSONS_FOLDER}/01-first-steps.md beside {COURSE_FILE}."
        notebook.error("no-lessons", span, "The course has no lesson files.", mend)
    slugs = there if entry is None else _listed(entry, there, notebook)
    return tuple(f"{LESSONS_FOLDER}/{slug}.md" for slug in slugs[:_MOST_LESSONS])


def _slugs_there(root: Path, notebook: Notebook) -> tuple[str, ...]:
    slugs = []
    for name in names_in(root, LESSONS_FOLDER):
        if name.startswith(".") or not name.lower().endswith(".md"):
            continue
        if _SLUG.fullmatch(name[:-3]) and name.endswith(".md"):
            slugs.append(name[:-3])
        else:
            shown = name.encode("utf-8", "backslashreplace").decode()
            notebook.error(
                "bad-lesson-name",
                Span(f"{LESSONS_FOLDER}/{shown}", 1, 1),
                f"The file name {quoted(shown)} cannot become an address on the course site.",
                "Use letters, digits and hyphens, and the ending .md, such as 03-first-lick.md.",
            )
    return tuple(sorted(slugs, key=_number_then_name))


def _number_then_name(slug: str) -> tuple[int, str]:
    digits = re.match(r"[0-9]{1,9}", slug)
    return (int(digits[0]) if digits else 10**9, slug)


def _listed(entry: Entry, there: Sequence[str], notebook: Notebook) -> tuple[str, ...]:
    slugs: list[str] = []
    for part in entry.parts():
        slug = part.text.removesuffix(".md").removeprefix(f"{LESSONS_FOLDER}/")
        if slug not in there:
            message = f"There is no lesson {quoted(part.text)} in the folder {LESSONS_FOLDER}."
            mend = did_you_mean(slug, there) if there else "Write the lesson, or take it off the list."
            notebook.error("unknown-lesson", part, message, mend)
        elif slug in slugs:
            notebook.error(
                "lesson-listed-twice", part, f"{quoted(slug)} is listed twice.", "Delete one of the two."
            )
        else:
            slugs.append(slug)
    for slug in there:
        if slug not in slugs:
            notebook.warning(
                "lesson-not-listed",
                entry.key,
                f"The lesson {slug} is in the folder and not in the list, so it is left out.",
                f'Add "{slug}" to "lessons", or move the file out of the folder.',
            )
    return tuple(slugs)
