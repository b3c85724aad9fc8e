"""How findings and JSON are put on the screen."""

import json
import sys
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, Final

import click
from rich.console import Console
from rich.text import Text

from fretwright.base.findings import Finding, Severity

if TYPE_CHECKING:
    from fretwright.check.check import Checked

_STYLES: Final = {Severity.ERROR: "bold red", Severity.WARNING: "yellow", Severity.ADVICE: "cyan"}


def show_json(data: Mapping[str, Any]) -> None:
    """Print one JSON document, the same bytes for the same data."""
    click.echo(json.dumps(data, ensure_ascii=False, indent=2))


def show_findings(findings: Iterable[Finding]) -> None:
    """Print each finding as three lines: where and how grave, what, and how to mend it."""
    console = Console(file=sys.stderr, highlight=False, soft_wrap=True)
    counts = dict.fromkeys(Severity, 0)
    for finding in findings:
        counts[finding.severity] += 1
        console.print(
            Text.assemble(
                (str(finding.span), "bold"),
                "  ",
                (finding.severity.value, _STYLES[finding.severity]),
                (f"  {finding.code}", "dim"),
            )
        )
        console.print(Text(f"    {finding.message}"))
        console.print(Text(f"    {finding.mend}", style="italic"))
    console.print(Text(summary(counts)))


def summary(counts: Mapping[Severity, int]) -> str:
    """How many findings of each gravity there are, in words."""
    plural = {Severity.ERROR: "errors", Severity.WARNING: "warnings", Severity.ADVICE: "pieces of advice"}
    singular = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.ADVICE: "piece of advice"}
    parts = [
        f"{count} {singular[severity] if count == 1 else plural[severity]}"
        for severity, count in counts.items()
        if count
    ]
    return ", ".join(parts) or "Nothing to mend."


def show_lesson_errors(checked: "Checked", lesson: str) -> None:
    """Say what keeps exercises of a lesson from being filmed, and leave with 1 if anything does."""
    broken = [
        finding
        for finding in checked.findings
        if finding.is_error and (finding.exercise or "").startswith(f"{lesson}/")
    ]
    if broken:
        show_findings(broken)
        sys.exit(1)
