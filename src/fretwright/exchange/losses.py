"""What a file says and a score cannot hold, gathered kind by kind.

A piece has hundreds of dynamic marks; a teacher wants one line for them, with the place of the first.
"""

from dataclasses import dataclass, field

from fretwright.base.findings import Finding, Severity, in_reading_order
from fretwright.base.spans import Span


@dataclass(slots=True)
class _Kind:
    severity: Severity
    span: Span
    message: str
    mend: str
    count: int = 1


@dataclass(slots=True)
class Losses:
    """Collects findings, one for each code."""

    _kinds: dict[tuple[str, str], _Kind] = field(default_factory=dict)

    def add(
        self,
        code: str,
        span: Span,
        message: str,
        mend: str,
        *,
        severity: Severity = Severity.WARNING,
        what: str = "",
    ) -> None:
        """Note one thing; ``what`` tells apart things of one code that want a finding each."""
        known = self._kinds.setdefault((code, what), _Kind(severity, span, message, mend, 0))
        known.count += 1

    def left_out(self, what: str, span: Span) -> None:
        """Note that one thing of a kind was left out; ``what`` is its name in words: ``dynamics``."""
        message = f"Left out, since an exercise cannot hold them: {what}."
        mend = "Add it in words where it matters."
        self.add("left-out", span, message, mend, severity=Severity.ADVICE, what=what)

    def findings(self) -> tuple[Finding, ...]:
        """All of them in reading order, each with how often it came."""
        return in_reading_order(
            Finding(code, kind.severity, kind.span, _counted(kind), kind.mend)
            for (code, _), kind in self._kinds.items()
        )


def _counted(kind: _Kind) -> str:
    return kind.message if kind.count == 1 else f"{kind.message} It came {kind.count} times, first here."
