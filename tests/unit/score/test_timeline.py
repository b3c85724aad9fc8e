"""The performance: swing, repeats and tempo turned into seconds."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import ScoreError
from fretwright.score.meter import Meter
from fretwright.score.score import Score
from fretwright.score.swing import SHUFFLE, STRAIGHT, Swing
from fretwright.score.tempo import TempoMap
from fretwright.score.timeline import timeline
from fretwright.score.values import EIGHTH, HALF, QUARTER, TRIPLET, WHOLE, Value
from scores import line
from strategies import meters, values

F = Fraction


def onsets(score: Score, bpm: float | None = None) -> list[float]:
    return [round(note.onset_s, 6) for note in timeline(score, bpm).notes]


def test_quarters_at_sixty_come_every_second() -> None:
    performance = timeline(line("3/5 3/7 2/5 2/7", value=QUARTER), 60)
    assert [note.onset_s for note in performance.notes] == pytest.approx([0, 1, 2, 3])
    assert [note.duration_s for note in performance.notes] == pytest.approx([1, 1, 1, 1])
    assert performance.length_s == pytest.approx(4.0)
    assert performance.bpm == 60


def test_the_scores_own_tempo_is_kept_unless_another_is_asked_for() -> None:
    score = line("3/5 3/7", value=HALF)
    assert timeline(score).bpm == 80
    assert onsets(score)[1] == pytest.approx(1.5)
    with pytest.raises(ScoreError):
        timeline(score, 1000)


def test_eighths_of_a_shuffle_stand_where_the_triplet_stands() -> None:
    """Common practice, no source: two thirds of the beat and one third."""
    score = replace(line("3/5 3/7 2/5 2/7 3/5 3/7 2/5 2/7"), swing=SHUFFLE)
    performance = timeline(score, 60)
    assert onsets(score, 60) == pytest.approx([0, 2 / 3, 1, 5 / 3, 2, 8 / 3, 3, 11 / 3], abs=1e-5)
    assert [round(note.duration_s, 4) for note in performance.notes] == [0.6667, 0.3333] * 4
    assert [beat.time_s for beat in performance.beats] == pytest.approx([0, 1, 2, 3])


def test_a_written_triplet_does_not_swing() -> None:
    row = [Value(F(1, 8), 0, TRIPLET)] * 3 + [EIGHTH, EIGHTH, HALF]
    score = replace(line("3/5 3/7 3/8 2/5 2/7 2/8", values=row), swing=SHUFFLE)
    assert onsets(score, 60) == pytest.approx([0, 1 / 3, 2 / 3, 1, 5 / 3, 2], abs=1e-5)


def test_the_upbeat_of_a_pickup_swings_and_the_bar_line_stays_on_its_beat() -> None:
    score = replace(line("3/5 3/7", values=[EIGHTH, WHOLE], pickup=F(1, 8)), swing=SHUFFLE)
    performance = timeline(score, 60)
    assert onsets(score, 60) == pytest.approx([1 / 6, 1 / 2], abs=1e-5)
    assert performance.notes[0].duration_s == pytest.approx(1 / 3)
    assert [start for start, _ in performance.bars] == pytest.approx([0, 1 / 2])
    assert [beat.time_s for beat in performance.beats] == pytest.approx([0.5, 1.5, 2.5, 3.5])
    assert performance.length_s == pytest.approx(4.5)


@pytest.mark.parametrize("share", [F(1, 3), F(1), F(3, 2)])
def test_a_swing_that_is_none_is_refused(share: Fraction) -> None:
    with pytest.raises(ScoreError, match="swing"):
        Swing(share)


@given(st.fractions(F(1, 2), F(9, 10)), st.sampled_from([F(1, 8), F(1, 16)]), st.integers(-32, 64))
def test_swing_keeps_pairs_whole_and_places_in_order(share: Fraction, unit: Fraction, place: int) -> None:
    swing = Swing(share, unit)
    at = F(place, 32)
    if at % (2 * unit) == 0:
        assert swing.played(at) == at
    assert swing.played(at) < swing.played(at + F(1, 32))
    assert STRAIGHT.played(at) == at


def repeated(score: Score, times: int) -> Score:
    bars = (*score.bars[:-1], replace(score.bars[-1], closes_repeat=times))
    return replace(score, bars=bars)


def test_a_repeated_bar_sounds_again_under_the_same_ids() -> None:
    score = repeated(line("3/5 3/7", value=HALF), 3)
    performance = timeline(score, 60)
    assert [note.note.id for note in performance.notes] == ["b1t0s3", "b1t1-2s3"] * 3
    assert [note.time_through for note in performance.notes] == [1, 1, 2, 2, 3, 3]
    assert [note.onset_s for note in performance.notes] == pytest.approx([0, 2, 4, 6, 8, 10])
    assert performance.length_s == pytest.approx(12.0)


@pytest.mark.parametrize(
    ("meter", "pickup", "expected"),
    [
        (Meter(4, 4), F(0), [1, 2, 3, 4]),
        (Meter(6, 8), F(0), [1, 2]),
        (Meter(3, 4), F(1, 4), [3, 1, 2, 3]),
        # an upbeat of an eighth has no beat in it
        (Meter(4, 4), F(1, 8), [1, 2, 3, 4]),
    ],
)
def test_beats_are_numbered_as_counted(meter: Meter, pickup: Fraction, expected: list[int]) -> None:
    values = [Value(EIGHTH.base)] * int((pickup + meter.length) * 8)
    score = line(" ".join(["3/5"] * len(values)), values=values, meter=meter, pickup=pickup)
    assert [beat.beat for beat in timeline(score).beats] == expected


@given(st.lists(values(16), min_size=1, max_size=16), meters(), st.floats(40, 240), st.integers(1, 3))
def test_twice_the_tempo_takes_half_the_time(row: list[Value], meter: Meter, bpm: float, times: int) -> None:
    row = [value for value in row if value.tuplet is None] or [QUARTER]
    score = repeated(line(" ".join(["3/5"] * len(row)), values=row, meter=meter), times)
    score = replace(score, tempo=TempoMap.constant(60, meter.beat))
    slow, fast = timeline(score, bpm / 2), timeline(score, bpm)
    assert fast.length_s * 2 == pytest.approx(slow.length_s)
    for a, b in zip(fast.notes, slow.notes, strict=True):
        assert a.onset_s * 2 == pytest.approx(b.onset_s)
        assert a.duration_s * 2 == pytest.approx(b.duration_s)
    # every beat is as long as the tempo says, and notes come in order
    clicks = [beat.time_s for beat in fast.beats] + [fast.length_s]
    assert [b - a for a, b in pairwise(clicks)] == pytest.approx([60 / bpm] * len(fast.beats))
    assert [note.onset_s for note in fast.notes] == sorted(note.onset_s for note in fast.notes)
