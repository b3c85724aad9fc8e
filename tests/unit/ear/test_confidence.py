"""Chances from evidence: they rise with it, are chances, and keep back what is not sure."""

import json
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.ear.align import Match
from fretwright.ear.candidates import Candidates
from fretwright.ear.confidence import (
    ATTACK,
    FOUND,
    LEAST_SURE,
    LEAST_SURE_ATTACK,
    MISSED,
    Case,
    attack_of,
    can_be_slurred,
    curves,
    sure,
)
from fretwright.ear.features import PITCHES
from fretwright.ear.judge import Measured, verdicts
from fretwright.ear.verdicts import HeardAttack, HeardNote, Verdict
from fretwright.score.timeline import timeline
from scores import line

ASKED = timeline(line("6/5 6/8h 5/5 5/7 4/5 4/7")).notes
COUNT = len(ASKED)


def case(
    odds: float = 9.0, wrong: int | None = None, missing: int | None = None, at_best: float = -9.0
) -> Case:
    """A take as written with all notes at some odds, but for one that is wrong and one that is not there."""
    kept = [index for index in range(COUNT) if index != missing]
    matches = tuple(
        Match(index, place, ASKED[index].note.midi + (index == wrong), odds, -odds)
        for place, index in enumerate(kept)
    )
    onsets_s = np.array([0.5 + ASKED[index].onset_s for index in kept])
    zeros = np.zeros(len(kept))
    measured = Measured(matches, onsets_s, zeros, zeros, zeros, zeros + 0.3, zeros + 0.375, zeros + 0.01)
    curve = np.zeros(1000)
    found = Candidates(onsets_s, zeros + 1.0, zeros + 0.5, curve, curve)
    grid = np.full((len(kept), PITCHES), -12.0, dtype=np.float32)
    missed = {} if missing is None else {missing: at_best}
    return Case(ASKED, measured, missed, found, grid, 0)


def judged(some: Case) -> tuple[HeardNote, ...]:
    return sure(some, verdicts(ASKED, some.measured, some.missed, 0.0, 0))


def test_clear_evidence_is_nearly_certain_and_called_by_its_name() -> None:
    notes = judged(case(wrong=3, missing=4))

    assert [note.verdict for note in notes] == [
        *[Verdict.PLAYED] * 3,
        Verdict.WRONG,
        Verdict.MISSED,
        Verdict.PLAYED,
    ]
    assert all(note.confidence > 0.9 for note in notes)


@pytest.mark.parametrize(
    ("poor", "place"), [(case(odds=-6.0, wrong=3), 3), (case(missing=4, at_best=6.0), 4)]
)
def test_poor_evidence_of_a_fault_is_told_as_cannot_tell(poor: Case, place: int) -> None:
    notes = judged(poor)

    unsure = notes[place]
    assert unsure.verdict is Verdict.UNSURE
    assert unsure.confidence < LEAST_SURE[Verdict.WRONG]


@given(st.floats(-14, 13), st.floats(0.1, 2))
def test_more_odds_are_never_less_sure(odds: float, more: float) -> None:
    poor, good = judged(case(odds=odds)), judged(case(odds=odds + more))

    for one, other in zip(poor, good, strict=True):
        assert 0 <= one.confidence <= other.confidence <= 1


def test_a_note_that_was_left_out_is_the_less_sure_the_likelier_it_sounds() -> None:
    chances = [judged(case(missing=2, at_best=odds))[2].confidence for odds in (-12.0, -6.0, 0.0, 6.0)]

    assert chances == sorted(chances, reverse=True)
    assert chances[0] > chances[-1]


@given(st.floats(0, 1))
def test_an_attack_is_called_what_is_likelier_or_nothing(slur: float) -> None:
    attack, chance = attack_of(slur, written_slur=True)

    assert 0.5 <= chance <= 1
    assert (attack is HeardAttack.UNSURE) == (chance < LEAST_SURE_ATTACK)


def test_an_unasked_slur_needs_more() -> None:
    chances = np.linspace(0.5, 1, 200)
    asked = sum(attack_of(float(one), written_slur=True)[0] is HeardAttack.SLUR for one in chances)
    unasked = sum(attack_of(float(one), written_slur=False)[0] is HeardAttack.SLUR for one in chances)

    assert attack_of(0.0, written_slur=True)[0] is HeardAttack.PLUCK
    assert attack_of(1.0, written_slur=False)[0] is HeardAttack.SLUR
    assert unasked < asked


def test_only_another_fret_of_the_same_string_can_be_slurred_from() -> None:
    assert [can_be_slurred(ASKED, index) for index in range(COUNT)] == [False, True, False, True, False, True]
    notes = judged(case())
    assert [note.attack_confidence is not None for note in notes] == [False, True, False, True, False, True]


def test_the_stored_curves_are_over_the_numbers_that_are_counted() -> None:
    text = (files("fretwright.ear") / "weights" / "confidence.json").read_text(encoding="utf-8")

    stored = json.loads(text)

    assert {name: set(curve["weights"]) for name, curve in stored.items()} == {
        "played": set(FOUND),
        "wrong": set(FOUND),
        "missed": set(MISSED),
        "attack": set(ATTACK),
    }
    assert set(curves()) == set(stored)
