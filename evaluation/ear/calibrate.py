"""``python -m evaluation.ear.calibrate [--check] [--quick]``: make confidences mean what they say.

Verdicts of known truth on the guitars that constants are set with give the curves of
:mod:`fretwright.ear.confidence`, written to its weights; then the guitars that are only reported on show how
far they hold, in ``confidence.md``. ``--check`` fits nothing; ``--quick`` takes two takes of each condition,
and writes nothing. To be run again whenever the ear changes.
"""

import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np
from evaluation.ear.guitars import CALIBRATED_ON, TUNED_ON, Floats, require
from evaluation.ear.scoring import ready
from evaluation.ear.takes import CONDITIONS, take, takes
from evaluation.ear.takes import Take as KnownTake
from evaluation.reporting import options

from fretwright.ear import confidence
from fretwright.ear.chosen import last_complete, played_through
from fretwright.ear.confidence import (
    LEAST_SURE,
    LEAST_SURE_ATTACK,
    Case,
    Curve,
    attack_numbers,
    can_be_slurred,
    claim,
    numbers_named,
    numbers_of,
)
from fretwright.ear.judge import second_look, verdicts
from fretwright.ear.listen import hear_notes, measure
from fretwright.ear.take import Refusal
from fretwright.ear.verdicts import Verdict
from fretwright.score.timeline import timeline

_WEIGHTS: Final = Path(confidence.__file__).with_name("weights") / "confidence.json"
_REPORT: Final = Path(__file__).with_name("confidence.md")
_TAKES, _QUICK_TAKES = 8, 2
_SEED: Final = 90_211
"""Not the seed of the takes that the ear is measured with."""
_FITTED_ON: Final = (*CALIBRATED_ON, *TUNED_ON)
_NEAR_S: Final = 0.05
_RIDGE: Final = 1.0
_MOST_ERROR: Final = 0.03
_BINS: Final = (0.0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0)
_ATTACK: Final = "attack"
_KINDS: Final = (Verdict.PLAYED.value, Verdict.WRONG.value, Verdict.MISSED.value, _ATTACK)
_SUMMARY: Final = ("claim", "claims", "calibration error", "by chance alone", "given", "of these right")
_DRAWS: Final = 400
_HEAD: Final = """# Confidences, measured

Made by `python -m evaluation.ear.calibrate`: fitted on steel, clean and overdriven guitars and five other
instruments, checked here on nylon, jazz, distorted and muted ones (`evaluation/README.md`). Notes of takes
that would be refused count, too.
"""
_NAMES: Final = {_ATTACK: "pluck or slur"}


@dataclass(frozen=True, slots=True)
class Counted:
    """One claim: the numbers that it rests on, and whether it is right (of attacks: whether it is a slur)."""

    kind: str
    numbers: Floats
    right: bool


def material(per_condition: int) -> Iterator[KnownTake]:
    """Takes to fit to: of every condition, mostly on instruments that stand for an unseen guitar."""
    for place, condition in enumerate(CONDITIONS):
        for index in range(per_condition):
            rng = np.random.default_rng([_SEED, place, index])
            guitar = _FITTED_ON[(index + place) % len(_FITTED_ON)]
            slurs = "jump" if index % 3 else "crossfade"
            name = f"{condition}-{index}"
            yield take(condition, guitar, slurs, rng, faulty=index % 4 != 3, name=name)


def counted(known: KnownTake) -> Iterator[Counted]:
    """All claims about one take, given or not; none where it is refused."""
    heard_take = ready(known.recorded)
    if isinstance(heard_take, Refusal):
        return
    asked = timeline(known.performance.score).notes
    heard = hear_notes(heard_take, asked)
    chosen = last_complete(played_through(heard.alignment.passes, len(asked)))
    if chosen is None:
        return
    shift = heard.alignment.shift
    measured, _, tuning_cents = measure(heard_take.samples, asked, heard, chosen)
    missed = second_look(asked, measured, heard.candidates, heard.odds, shift)
    notes = verdicts(asked, measured, missed, tuning_cents, shift)
    case = Case(asked, measured, missed, heard.candidates, heard.odds, shift)
    latest = {one.expected: one for one in known.performance.last_pass if one.expected is not None}
    for index, (timed, note, numbers) in enumerate(zip(asked, notes, numbers_of(case), strict=True)):
        said, struck = claim(note, timed, shift), latest.get(index)
        if struck is None:
            yield Counted(said.value, numbers, said is Verdict.MISSED)
            continue
        true = Verdict.PLAYED if struck.midi == timed.note.midi + shift else Verdict.WRONG
        yield Counted(said.value, numbers, said is true and note.heard_midi in {None, struck.midi})
    for match, onset_s, numbers in zip(
        measured.matches, measured.onsets_s, attack_numbers(measured.slurs), strict=True
    ):
        struck = latest.get(match.note)
        near = struck is not None and abs(onset_s - struck.onset_s - known.recorded.offset_s) < _NEAR_S
        if struck is not None and near and can_be_slurred(asked, match.note):
            yield Counted(_ATTACK, numbers, struck.slurred)


def fitted(claims: Sequence[Counted], kind: str) -> Curve:
    """The curve of one kind, by Newton's method on the likelihood, held back a little (a ridge)."""
    rows = np.array([one.numbers for one in claims if one.kind == kind])
    right = np.array([one.right for one in claims if one.kind == kind], dtype=np.float64)
    mean, spread = rows.mean(axis=0), rows.std(axis=0) + 1e-3
    basis = np.concatenate([(rows - mean) / spread, np.ones((len(rows), 1))], axis=1)
    weights = np.zeros(basis.shape[1])
    held = np.full(basis.shape[1], _RIDGE)
    held[-1] = 0.0
    for _ in range(60):
        chance = 1 / (1 + np.exp(-np.clip(basis @ weights, -30, 30)))
        slope = basis.T @ (chance - right) + held * weights
        bend = (basis * (chance * (1 - chance) + 1e-6)[:, None]).T @ basis + np.diag(held)
        step = np.linalg.solve(bend, slope)
        weights -= step * min(1.0, 2.0 / (float(np.abs(step).max()) + 1e-12))
    slopes = weights[:-1] / spread
    return Curve(slopes, float(weights[-1] - mean @ slopes))


def stored(curves: dict[str, Curve]) -> str:
    """The curves as the package keeps them."""
    data = {
        kind: {
            "weights": {
                name: round(float(weight), 4)
                for name, weight in zip(numbers_named(kind), curve.weights, strict=True)
            },
            "offset": round(curve.offset, 4),
        }
        for kind, curve in curves.items()
    }
    return json.dumps(data, indent=2) + "\n"


def chances(claims: Sequence[Counted], kind: str, curve: Curve) -> tuple[Floats, Floats]:
    """The chance given to each claim, and whether it was right, 1 or 0; of attacks, the likelier one's."""
    rows = np.array([one.numbers for one in claims if one.kind == kind]).reshape(-1, len(curve.weights))
    right = np.array([one.right for one in claims if one.kind == kind], dtype=np.float64)
    chance = curve.chance(rows)
    if kind == _ATTACK:
        right = np.where(chance >= 0.5, right, 1 - right)
        chance = np.maximum(chance, 1 - chance)
    return chance, right


def error_of(chance: Floats, right: Floats) -> float:
    """Expected calibration error: the mean distance of chance and share right over bins, weighted by size.

    M. P. Naeini, G. F. Cooper and M. Hauskrecht, "Obtaining well calibrated probabilities using Bayesian
    binning", AAAI 2015.
    """
    total = 0.0
    for low, high in pairwise(_BINS):
        inside = (chance >= low) & ((chance < high) | (high == 1.0))
        if inside.any():
            total += abs(float(chance[inside].sum() - right[inside].sum()))
    return total / max(1, len(chance))


def by_chance(chance: Floats) -> float:
    """The error that claims which are right exactly as often as they say would stay under 19 times in 20."""
    rng = np.random.default_rng(_SEED)
    drawn = rng.random((_DRAWS, len(chance))) < chance
    return float(np.quantile([error_of(chance, one.astype(np.float64)) for one in drawn], 0.95))


def _table(claims: Sequence[Counted], curves: dict[str, Curve]) -> tuple[list[str], bool]:
    """Reliability of each kind as lines of a table, and whether all errors are small enough."""
    lines = ["| claim | said | claims | mean chance | right |", "| --- | --- | --- | --- | --- |"]
    for kind in _KINDS:
        chance, right = chances(claims, kind, curves[kind])
        for low, high in pairwise(_BINS):
            inside = (chance >= low) & ((chance < high) | (high == 1.0))
            if inside.any():
                lines.append(
                    f"| {_NAMES.get(kind, kind)} | {low:g} to {high:g} | {inside.sum()} | "
                    f"{chance[inside].mean():.3f} | {right[inside].mean():.3f} |"
                )
    lines += ["", f"| {' | '.join(_SUMMARY)} |", "| --- " * len(_SUMMARY) + "|"]
    levels = {**{kind.value: level for kind, level in LEAST_SURE.items()}, _ATTACK: LEAST_SURE_ATTACK}
    holds = True
    for kind in _KINDS:
        chance, right = chances(claims, kind, curves[kind])
        given = chance >= levels[kind]
        error, alone = error_of(chance, right), by_chance(chance)
        holds &= error <= max(_MOST_ERROR, alone)
        lines.append(
            f"| {_NAMES.get(kind, kind)} | {len(chance)} | {error:.3f} | to {alone:.3f} | "
            f"{100 * given.mean():.1f} % (from {levels[kind]:g} on) | {right[given].mean():.3f} |"
        )
    return lines, holds


def main() -> int:
    """Run it; the exit code says whether the chances hold on the guitars that were only reported on."""
    asked = options(
        "evaluation.ear.calibrate", check="fit nothing", quick="measure little, and write nothing"
    )
    require()
    count = _QUICK_TAKES if asked.quick else _TAKES
    if asked.check:
        curves = confidence.curves()
    else:
        claims = [claimed for one in material(count) for claimed in counted(one)]
        curves = {kind: fitted(claims, kind) for kind in _KINDS}
        if not asked.quick:
            _WEIGHTS.write_text(stored(curves), encoding="utf-8")
    reported = [
        one for known in takes(reported=True, per_condition=count, seed=_SEED) for one in counted(known)
    ]
    lines, holds = _table(reported, curves)
    text = "\n".join([_HEAD, *lines]) + "\n"
    print(text)
    if not asked.quick:
        _REPORT.write_text(text, encoding="utf-8")
    return 0 if holds else 1


if __name__ == "__main__":
    sys.exit(main())
