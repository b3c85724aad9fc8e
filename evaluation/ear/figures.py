"""Outcomes of many takes as tables, beside what is asked for."""

from collections.abc import Callable, Iterable, Sequence
from typing import Final

import numpy as np
from evaluation.ear.corrupting import PLAIN
from evaluation.ear.scoring import Outcome
from evaluation.reporting import Row, interval, yes

_BLEED: Final = "bleed"
_SEED: Final = 11


def bars(outcomes: Sequence[Outcome]) -> list[Row]:
    """Question, what is asked, what was found, whether that is enough."""
    plain = [one for one in outcomes if one.condition == PLAIN]
    others = {one.condition for one in outcomes} - {PLAIN, _BLEED}
    clear = [one for one in outcomes if one.condition != _BLEED]
    worst_condition = min(others, key=lambda name: _f1([one for one in outcomes if one.condition == name]))
    least = min(clear, key=lambda one: one.f1)
    rows = [
        _at_least("note F1, 20 dB SNR", 0.99, _f1(plain), _interval(plain)),
        _at_least(
            "note F1, worst corruption but bleed",
            0.97,
            _f1([one for one in outcomes if one.condition == worst_condition]),
            worst_condition,
        ),
        _at_least("note F1, bleed", 0.92, _f1([one for one in outcomes if one.condition == _BLEED])),
        _at_least("worst take (no bleed)", 0.92, least.f1, f"{least.name}, {least.guitar}"),
    ]
    for kind, kinds, most in (("plucked", ("plucked",), 3.0), ("slurred", ("slurred", "slid"), 5.0)):
        errors = 1000 * np.concatenate([one.errors_s[some] for one in outcomes for some in kinds])
        found, bias = float(np.abs(errors).mean()), float(errors.mean())
        rows.append(
            (
                f"onset error, {kind}",
                f"mean ≤ {most:g} ms, bias ≤ 1 ms",
                f"{found:.1f} ms, bias {bias:+.1f} ms",
                yes(reached=found <= most and abs(bias) <= 1),
            )
        )
    for kind, precision, recall in (("wrong", 0.97, 0.97), ("missed", 0.97, 0.97), ("extra", 0.93, 0.92)):
        p, r, count = precision_recall(outcomes, kind)
        rows.append(
            (
                f"{kind} notes",
                f"P ≥ {precision}, R ≥ {recall}",
                f"P {p:.3f}, R {r:.3f} ({count} true)",
                yes(reached=p >= precision and r >= recall),
            )
        )
    correct = [one for one in outcomes if not one.faulty]
    alarms = 100 * _sum(correct, "alarms") / max(1, sum(one.expected for one in correct))
    rows.append(
        ("false alarms on correct takes", "≤ 0.5 per 100 notes", f"{alarms:.2f}", yes(reached=alarms <= 0.5))
    )
    for title, bar, some in (
        (
            "pluck or slur, other than distorted",
            0.90,
            [one for one in outcomes if one.guitar not in {"distorted", "overdriven"}],
        ),
        (
            "pluck or slur, distorted",
            0.80,
            [one for one in outcomes if one.guitar in {"distorted", "overdriven"}],
        ),
    ):
        accuracy, abstained, count = attacks(some)
        rows.append(
            (
                title,
                f"≥ {bar} balanced, abstaining ≤ 25 %",
                f"{accuracy:.3f}, abstaining {100 * abstained:.0f} % ({count})",
                yes(reached=accuracy >= bar and abstained <= 0.25),
            )
        )
    cents = np.abs(np.concatenate([one.cents for one in outcomes]))
    middle, high = float(np.median(cents)), float(np.quantile(cents, 0.95))
    rows.append(
        (
            "intonation",
            "median ≤ 1.5, p95 ≤ 6 cents",
            f"{middle:.1f}, {high:.1f} cents",
            yes(reached=middle <= 1.5 and high <= 6),
        )
    )
    return rows


def by(outcomes: Sequence[Outcome], key: Callable[[Outcome], str]) -> list[Row]:
    """F1 with its interval, worst take and onset error for each group."""
    rows: list[Row] = []
    for name in sorted({key(one) for one in outcomes}):
        some = [one for one in outcomes if key(one) == name]
        errors = [abs(error) for one in some for kind in one.errors_s.values() for error in kind]
        rows.append(
            (
                name,
                str(len(some)),
                f"{_f1(some):.3f}",
                _interval(some),
                f"{min(one.f1 for one in some):.3f}",
                f"{1000 * float(np.mean(errors)):.1f} ms" if errors else "",
            )
        )
    return rows


def by_attack(outcomes: Sequence[Outcome]) -> list[Row]:
    """How many notes of each attack were heard within 50 ms, and how far off."""
    rows: list[Row] = []
    for kind in ("plucked", "slurred", "slid"):
        errors = 1000 * np.concatenate([one.errors_s[kind] for one in outcomes])
        played = sum(one.counts[f"{kind} played"] for one in outcomes)
        if not len(errors):
            continue
        found = (
            f"{len(errors) / max(1, played):.3f}",
            f"{float(np.abs(errors).mean()):.1f} ms",
            f"{float(errors.mean()):+.1f} ms",
            f"{float(np.quantile(np.abs(errors), 0.95)):.1f} ms",
        )
        rows.append((kind, str(played), *found))
    return rows


ATTACK_HEADING: Final = ("", "played", "heard in 50 ms", "onset error", "bias", "95 of 100 within")
GROUP_HEADING: Final = ("", "takes", "F1", "95 %", "worst", "onset error")


def precision_recall(outcomes: Iterable[Outcome], kind: str) -> tuple[float, float, int]:
    """Over all takes, for ``wrong``, ``missed`` or ``extra``; the third is how many there were."""
    some = list(outcomes)
    right, claimed, true = (_sum(some, f"{kind} {what}") for what in ("right", "claimed", "true"))
    return right / max(1, claimed), right / max(1, true), true


def attacks(outcomes: Sequence[Outcome]) -> tuple[float, float, int]:
    """Balanced accuracy where it answers, share of "cannot tell", number of notes."""
    rates, unsure, total = [], 0, 0
    for true, other in (("slur", "pluck"), ("pluck", "slur")):
        right, false = _sum(outcomes, f"{true} as {true}"), _sum(outcomes, f"{true} as {other}")
        undecided = _sum(outcomes, f"{true} as unsure")
        rates.append(right / max(1, right + false))
        unsure += undecided
        total += right + false + undecided
    return float(np.mean(rates)), unsure / max(1, total), total


def _sum(outcomes: Iterable[Outcome], name: str) -> int:
    return sum(one.counts[name] for one in outcomes)


def _f1(outcomes: Sequence[Outcome]) -> float:
    return float(np.mean([one.f1 for one in outcomes])) if outcomes else float("nan")


def _interval(outcomes: Sequence[Outcome]) -> str:
    return interval([one.f1 for one in outcomes], _SEED)


def _at_least(title: str, bar: float, found: float, remark: str = "") -> Row:
    return (title, f"≥ {bar}", f"{found:.3f}" + (f" ({remark})" if remark else ""), yes(reached=found >= bar))
