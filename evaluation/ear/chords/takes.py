"""The takes of chords: exercise, performance, guitar and corruption, all drawn from one seed."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from evaluation.ear.chords.exercises import exercise
from evaluation.ear.chords.performing import Manner, Performance, perform
from evaluation.ear.chords.sounding import sound_of
from evaluation.ear.chords.voices import recorded
from evaluation.ear.corrupting import SEVERAL, STRAINS, Recorded, mistuned_cents, recorded_under
from evaluation.ear.guitars import REPORTED_ON, TUNED_ON

CONDITIONS: Final = (
    *STRAINS,
    "tempo 40 % off",
    "restart",
    SEVERAL,
)
_SEED: Final = 7_301


@dataclass(frozen=True, slots=True)
class Take:
    """One take with all that is known of it."""

    name: str
    kind: str
    """Of exercise."""
    performance: Performance
    guitar: str
    condition: str
    faulty: bool
    """Whether mistakes were made on purpose."""
    guitar_cents: float
    recorded: Recorded


def takes(*, reported: bool, per_condition: int, seed: int = _SEED) -> Iterator[Take]:
    """All takes of one split of the guitars, the same every time."""
    guitars = REPORTED_ON if reported else TUNED_ON
    for place, condition in enumerate(CONDITIONS):
        for index in range(per_condition):
            rng = np.random.default_rng([seed, int(reported), place, index])
            guitar = guitars[(index + place) % len(guitars)]
            yield take(condition, guitar, rng, faulty=index % 2 == 0, name=f"{condition}-{index}")


def take(condition: str, guitar: str, rng: np.random.Generator, *, faulty: bool, name: str) -> Take:
    """One take under one condition."""
    kind, score = exercise(rng)
    performance = perform(score, _manner(condition, rng, faulty=faulty), rng)
    cents = mistuned_cents(condition, rng)
    heard = recorded_under(condition, sound_of(performance, recorded(guitar), cents, rng), rng)
    return Take(name, kind, performance, guitar, condition, faulty, cents, heard)


def _manner(condition: str, rng: np.random.Generator, *, faulty: bool) -> Manner:
    ratio = float(rng.uniform(0.9, 1.1))
    if condition == "tempo 40 % off":
        ratio = float(rng.choice([0.62, 1.38]))
    drift = condition.split()[1] if condition.startswith("drift") else "none"
    return Manner(
        tempo_ratio=ratio,
        jitter_ms=float(rng.uniform(3, 14)),
        drift=drift,
        faults=0.08 if faulty else 0.0,
        missed=0.03 if faulty else 0.0,
        extra=0.03 if faulty else 0.0,
        gap_s=float(10 ** rng.uniform(-2.7, -1.85)),
        level_spread_db=float(rng.uniform(1, 3)),
        restart=str(rng.choice(["start", "twice"])) if condition == "restart" else "none",
    )
