"""The teacher's CommonMark as data for the handout's templates.

Follows CommonMark 0.31 with raw HTML switched off, as the pages of the site do: whatever looks like a tag
is shown as written. Blocks and inline content leave as plain values with a ``kind``; the templates decide
what each looks like.

* a link to the web or to a mailbox stays one, with its address printed after it, since paper has no
  links; one to a lesson leads there inside a course handout; any other is its text alone;
* a picture is one of the files handed in; any other picture is its alternative text;
* headings are moved below the one that they stand under, and none skips a level.
"""

import posixpath
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final
from urllib.parse import unquote, urlsplit

from markdown_it import MarkdownIt
from markdown_it.tree import SyntaxTreeNode

from fretwright.publish.handout_press import printable

Node = dict[str, Any]

_DEEPEST_HEADING: Final = 6
_DEEPEST_NEST: Final = 8
_WIDEST_PICTURE_MM: Final = 110
_WEB: Final = frozenset({"http", "https"})
_QUOTES: Final = {"de": "„“‚‘", "fr": ("«\xa0", "\xa0»", "‹\xa0", "\xa0›"), "es": "«»“”", "it": "«»“”"}


@dataclass(frozen=True, slots=True)
class Sheet:
    """Where a stretch of prose is printed."""

    language: str = "en"
    heading_level: int = 1
    """Level of the heading that the prose stands under."""
    folder: str = "lessons"
    """Folder of its own file inside the course folder; relative links start there."""
    lessons: frozenset[str] = field(default_factory=frozenset)
    """Slugs of the lessons of the course."""
    pictures: Mapping[str, bytes] = field(default_factory=dict)
    """Path in the course folder -> the bytes of a picture that can be set."""


def to_nodes(markdown: str, sheet: Sheet) -> list[Node]:
    """The blocks of a stretch of prose."""
    quotes = _QUOTES.get(sheet.language.partition("-")[0].lower(), "“”‘’")
    options = {"html": False, "typographer": True, "quotes": quotes}
    parser = MarkdownIt("commonmark", options).enable("smartquotes")
    # Every link is judged below, where it can still be told apart from a picture.
    parser.validateLink = lambda url: True  # type: ignore[method-assign]  # noqa: ARG005 - the library takes it so
    tree = SyntaxTreeNode(parser.parse(markdown))
    ranks = {
        tag: rank for rank, tag in enumerate(sorted({n.tag for n in tree.walk() if n.type == "heading"}), 1)
    }
    return list(_Printer(sheet, ranks, sheet.heading_level).blocks(tree.children))


@dataclass(slots=True)
class _Printer:
    """Walks the syntax tree; remembers how deep it is, and how deep the last heading was."""

    sheet: Sheet
    ranks: Mapping[str, int]
    level: int
    depth: int = 0

    def blocks(self, nodes: Sequence[SyntaxTreeNode]) -> Iterator[Node]:
        """Block-level nodes. What is nested deeper than a page can show loses its indent, never its words."""
        for node in nodes:
            match node.type:
                case "paragraph":
                    yield self._paragraph(node)
                case "heading":
                    yield from self._heading(node)
                case "bullet_list" | "ordered_list" | "blockquote" | "list_item":
                    yield from self._nested(node)
                case "hr":
                    yield {"kind": "rule"}
                case _:  # "fence" and "code_block"
                    yield {"kind": "code", "text": printable(node.content.rstrip("\n"))}

    def _nested(self, node: SyntaxTreeNode) -> Iterator[Node]:
        if self.depth >= _DEEPEST_NEST:
            yield from self.blocks(node.children)
            return
        self.depth += 1
        if node.type == "blockquote":
            yield {"kind": "quote", "children": list(self.blocks(node.children))}
        else:
            yield self._list(node)
        self.depth -= 1

    def _list(self, node: SyntaxTreeNode) -> Node:
        items = [list(self.blocks(item.children)) for item in node.children]
        paragraphs = [child for item in node.children for child in item.children if child.type == "paragraph"]
        tight = all(paragraph.hidden for paragraph in paragraphs)
        if node.type == "bullet_list":
            return {"kind": "bullets", "tight": tight, "items": items}
        return {"kind": "numbers", "tight": tight, "start": int(node.attrs.get("start", 1)), "items": items}

    def _heading(self, node: SyntaxTreeNode) -> Iterator[Node]:
        children = [
            {"kind": "text", "text": child["alt"]} if child["kind"] == "picture" else child
            for child in self._inlines(node)
        ]
        if _words(children).strip():
            self.level = min(
                self.sheet.heading_level + self.ranks[node.tag], self.level + 1, _DEEPEST_HEADING
            )
            yield {"kind": "heading", "level": self.level, "children": children}

    def _paragraph(self, node: SyntaxTreeNode) -> Node:
        children = self._inlines(node)
        if [child["kind"] for child in children] == ["picture"]:
            return {**children[0], "kind": "figure", "width_mm": _WIDEST_PICTURE_MM}
        return {"kind": "paragraph", "children": children}

    def _inlines(self, node: SyntaxTreeNode) -> list[Node]:
        return [child for inline in node.children for child in self.inlines(inline.children)]

    def inlines(self, nodes: Sequence[SyntaxTreeNode], depth: int = 0) -> Iterator[Node]:
        """Inline nodes."""
        for node in nodes:
            match node.type:
                case "em" | "strong" | "link" if depth >= _DEEPEST_NEST:
                    yield from self.inlines(node.children, depth)
                case "em" | "strong":
                    kind = "emphasis" if node.type == "em" else "strong"
                    yield {"kind": kind, "children": list(self.inlines(node.children, depth + 1))}
                case "code_inline":
                    yield {"kind": "code", "text": printable(node.content)}
                case "softbreak":
                    yield {"kind": "space"}
                case "hardbreak":
                    yield {"kind": "break"}
                case "link":
                    yield from self._link(node, list(self.inlines(node.children, depth + 1)))
                case "image":
                    yield self._picture(node)
                case _:
                    yield {"kind": "text", "text": printable(node.content)}

    def _link(self, node: SyntaxTreeNode, children: list[Node]) -> Iterator[Node]:
        target = str(node.attrs.get("href", ""))
        shown = _address_on_paper(target)
        slug = self._lesson(target)
        if shown is not None:
            if _words(children) in {shown, target}:
                children, shown = [{"kind": "text", "text": printable(shown)}], ""
            yield {"kind": "link", "url": target, "shown": printable(shown), "children": children}
        elif slug is not None:
            yield {"kind": "lesson", "slug": slug, "children": children}
        else:
            yield from children

    def _lesson(self, target: str) -> str | None:
        folder, name = posixpath.split(_course_path(target, self.sheet.folder) or "")
        slug, suffix = posixpath.splitext(name)
        return slug if suffix == ".md" and folder == "lessons" and slug in self.sheet.lessons else None

    def _picture(self, node: SyntaxTreeNode) -> Node:
        path = _course_path(str(node.attrs.get("src", "")), self.sheet.folder)
        alt = printable(node.content) or "picture"
        if path is None or path not in self.sheet.pictures:
            return {"kind": "text", "text": alt}
        return {"kind": "picture", "key": path, "alt": alt}


def _words(nodes: Sequence[Node]) -> str:
    """All that is read in inline nodes."""
    return "".join(node.get("text", "") + _words(node.get("children", ())) for node in nodes)


def _address_on_paper(target: str) -> str | None:
    """A web or mail address as it is printed, or None for any other target."""
    try:
        parts = urlsplit(target)
    except ValueError:  # such as a broken IPv6 address
        return None
    if parts.scheme == "mailto" and parts.path:
        return unquote(parts.path)
    if parts.scheme in _WEB and parts.hostname:
        return unquote(target.partition("://")[2]).rstrip("/")
    return None


def _course_path(target: str, folder: str) -> str | None:
    """The path inside the course folder that a relative link means; None for anything else."""
    try:
        parts = urlsplit(target)
    except ValueError:
        return None
    path = unquote(parts.path)
    if parts.scheme or parts.netloc or not path or path.startswith("/"):
        return None
    joined = posixpath.normpath(posixpath.join(folder, path))
    return None if joined.startswith("..") else joined
