"""Takes that no student makes: an answer every time, and never a crash."""

import warnings
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.ear.align import Written, align
from fretwright.ear.arrays import Samples
from fretwright.ear.features import PITCHES
from fretwright.ear.listen import listen
from fretwright.ear.take import RATE_HZ, Refusal, Take, examined
from fretwright.ear.verdicts import Hearing
from fretwright.score.techniques import WIDE_VIBRATO, Techniques, pre_bend
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import Timeline, timeline
from scores import line

ASKED = timeline(line("6/5 6/8 5/5 5/7"))
MOVING = replace(
    ASKED,
    notes=tuple(
        replace(
            timed,
            note=replace(timed.note, techniques=Techniques(bend=pre_bend(Fraction(3)), vibrato=WIDE_VIBRATO)),
        )
        for timed in ASKED.notes
    ),
)
LADDER = Ladder(60, 120)
SECOND = np.arange(RATE_HZ)

ABSURD = {
    "impulse": np.eye(1, 2 * RATE_HZ, 5)[0],
    "impulses": (np.arange(3 * RATE_HZ) % 2400 == 0) * 1.0,
    "steady": np.full(2 * RATE_HZ, 0.5),
    "ramp": np.linspace(-1, 1, 2 * RATE_HZ),
    "siren": np.sin(np.cumsum(np.linspace(0.02, 1.0, 3 * RATE_HZ))),
    "high": np.sin(3.0 * np.arange(2 * RATE_HZ)),
    "low": np.sin(0.002 * np.arange(2 * RATE_HZ)),
    "one short click": np.concatenate([np.zeros(RATE_HZ), [1.0, -1.0], np.zeros(10)]),
}


@pytest.mark.parametrize("asked", [ASKED, MOVING], ids=["plain", "moving"])
@pytest.mark.parametrize("name", sorted(ABSURD))
def test_an_absurd_take_gets_an_answer(name: str, asked: Timeline) -> None:
    take = examined(Take(ABSURD[name].astype(np.float32)))

    answer = take if isinstance(take, Refusal) else listen(take, asked, LADDER)

    assert isinstance(answer, Refusal | Hearing)


@given(
    st.integers(0, 30),
    st.integers(1, 12),
    st.integers(0, 2**32 - 1),
)
def test_any_odds_are_aligned_in_order(moment_count: int, note_count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    moments = np.sort(rng.uniform(0, 10, moment_count))
    odds: Samples = rng.normal(-3, 6, (moment_count, PITCHES)).astype(np.float32)
    rises = rng.integers(0, 5, note_count)
    bent = rng.random() < 0.5
    written = Written(
        np.cumsum(rng.uniform(0.05, 1.0, note_count)),
        rng.integers(20, 110, note_count),
        rng.random(note_count) < 0.3,
        rises if bent else None,
        np.minimum(rises, rng.uniform(0, 4, note_count)) if bent else None,
    )

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = align(written, moments, odds)

    for one in found.passes:
        notes = [match.note for match in one.matches]
        times = [match.moment for match in one.matches]
        assert notes == sorted(set(notes))
        assert times == sorted(set(times))
        assert all(0 <= note < note_count for note in notes)
        assert all(times[0] < moment < times[-1] for moment, _, _ in one.extras)
    ends = [(one.matches[0].moment, one.matches[-1].moment) for one in found.passes]
    assert all(before[1] < after[0] for before, after in pairwise(ends))
