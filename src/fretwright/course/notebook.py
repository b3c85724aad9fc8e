"""The reader's notebook: every mistake goes in here, and reading goes on."""

import difflib
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Final

from fretwright.base.errors import FretwrightError
from fretwright.base.findings import Finding, Severity
from fretwright.base.spans import Span

MOST_FINDINGS_PER_FILE: Final = 200
"""A file with more mistakes than this is something else than a course file."""

_HIDES_KEYS: Final = frozenset({"unreadable-text", "not-a-key", "nested-value", "yaml-reference"})
_LONGEST_SUGGESTED: Final = 60
_LONGEST_QUOTED: Final = 60
_MOST_SHOWN: Final = 30

Mend = str | Callable[[], str]
"""How to mend a mistake, or what finds that out: looking for the word that was meant takes time, and is done
only for findings that are shown."""


@dataclass(slots=True)
class Notebook:
    """Findings of one reading; a page of it (:meth:`for_exercise`) knows whether its exercise is broken."""

    exercise: str | None = None
    """``lesson/exercise`` of the page, or None for what belongs to no exercise."""
    findings: list[Finding] = field(default_factory=list)
    """Shared by all pages of one notebook."""
    is_broken: bool = False
    """Whether an error was written on this very page."""
    is_unreadable: bool = False
    """Whether keys of this page may be missing only because they could not be read."""
    variant: str = ""
    """Which exercise of a block that stands for several is being built (``in D``); mostly empty."""
    _per_file: Counter[str] = field(default_factory=Counter)

    def for_exercise(self, name: str) -> "Notebook":
        """A fresh page for one exercise."""
        return Notebook(name, self.findings, _per_file=self._per_file)

    def error(self, code: str, span: Span, message: str, mend: Mend) -> None:
        """Write down what stops an exercise or lesson from being built."""
        self.is_broken = True
        self.is_unreadable = self.is_unreadable or code in _HIDES_KEYS
        self._write(code, Severity.ERROR, span, message, mend)

    def warning(self, code: str, span: Span, message: str, mend: Mend) -> None:
        """Write down what can be built and is most likely not meant."""
        self._write(code, Severity.WARNING, span, message, mend)

    def refused(self, code: str, span: Span, error: FretwrightError, mend: Mend = "") -> None:
        """Write down an error of a lower layer as a mistake at ``span``."""
        sentence = error.message[:1].upper() + error.message[1:].removesuffix(".") + "."
        self.error(code, span, sentence, mend or error.mend or "Write another value.")

    def _write(self, code: str, severity: Severity, span: Span, message: str, mend: Mend) -> None:
        self._per_file[span.file] += 1
        if self.variant:
            message = f"{self.variant[:1].upper()}{self.variant[1:]}: {message}"
        if self._per_file[span.file] <= MOST_FINDINGS_PER_FILE:
            way = mend if isinstance(mend, str) else mend()
            self.findings.append(Finding(code, severity, span, message, way, self.exercise))
        elif self._per_file[span.file] == MOST_FINDINGS_PER_FILE + 1:
            message = (
                f"There are more than {MOST_FINDINGS_PER_FILE} mistakes in this file; the rest are not shown."
            )
            mend = "Mend the first ones and check again."
            self.findings.append(Finding("too-many-mistakes", Severity.ERROR, span, message, mend))


def quoted(text: str) -> str:
    """The teacher's own text in quotation marks, shortened where it is long."""
    line = " ".join(text.split())
    return f'"{line[: _LONGEST_QUOTED - 1]}…"' if len(line) > _LONGEST_QUOTED else f'"{line}"'


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that a misspelled one most likely means, if any comes near."""
    if len(word) > _LONGEST_SUGGESTED:
        return None
    by_folded = {name.lower(): name for name in known}
    close = difflib.get_close_matches(word.lower(), by_folded, n=1, cutoff=0.6)
    return by_folded[close[0]] if close else None


def did_you_mean(word: str, known: Iterable[str]) -> Mend:
    """``Did you mean "position"?``, or the known words where none comes near."""
    names = tuple(known)

    def look() -> str:
        near = nearest(word, names)
        shown = ", ".join(names[:_MOST_SHOWN])
        return f'Did you mean "{near}"?' if near else f"Use one of: {shown}."

    return look
