"""``python -m evaluation.ear [--quick] [--tuned]``: measure the ear; print the figures and write them down.

``--quick`` takes two takes of each condition instead of sixteen and writes nothing; ``--tuned`` measures
on the guitars that constants were set with and writes nothing.
"""

import sys
import time
from collections.abc import Sequence
from pathlib import Path

from evaluation.ear.figures import ATTACK_HEADING, GROUP_HEADING, bars, by, by_attack
from evaluation.ear.guitars import REPORTED_ON, TUNED_ON, require
from evaluation.ear.refusing import refusals
from evaluation.ear.scoring import Outcome, heard_of, score
from evaluation.ear.takes import takes
from evaluation.reporting import BAR_HEADING, Row, into_readme, quick_or_tuned, table

_FIGURES = Path(__file__).with_name("figures.md")
_TAKES, _QUICK_TAKES = 16, 2
_HEAD = """# The ear, measured

Made by `python -m evaluation.ear`; what each figure means is in `evaluation/README.md`.
{count} takes on {guitars}; slurs are synthetic (two methods), none was played by a hand."""


def _measured(*, reported: bool, per_condition: int) -> tuple[list[Outcome], float]:
    """Outcomes, and the time the ear took per second of take once warm, resampling included."""
    outcomes: list[Outcome] = []
    spent_s, heard_s = 0.0, 0.0
    for known in takes(reported=reported, per_condition=per_condition):
        begun = time.perf_counter()
        heard = heard_of(known)
        if outcomes:
            spent_s += time.perf_counter() - begun
            heard_s += len(known.recorded.samples) / 44_100
        outcomes.append(score(known, heard))
    return outcomes, spent_s / heard_s


def _worst(outcomes: Sequence[Outcome]) -> list[Row]:
    lowest = sorted(outcomes, key=lambda one: one.f1)[:12]
    return [(one.name, one.guitar, f"{one.f1:.3f}", "refused" if one.refused else "") for one in lowest]


def main() -> int:
    """Run it; the exit code says whether all bars were reached."""
    asked = quick_or_tuned("evaluation.ear")
    require()
    count = _QUICK_TAKES if asked.quick else _TAKES
    outcomes, pace = _measured(reported=not asked.tuned, per_condition=count)
    rows = [*bars(outcomes), *refusals(2 if asked.quick else 20)]
    guitars = TUNED_ON if asked.tuned else REPORTED_ON
    chapters = [
        _HEAD.format(count=len(outcomes), guitars=", ".join(guitars)),
        table(BAR_HEADING, rows),
        "## By condition\n\n" + table(GROUP_HEADING, by(outcomes, lambda one: one.condition)),
        "## By guitar\n\n" + table(GROUP_HEADING, by(outcomes, lambda one: one.guitar)),
        "## By kind of slur\n\n" + table(GROUP_HEADING, by(outcomes, lambda one: one.slurs)),
        "## By attack\n\n" + table(ATTACK_HEADING, by_attack(outcomes)),
        "## The worst takes\n\n" + table(("take", "guitar", "F1", ""), _worst(outcomes)),
    ]
    text = "\n\n".join(chapters) + "\n"
    print(text)
    print(f"Time taken: 1/{1 / pace:.0f} of the takes' length on this machine, as busy as it was.")
    if not asked.quick and not asked.tuned:
        _FIGURES.write_text(text, encoding="utf-8")
        into_readme("ear", chapters[1])
    return 0 if all(row[-1] == "yes" for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
