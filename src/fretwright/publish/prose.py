"""The teacher's CommonMark as safe HTML.

Follows CommonMark 0.31 with raw HTML switched off: whatever looks like a tag is shown as written.
Deliberate deviations, all on the side of caution and of the page's order:

* links lead to the web (http, https), to a mailbox, to a place on the page, to a lesson or to a file of
  the course folder; any other link is set as its text alone;
* a picture is one of the course folder's own files, so that no page fetches anything from a stranger;
  any other picture is set as its alternative text;
* headings are moved below the heading that they stand under, and none skips a level;
* quotation marks and apostrophes are set as a printer sets them.
"""

import posixpath
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final
from urllib.parse import quote, unquote, urlsplit

from markdown_it import MarkdownIt
from markdown_it.token import Token
from markupsafe import Markup

from fretwright.course.model import Course, Prose

PICTURE_SUFFIXES: Final = frozenset({".avif", ".gif", ".jpeg", ".jpg", ".png", ".svg", ".webp"})
"""Shown by ``<img>``, which runs no script in any of them."""
FILE_SUFFIXES: Final = PICTURE_SUFFIXES | {
    ".flac",
    ".mid",
    ".mp3",
    ".musicxml",
    ".ogg",
    ".pdf",
    ".txt",
    ".wav",
    ".zip",
}
"""Files of the course folder that a page may link to."""

_QUOTES: Final = {"de": "„“‚‘", "fr": ("«\xa0", "\xa0»", "‹\xa0", "\xa0›"), "es": "«»“”", "it": "«»“”"}
_ENGLISH_QUOTES: Final = "“”‘’"
_WEB_SCHEMES: Final = frozenset({"http", "https", "mailto"})
_DEEPEST: Final = 6


@dataclass(frozen=True, slots=True)
class Setting:
    """Where a stretch of prose is set, and what its links can reach."""

    language: str = "en"
    heading_level: int = 1
    """Level of the heading that the prose stands under."""
    source_folder: str = "lessons"
    """Folder of its own file inside the course folder; relative links start there."""
    lesson_pages: Mapping[str, str] = field(default_factory=dict)
    """Lesson slug -> address of its page, as seen from the page being set."""
    course_files: Mapping[str, str] = field(default_factory=dict)
    """Path in the course folder -> address, for the files that exist and are published."""


def to_html(markdown: str, setting: Setting) -> Markup:
    """Set a stretch of prose."""
    parser = _parser(setting.language)
    tokens = parser.parse(markdown)
    _level_headings(tokens, setting.heading_level)
    for token in tokens:
        if token.children:
            token.children = list(_mended(token.children, setting))
    return Markup(parser.renderer.render(tokens, parser.options, {}))  # noqa: S704 - html is off, links are ours


def course_paths(course: Course) -> tuple[str, ...]:
    """Paths in the course folder that its prose shows or links to, whether or not they exist; sorted."""
    found: set[str] = set()
    stretches = [(course.about, "")]
    for lesson in course.lessons:
        stretches += [(b.markdown if isinstance(b, Prose) else b.remark, "lessons") for b in lesson.blocks]
    for markdown, folder in stretches:
        for token in _parser(course.language).parse(markdown):
            for child in token.children or ():
                path = _course_path(_target(child), folder)
                if path and posixpath.splitext(path)[1].lower() in FILE_SUFFIXES:
                    found.add(path)
    return tuple(sorted(found))


def _parser(language: str) -> MarkdownIt:
    quotes = _QUOTES.get(language.partition("-")[0].lower(), _ENGLISH_QUOTES)
    options = {"html": False, "typographer": True, "quotes": quotes}
    parser = MarkdownIt("commonmark", options).enable("smartquotes")
    # Every link is judged below, where it can still be told apart from a picture.
    parser.validateLink = lambda url: True  # type: ignore[method-assign] # noqa: ARG005 - its own name
    return parser


def _level_headings(tokens: list[Token], parent: int) -> None:
    """The teacher's highest heading comes right under the parent; none skips a level."""
    opened = [token for token in tokens if token.type == "heading_open"]
    ranks = {tag: rank for rank, tag in enumerate(sorted({token.tag for token in opened}), start=1)}
    level = parent
    for token in tokens:
        if token.type == "heading_open":
            level = min(parent + ranks[token.tag], level + 1, _DEEPEST)
            token.tag = f"h{level}"
        elif token.type == "heading_close":
            token.tag = f"h{level}"


def _mended(children: list[Token], setting: Setting) -> Iterator[Token]:
    """The tokens of one paragraph with every link and picture either safe or reduced to its text."""
    dropped: list[bool] = []
    for token in children:
        if token.type == "link_open":
            address = _link_address(_target(token), setting)
            dropped.append(address is None)
            if address is None:
                continue
            token.attrSet("href", address)
            if urlsplit(address).scheme:
                token.attrSet("rel", "noopener noreferrer")
        elif token.type == "link_close" and dropped.pop():
            continue
        elif token.type == "image":
            address = _picture_address(_target(token), setting)
            if address is None:
                yield from _mended(token.children or [], setting)
                continue
            token.attrSet("src", address)
            token.attrSet("loading", "lazy")
        yield token


def _target(token: Token) -> str:
    return str(token.attrGet({"link_open": "href", "image": "src"}.get(token.type, "")) or "")


def _link_address(target: str, setting: Setting) -> str | None:
    try:
        parts = urlsplit(target)
    except ValueError:  # such as a broken IPv6 address
        return None
    if parts.scheme in _WEB_SCHEMES and (parts.netloc or parts.scheme == "mailto"):
        return target
    if target.startswith("#"):
        return target
    path = _course_path(target, setting.source_folder)
    if path is None:
        return None
    folder, name = posixpath.split(path)
    slug, suffix = posixpath.splitext(name)
    if suffix == ".md" and folder == "lessons" and slug in setting.lesson_pages:
        return setting.lesson_pages[slug] + (f"#{parts.fragment}" if parts.fragment else "")
    return _file_address(path, setting, FILE_SUFFIXES)


def _picture_address(target: str, setting: Setting) -> str | None:
    path = _course_path(target, setting.source_folder)
    return None if path is None else _file_address(path, setting, PICTURE_SUFFIXES)


def _file_address(path: str, setting: Setting, suffixes: frozenset[str]) -> str | None:
    if posixpath.splitext(path)[1].lower() not in suffixes or path not in setting.course_files:
        return None
    return quote(setting.course_files[path])


def _course_path(target: str, folder: str) -> str | None:
    """The path inside the course folder that a relative link means; ``None`` for anything else."""
    try:
        parts = urlsplit(target)
    except ValueError:
        return None
    path = unquote(parts.path)
    if parts.scheme or parts.netloc or not path or path.startswith("/") or "\\" in path or "\0" in path:
        return None
    joined = posixpath.normpath(posixpath.join(folder, path))
    hidden = any(part.startswith(".") for part in joined.split("/"))
    return None if hidden else joined
