"""``python -m evaluation.ear.bends [--quick] [--tuned]``: measure how bends and vibrato are heard.

Prints the figures and writes them down; ends with 0 where every bar was reached. ``--quick`` takes two takes
of each condition instead of sixteen and writes nothing; ``--tuned`` measures on the guitars that constants
were set with and writes nothing.
"""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import numpy as np
from evaluation.ear.bends.playing import REPORTED_ON, TUNED_ON, takes
from evaluation.ear.bends.scoring import Outcome, heard_of, score
from evaluation.ear.guitars import require
from evaluation.reporting import BAR_HEADING, Row, quick_or_tuned, table, yes

_FIGURES: Final = Path(__file__).with_name("figures.md")
_TAKES, _QUICK_TAKES = 16, 2
_TARGET_CENTS, _RATE_SHARE, _WIDTH_SHARE, _REACH_MS = 10.0, 0.05, 0.10, 40.0
_HEAD = """# Bends and vibrato, measured

Made by `python -m evaluation.ear.bends`; what each figure means is in `evaluation/README.md`.
{count} takes on {guitars}, made of recorded notes that were read faster and slower; no hand pulled a
string."""
_GROUPS = ("", "takes", "target", "bends told", "vibrato rate", "vibrato width", "called wrong")
_NEAR: Final = (
    ("where a bend arrives", "targets_cents", _TARGET_CENTS, 0.95, "10 cents"),
    ("where a string is pulled before it is struck", "starts_cents", _TARGET_CENTS, 0.95, "10 cents"),
    ("where a bend is let down to", "ends_cents", _TARGET_CENTS, 0.95, "10 cents"),
    ("time until a bend arrives", "reaches_ms", _REACH_MS, 0.90, "40 ms"),
    ("rate of a vibrato", "rates", _RATE_SHARE, 0.95, "5 %"),
    ("width of a vibrato", "widths", _WIDTH_SHARE, 0.95, "10 %"),
)
"""Question, figures, how near to the truth is near enough, for which share, and that in words."""


def _all(outcomes: Sequence[Outcome], field: str) -> list[float]:
    return [value for one in outcomes for value in getattr(one, field)]


def _within(outcomes: Sequence[Outcome], field: str, most: float) -> float:
    values = _all(outcomes, field)
    return float(np.mean(np.abs(values) <= most)) if values else float("nan")


def _count(outcomes: Sequence[Outcome], words: str) -> int:
    return sum(one.counts[words] for one in outcomes)


def _share(part: int, whole: int) -> float:
    return part / max(1, whole)


def _bars(outcomes: Sequence[Outcome]) -> list[Row]:
    rows: list[Row] = []
    for question, field, most, share, words in _NEAR:
        found, count = _within(outcomes, field, most), len(_all(outcomes, field))
        asked = f"within {words} for ≥ {100 * share:.0f} %"
        rows.append((question, asked, f"{100 * found:.1f} % of {count}", yes(reached=found >= share)))
    bent, wrong = _count(outcomes, "bent"), _count(outcomes, "bent wrong")
    told = _share(len(_all(outcomes, "targets_cents")), _count(outcomes, "bent found"))
    extras = 100 * _share(_count(outcomes, "extra"), _count(outcomes, "notes"))
    refused = _count(outcomes, "refused")
    mixed = _count(outcomes, "swinging as still") + _count(outcomes, "still as swinging")
    swings = _count(outcomes, "swinging told") + _count(outcomes, "still told")
    called = f"{100 * _share(wrong, bent):.2f} % of {bent}"
    return [
        *rows,
        ("bends it tells of", "≥ 90 %", f"{100 * told:.1f} %", yes(reached=told >= 0.9)),
        ("bent notes called wrong", "≤ 1 %", called, yes(reached=wrong <= 0.01 * bent)),
        ("notes too many", "≤ 0.5 per 100 notes", f"{extras:.2f}", yes(reached=extras <= 0.5)),
        (
            "a vibrato mixed up with none",
            "≤ 2 %",
            f"{mixed} of {swings}",
            yes(reached=mixed <= 0.02 * swings),
        ),
        ("takes refused", "none", f"{refused} of {len(outcomes)}", yes(reached=not refused)),
    ]


def _by(outcomes: Sequence[Outcome], field: str) -> list[Row]:
    rows: list[Row] = []
    for name in sorted({getattr(one, field) for one in outcomes}):
        some = [one for one in outcomes if getattr(one, field) == name]
        told = _share(len(_all(some, "targets_cents")), _count(some, "bent found"))
        rows.append(
            (
                name,
                str(len(some)),
                f"{100 * _within(some, 'targets_cents', _TARGET_CENTS):.1f} %",
                f"{100 * told:.0f} %",
                f"{100 * _within(some, 'rates', _RATE_SHARE):.1f} %",
                f"{100 * _within(some, 'widths', _WIDTH_SHARE):.1f} %",
                f"{_count(some, 'bent wrong')} of {_count(some, 'bent')}",
            )
        )
    return rows


def main() -> int:
    """Run it; the exit code says whether all bars were reached."""
    asked = quick_or_tuned("evaluation.ear.bends")
    require()
    count = _QUICK_TAKES if asked.quick else _TAKES
    known = takes(reported=not asked.tuned, per_condition=count)
    outcomes = [score(one, heard_of(one)) for one in known]
    rows = _bars(outcomes)
    guitars = TUNED_ON if asked.tuned else REPORTED_ON
    chapters = [
        _HEAD.format(count=len(outcomes), guitars=", ".join(guitars)),
        table(BAR_HEADING, rows),
        "## By condition\n\n" + table(_GROUPS, _by(outcomes, "condition")),
        "## By guitar\n\n" + table(_GROUPS, _by(outcomes, "guitar")),
    ]
    text = "\n\n".join(chapters) + "\n"
    print(text)
    if not asked.quick and not asked.tuned:
        _FIGURES.write_text(text, encoding="utf-8")
    return 0 if all(row[-1] == "yes" for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
