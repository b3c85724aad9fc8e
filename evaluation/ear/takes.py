"""The takes: exercise, performance, guitar and corruption, all drawn from one seed."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from evaluation.ear.corrupting import SEVERAL, STRAINS, Recorded, mistuned_cents, recorded_under
from evaluation.ear.exercises import exercise
from evaluation.ear.guitars import REPORTED_ON, TUNED_ON
from evaluation.ear.performing import Manner, Performance, perform
from evaluation.ear.sounding import sound_of

CONDITIONS: Final = (
    *STRAINS,
    "tempo 20 % off",
    "restart",
    "ringing",
    SEVERAL,
)
_SEED: Final = 4_114
_SLIDES: Final = 0.25
"""Of the slurs."""
_LEAST_RINGING_S: Final = 0.3


@dataclass(frozen=True, slots=True)
class Take:
    """One take with all that is known of it."""

    name: str
    performance: Performance
    guitar: str
    slurs: str
    """``crossfade`` or ``jump``."""
    condition: str
    faulty: bool
    """Whether mistakes were made on purpose."""
    guitar_cents: float
    recorded: Recorded


def takes(*, reported: bool, per_condition: int, seed: int = _SEED) -> Iterator[Take]:
    """Takes of every condition on the guitars that constants were set with, or on the others."""
    guitars = REPORTED_ON if reported else TUNED_ON
    for place, condition in enumerate(CONDITIONS):
        for index in range(per_condition):
            rng = np.random.default_rng([seed, int(reported), place, index])
            guitar = guitars[(index + place) % len(guitars)]
            slurs = ("jump" if reported else "crossfade") if index % 4 else "crossfade"
            yield take(condition, guitar, slurs, rng, faulty=index % 2 == 0, name=f"{condition}-{index}")


def take(
    condition: str,
    guitar: str,
    slurs: str,
    rng: np.random.Generator,
    *,
    faulty: bool,
    name: str,
    damped_s: float = np.inf,
) -> Take:
    """One take under one condition."""
    # nothing rings on under the heel of the hand that could be slurred from
    slurred = guitar != "muted" and damped_s > _LEAST_RINGING_S
    score = exercise(rng, slurs=slurred, slides=_SLIDES)
    performance = perform(score, _manner(condition, rng, faulty=faulty), rng)
    cents = mistuned_cents(condition, rng)
    heard = recorded_under(condition, sound_of(performance, guitar, slurs, cents, rng, damped_s), rng)
    return Take(name, performance, guitar, slurs, condition, faulty, cents, heard)


def _manner(condition: str, rng: np.random.Generator, *, faulty: bool) -> Manner:
    ratio = float(rng.uniform(0.9, 1.1))
    if condition == "tempo 20 % off":
        ratio = float(rng.choice([0.8, 1.2]))
    drift = condition.split()[1] if condition.startswith("drift") else "none"
    return Manner(
        tempo_ratio=ratio,
        jitter_ms=float(rng.uniform(3, 14)),
        drift=drift,
        wrong=0.07 if faulty else 0.0,
        missed=0.065 if faulty else 0.0,
        extra=0.1 if faulty else 0.0,
        plucked_slur=0.25 if faulty else 0.0,
        level_spread_db=float(rng.uniform(1, 3)),
        legato=float(rng.uniform(0.75, 1.0)),
        ringing=condition == "ringing",
        restart=str(rng.choice(["start", "bar", "twice"])) if condition == "restart" else "none",
    )
