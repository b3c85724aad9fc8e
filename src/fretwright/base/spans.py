"""Where in a teacher's files something was written."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A stretch of one line of one file, as an editor counts it."""

    file: str
    """Path relative to the course folder, with forward slashes."""
    line: int
    """Line number, from 1."""
    column: int
    """Column of the first character, from 1, counted in characters."""
    text: str = ""
    """The offending or quoted text itself; empty where a whole block is meant."""

    def moved(self, columns: int, text: str = "") -> "Span":
        """The span ``columns`` characters further right on the same line, holding ``text``."""
        return Span(self.file, self.line, self.column + columns, text)

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"
