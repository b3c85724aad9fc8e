"""Tempo: seconds against the definition of beats a minute, and the ladder."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import ScoreError
from fretwright.score.tempo import FASTEST_BPM, SLOWEST_BPM, Ladder, TempoMap, TempoMark

F = Fraction


@pytest.mark.parametrize(
    ("bpm", "microseconds"),
    # FACTS: the tempo meta event of MIDI counts microseconds per quarter note (Standard MIDI Files 1.0)
    [(60, 0x0F4240), (80, 0x0B71B0), (100, 0x0927C0), (120, 0x07A120)],
)
def test_a_quarter_lasts_as_long_as_midi_says(bpm: float, microseconds: int) -> None:
    assert TempoMap.constant(bpm).seconds_at(F(1, 4)) * 1e6 == pytest.approx(microseconds)


def test_the_beat_that_is_counted_decides() -> None:
    # 60 dotted quarters a minute in 6/8; 60 halves in 2/2 (FACTS: 500,000 us a quarter is 60 beats in 2/2)
    assert TempoMap.constant(60, F(3, 8)).seconds_at(F(3, 4)) == pytest.approx(2.0)
    assert TempoMap.constant(60, F(1, 2)).seconds_at(F(1, 4)) == pytest.approx(0.5)


def test_a_change_of_tempo_counts_from_its_place() -> None:
    tempo = TempoMap(
        (TempoMark(F(0), 60, F(1, 4)), TempoMark(F(1), 120, F(1, 4)), TempoMark(F(2), 60, F(1, 4)))
    )
    assert [tempo.seconds_at(F(n)) for n in range(4)] == pytest.approx([0.0, 4.0, 6.0, 10.0])
    assert tempo.seconds_at(F(3, 2)) == pytest.approx(5.0)
    assert tempo.seconds_between(F(3, 2), F(5, 2)) == pytest.approx(3.0)


tempos = st.floats(20, 200)
times = st.fractions(0, 20, max_denominator=64)


@given(st.lists(st.tuples(times, tempos), min_size=1, max_size=5), times, times)
def test_time_never_runs_backwards(marks: list[tuple[Fraction, float]], a: Fraction, b: Fraction) -> None:
    by_time = {F(0): 60.0} | dict(marks)
    tempo = TempoMap(tuple(TempoMark(at, bpm, F(1, 4)) for at, bpm in sorted(by_time.items())))
    low, high = sorted((a, b))
    assert tempo.seconds_at(low) <= tempo.seconds_at(high)
    assert tempo.seconds_between(low, high) == pytest.approx(tempo.seconds_at(high) - tempo.seconds_at(low))


@given(tempos, st.floats(0.5, 1.9), times)
def test_scaling_the_tempo_scales_every_second(bpm: float, factor: float, time: Fraction) -> None:
    tempo = TempoMap((TempoMark(F(0), bpm, F(1, 4)), TempoMark(F(2), 100.0, F(3, 8))))
    scaled = tempo.at_start(bpm * factor)
    assert scaled.bpm == pytest.approx(bpm * factor)
    assert scaled.seconds_at(time) * factor == pytest.approx(tempo.seconds_at(time))


@pytest.mark.parametrize("bpm", [0.0, 9.9, 401.0, -60.0])
def test_a_tempo_out_of_range_is_refused(bpm: float) -> None:
    with pytest.raises(ScoreError, match="beats a minute"):
        TempoMap.constant(bpm)


def test_marks_must_start_at_0_and_stand_in_order() -> None:
    first, second = TempoMark(F(0), 60, F(1, 4)), TempoMark(F(1), 80, F(1, 4))
    for marks in [(), (second,), (first, first), (first, second, second)]:
        with pytest.raises(ScoreError):
            TempoMap(marks)


def test_a_ladder_in_steps_of_eight_percent() -> None:
    # 100 / 60 = 1.667 needs seven steps of at most 8 %: each is 7.57 %
    assert Ladder(60, 100).rungs == (60, 65, 69, 75, 80, 86, 93, 100)
    assert Ladder(60, 60).rungs == (60,)
    assert Ladder(60, 64).rungs == (60, 64)
    assert Ladder(60, 120, step_percent=100).rungs == (60, 120)


@given(st.integers(20, 200), st.floats(1.0, 2.0), st.floats(1, 30))
def test_a_ladder_climbs_from_start_to_goal_in_steps_no_larger_than_asked(
    start: int, ratio: float, step_percent: float
) -> None:
    goal = round(start * ratio)
    rungs = Ladder(start, goal, step_percent).rungs
    assert (rungs[0], rungs[-1]) == (start, goal)
    for low, high in pairwise(rungs):
        # a whole tempo may be half a beat off at either end
        assert low < high <= (low + 0.5) * (1 + step_percent / 100) + 0.5 + 1e-6


@pytest.mark.parametrize(
    ("start", "goal", "step", "said"),
    [
        (100, 60, 8, "below the start"),
        (60, 100, 0, "percent"),
        (60, 100, -5, "percent"),
        (SLOWEST_BPM - 1, 100, 8, "cannot be practised"),
        (60, FASTEST_BPM + 1, 8, "cannot be practised"),
    ],
)
def test_a_ladder_that_cannot_be_climbed_is_refused(
    start: float, goal: float, step: float, said: str
) -> None:
    with pytest.raises(ScoreError, match=said):
        Ladder(start, goal, step)
