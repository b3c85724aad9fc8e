"""Reading XML from anywhere: a small tree with line numbers, and no trust.

A file may bring no entities of its own, no text from other files, no more depth, elements or bytes than any
real score has. A document type may be named, as most files do, and is never looked up.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final, Never
from xml.parsers import expat

from fretwright.base.errors import ExchangeError

MOST_BYTES: Final = 32_000_000
MOST_ELEMENTS: Final = 800_000
MOST_DEPTH: Final = 64
_MOST_TEXT: Final = 1_000_000
"""Characters inside one element."""
_MOST_QUOTED: Final = 60


@dataclass(slots=True)
class Node:
    """One element."""

    tag: str
    attributes: dict[str, str]
    line: int
    """Where it starts, from 1."""
    column: int
    """Where it starts, from 1."""
    children: list["Node"] = field(default_factory=list)
    text: str = ""
    """The characters before its first child."""

    def __iter__(self) -> Iterator["Node"]:
        return iter(self.children)

    def get(self, name: str, default: str = "") -> str:
        """An attribute's value."""
        return self.attributes.get(name, default).strip()

    def find(self, path: str) -> "Node | None":
        """The first element down a path of tags: ``staff-details/capo``."""
        return next(self.all(path), None)

    def all(self, path: str) -> Iterator["Node"]:
        """Every element down a path of tags, in the file's order."""
        tag, _, rest = path.partition("/")
        for child in self.children:
            if child.tag == tag:
                yield from child.all(rest) if rest else (child,)

    def words(self, path: str, default: str = "") -> str:
        """The text of the first element down a path, without the white at its ends."""
        found = self.find(path)
        return default if found is None else found.text.strip()

    def number(self, path: str) -> int | None:
        """The text of the first element down a path as a whole number; ``None`` where it is none."""
        try:
            return int(float(self.words(path)))
        except (ValueError, OverflowError):
            return None


def read_tree(data: bytes, name: str) -> Node:
    """The root of an XML document.

    ``name`` is the file's, for messages. Raises :class:`~fretwright.base.errors.ExchangeError` for what is no
    XML, brings entities, or is larger or deeper than any score.
    """
    if len(data) > MOST_BYTES:
        raise ExchangeError(f"{name} is larger than {MOST_BYTES // 1_000_000} MB.", "Export a shorter piece.")
    builder = _Builder(name)
    try:
        builder.parser.Parse(data, True)  # noqa: FBT003 - the signature of the standard library
    except expat.ExpatError as error:
        said = expat.ErrorString(error.code)
        raise ExchangeError(
            f"{name} is not whole XML: {said} in line {error.lineno}.", "Export it again from its program."
        ) from error
    except (LookupError, UnicodeError, ValueError) as error:
        raise ExchangeError(
            f"{name} is written in a character set that cannot be read.", "Export it again as UTF-8."
        ) from error
    if builder.root is None:
        raise ExchangeError(f"{name} holds no element.", "Export it again from its program.")
    return builder.root


class _Builder:
    """Takes the parser's events and keeps the tree."""

    def __init__(self, name: str) -> None:
        self.root: Node | None = None
        self._name = name
        self._open: list[Node] = []
        self._count = 0
        self.parser = expat.ParserCreate()
        self.parser.buffer_text = True
        self.parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text
        self.parser.EntityDeclHandler = self._entity
        self.parser.UnparsedEntityDeclHandler = self._entity
        self.parser.ExternalEntityRefHandler = self._entity

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        self._count += 1
        if self._count > MOST_ELEMENTS or len(self._open) >= MOST_DEPTH:
            what = "more elements" if self._count > MOST_ELEMENTS else "deeper nesting"
            raise ExchangeError(f"{self._name} has {what} than a score can have.", "Export a shorter piece.")
        node = Node(tag, attributes, self.parser.CurrentLineNumber, self.parser.CurrentColumnNumber + 1)
        if self._open:
            self._open[-1].children.append(node)
        else:
            self.root = node
        self._open.append(node)

    def _end(self, tag: str) -> None:
        del tag
        self._open.pop()

    def _text(self, text: str) -> None:
        if self._open and not self._open[-1].children:
            self._open[-1].text += text
            if len(self._open[-1].text) > _MOST_TEXT:
                raise ExchangeError(f"{self._name} has more text than a score can have.", "Export it again.")

    def _entity(self, *declared: object) -> Never:
        quoted = str(declared[0])[:_MOST_QUOTED]
        raise ExchangeError(
            f'{self._name} defines text of its own ("{quoted}"), which is not read.',
            "A score needs none; export it again from its program.",
        )
