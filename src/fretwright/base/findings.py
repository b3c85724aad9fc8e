"""What the check says of a teacher's text.

A finding is data, not an exception: the reader and the check collect all of them in one pass, so that
a teacher mends a file once and not once per mistake.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from fretwright.base.spans import Span


class Severity(StrEnum):
    """How much a finding matters."""

    ERROR = "error"
    """The exercise or lesson is not built."""
    WARNING = "warning"
    """It is built, but a student will most likely stumble over it."""
    ADVICE = "advice"
    """A second look may be worth it."""


_RANK = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.ADVICE: 2}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing the check noticed, where it stands, and how to mend it."""

    code: str
    """Stable kebab-case name, documented in ``docs/findings.md`` (``hammer-on-downwards``)."""
    severity: Severity
    span: Span
    message: str
    """What is wrong, in one sentence, quoting the teacher's own text."""
    mend: str
    """What to write instead, in one sentence."""
    exercise: str | None = None
    """``lesson/exercise`` where the finding belongs to one."""

    @property
    def is_error(self) -> bool:
        """Whether the finding stops its exercise from being built."""
        return self.severity is Severity.ERROR

    def as_json(self) -> dict[str, str | int]:
        """The finding in the shape of ``docs/schemas/check.schema.json``."""
        return {
            "code": self.code,
            "severity": self.severity.value,
            "file": self.span.file,
            "line": self.span.line,
            "column": self.span.column,
            "message": self.message,
            "mend": self.mend,
        }


def in_reading_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings by file, line, column, then gravest first; exact repeats are dropped."""
    unique = dict.fromkeys(findings)
    return tuple(
        sorted(unique, key=lambda f: (f.span.file, f.span.line, f.span.column, _RANK[f.severity], f.code))
    )
