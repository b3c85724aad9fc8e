"""``fretwright check``: what a teacher should mend before a student sees it."""

import sys
from pathlib import Path

import click

from fretwright.cli.show import show_findings, show_json


@click.command("check")
@click.argument("course", type=click.Path(path_type=Path))
@click.option(
    "--json", "as_json", is_flag=True, help="Print findings as JSON (docs/schemas/check.schema.json)."
)
def command(course: Path, *, as_json: bool) -> None:
    """Say what is wrong in COURSE, where, and how to mend it.

    Exit code 1 if any finding is an error.
    """
    from fretwright.flows.reading import check_course

    findings = check_course(course).findings
    if as_json:
        show_json({"findings": [finding.as_json() for finding in findings]})
    else:
        show_findings(findings)
    sys.exit(1 if any(finding.is_error for finding in findings) else 0)
