"""Outcomes of many takes of chords as tables, beside what is asked for."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import Final

import numpy as np
from evaluation.ear.chords.scoring import Outcome
from evaluation.reporting import Row, interval, yes

_FAULTS: Final = ("dead", "silent", "wrong")
_PALM_MUTED: Final = "muted"
_SEED: Final = 12
_RECALL, _ALARMS, _F1, _TIME_MS = 0.95, 1.0, 0.97, 5.0


def bars(outcomes: Sequence[Outcome]) -> list[Row]:
    """Question, what is asked, what was found, whether that is enough."""
    heard = [one for one in outcomes if not one.refused]
    ringing = [one for one in heard if one.guitar != _PALM_MUTED]
    rows = [
        _recall_row("wrong or dead strings, all", heard),
        _recall_row("the same, palm-muted guitar left out", ringing),
        _recall_row("the same, tones that no lower string covers", ringing, ("clear",)),
        _recall_row("the same, strings not struck left out", ringing, ("clear",), ("dead", "wrong")),
        _named_row(heard),
        _alarm_row("false alarms per string", heard),
        _alarm_row("false alarms per string, takes without faults", [one for one in heard if not one.faulty]),
        _doubt_row("sounding strings of which it cannot tell", heard),
        _doubt_row("the same, palm-muted guitar left out", ringing),
    ]
    f1 = float(np.mean([one.stroke_f1 for one in outcomes]))
    rows.append(("stroke F1", f"≥ {_F1}", f"{f1:.3f} ({_interval(outcomes)})", yes(reached=f1 >= _F1)))
    worst = min(outcomes, key=lambda one: one.stroke_f1)
    rows.append(("worst take's stroke F1", "", f"{worst.stroke_f1:.3f} ({worst.name}, {worst.guitar})", ""))
    times = np.concatenate([one.times_ms for one in heard])
    mean = float(np.abs(times).mean())
    rows.append(
        (
            "stroke time",
            f"mean ≤ {_TIME_MS:g} ms",
            f"{mean:.1f} ms, middle {np.median(np.abs(times)):.1f}, bias {times.mean():+.1f}",
            yes(reached=mean <= _TIME_MS),
        )
    )
    spreads = np.concatenate([one.spreads_ms for one in heard])
    rows.append(("spread of a stroke", "", f"mean error {np.abs(spreads).mean():.1f} ms", ""))
    rows += [_strokes_row(heard, kind) for kind in ("missed", "extra")]
    refused = sum(one.refused for one in outcomes)
    rows.append(
        ("right exercise refused", "none", f"{refused} of {len(outcomes)}", yes(reached=refused == 0))
    )
    return rows


GROUP_HEADING: Final = (
    "", "takes", "at fault", "found", "cannot tell",
    "false alarms", "cannot tell", "stroke F1", "stroke time",
)  # fmt: skip


def by(outcomes: Sequence[Outcome], key: Callable[[Outcome], str]) -> list[Row]:
    """Strings at fault and found, false alarms, strokes, for each group."""
    rows: list[Row] = []
    for name in sorted({key(one) for one in outcomes}):
        some = [one for one in outcomes if key(one) == name]
        total = _total(some)
        true, found, unsure = (_at_fault(total, what) for what in ("true", "found", "unsure"))
        sounding = max(1, total["sounding true"])
        times = np.abs(np.concatenate([one.times_ms for one in some]))
        rows.append(
            (
                name,
                str(len(some)),
                str(true),
                f"{found / true:.3f}" if true else "",
                f"{unsure / true:.2f}" if true else "",
                f"{100 * total['sounding alarms'] / sounding:.2f} %",
                f"{100 * total['sounding unsure'] / sounding:.1f} %",
                f"{np.mean([one.stroke_f1 for one in some]):.3f}",
                f"{times.mean():.1f} ms" if len(times) else "",
            )
        )
    return rows


def by_fault(outcomes: Sequence[Outcome]) -> list[Row]:
    """How many of each fault were found; all partials of a covered string are another's too."""
    total = _total(outcomes)
    rows: list[Row] = []
    for fault in _FAULTS:
        for cover in ("clear", "covered"):
            true = total[f"{fault} {cover} true"]
            found, unsure = total[f"{fault} {cover} found"], total[f"{fault} {cover} unsure"]
            rows.append(
                (fault, cover, str(true), f"{found / max(1, true):.3f}", f"{unsure / max(1, true):.3f}")
            )
    return rows


FAULT_HEADING: Final = ("fault", "tone", "strings", "found", "cannot tell")


def _total(outcomes: Iterable[Outcome]) -> Counter[str]:
    total: Counter[str] = Counter()
    for one in outcomes:
        total.update(one.counts)
    return total


def _at_fault(
    total: Counter[str],
    what: str,
    covers: Sequence[str] = ("clear", "covered"),
    faults: Sequence[str] = _FAULTS,
) -> int:
    return sum(total[f"{fault} {cover} {what}"] for fault in faults for cover in covers)


def _recall_row(
    title: str,
    outcomes: Sequence[Outcome],
    covers: Sequence[str] = ("clear", "covered"),
    faults: Sequence[str] = _FAULTS,
) -> Row:
    total = _total(outcomes)
    true, found, unsure = (_at_fault(total, what, covers, faults) for what in ("true", "found", "unsure"))
    recall = found / max(1, true)
    told = f"{recall:.3f}, cannot tell {unsure / max(1, true):.3f} ({true} true)"
    return title, f"R ≥ {_RECALL}", told, yes(reached=recall >= _RECALL)


def _named_row(outcomes: Sequence[Outcome]) -> Row:
    total = _total(outcomes)
    true, named = (_at_fault(total, what, faults=("wrong",)) for what in ("true", "named"))
    return "what sounds instead is named", "", f"{named / max(1, true):.3f} ({true} true)", ""


def _alarm_row(title: str, outcomes: Sequence[Outcome]) -> Row:
    total = _total(outcomes)
    share = 100 * total["sounding alarms"] / max(1, total["sounding true"])
    return (
        title,
        f"≤ {_ALARMS:g} %",
        f"{share:.2f} % of {total['sounding true']}",
        yes(reached=share <= _ALARMS),
    )


def _doubt_row(title: str, outcomes: Sequence[Outcome]) -> Row:
    total = _total(outcomes)
    return title, "", f"{100 * total['sounding unsure'] / max(1, total['sounding true']):.1f} %", ""


def _strokes_row(outcomes: Sequence[Outcome], kind: str) -> Row:
    total = _total(outcomes)
    right, claimed, true = (total[f"{kind} strokes {what}"] for what in ("right", "claimed", "true"))
    title = {"missed": "strokes left out", "extra": "strokes too many"}[kind]
    return title, "", f"P {right / max(1, claimed):.3f}, R {right / max(1, true):.3f} ({true} true)", ""


def _interval(outcomes: Sequence[Outcome]) -> str:
    return interval([one.stroke_f1 for one in outcomes], _SEED)
