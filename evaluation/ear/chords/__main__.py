"""``python -m evaluation.ear.chords [--quick] [--tuned]``: measure how the ear hears chords.

Prints the figures and writes them down. ``--quick`` takes two takes of each condition instead of twelve and
writes nothing; ``--tuned`` measures on the guitars that constants were set with and writes nothing.
"""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from evaluation.ear.chords.figures import FAULT_HEADING, GROUP_HEADING, bars, by, by_fault
from evaluation.ear.chords.refusing import refusals
from evaluation.ear.chords.scoring import Outcome, heard_of, score
from evaluation.ear.chords.takes import takes
from evaluation.ear.guitars import REPORTED_ON, TUNED_ON, require
from evaluation.reporting import BAR_HEADING, Row, into_readme, quick_or_tuned, table

_FIGURES: Final = Path(__file__).with_name("figures.md")
_TAKES, _QUICK_TAKES = 12, 2
_REFUSALS, _QUICK_REFUSALS = 20, 2
_HEAD: Final = """# Chords, measured

Made by `python -m evaluation.ear.chords`; what each figure means is in `evaluation/README.md`.
{count} takes on {guitars}; every string is a recorded note, none was strummed by a hand."""


def _worst(outcomes: Sequence[Outcome]) -> list[Row]:
    lowest = sorted(outcomes, key=lambda one: one.stroke_f1)[:12]
    return [
        (one.name, one.kind, one.guitar, f"{one.stroke_f1:.3f}", "refused" if one.refused else "")
        for one in lowest
    ]


def main() -> int:
    """Run it; the exit code says whether all bars were reached."""
    asked = quick_or_tuned("evaluation.ear.chords")
    require()
    count = _QUICK_TAKES if asked.quick else _TAKES
    known = takes(reported=not asked.tuned, per_condition=count)
    outcomes = [score(one, heard_of(one)) for one in known]
    rows = [*bars(outcomes), *refusals(_QUICK_REFUSALS if asked.quick else _REFUSALS)]
    guitars = ", ".join(TUNED_ON if asked.tuned else REPORTED_ON)
    chapters = [
        _HEAD.format(count=len(outcomes), guitars=guitars),
        table(BAR_HEADING, rows),
        "## By fault\n\n" + table(FAULT_HEADING, by_fault(outcomes)),
        "## By guitar\n\n" + table(GROUP_HEADING, by(outcomes, lambda one: one.guitar)),
        "## By kind of exercise\n\n" + table(GROUP_HEADING, by(outcomes, lambda one: one.kind)),
        "## By condition\n\n" + table(GROUP_HEADING, by(outcomes, lambda one: one.condition)),
        "## The worst takes\n\n" + table(("take", "exercise", "guitar", "stroke F1", ""), _worst(outcomes)),
    ]
    text = "\n\n".join(chapters) + "\n"
    print(text)
    if not asked.quick and not asked.tuned:
        _FIGURES.write_text(text, encoding="utf-8")
        into_readme("chord", chapters[1])
    return 0 if all(row[-1] != "NO" for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
