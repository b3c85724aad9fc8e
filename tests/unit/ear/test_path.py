"""The search, on odds written by hand."""

from dataclasses import replace

import numpy as np
import pytest

from fretwright.ear.align import Written, align
from fretwright.ear.features import LOWEST_MIDI, PITCHES
from fretwright.ear.path import walk

WRITTEN = Written(0.5 * np.arange(8.0), np.array([45, 48, 50, 52, 55, 57, 60, 62]), np.arange(8) % 4 == 0)


def odds_of(midi: list[int]) -> "np.ndarray[tuple[int, int], np.dtype[np.float32]]":
    odds = np.full((len(midi), PITCHES), -8.0, dtype=np.float32)
    odds[np.arange(len(midi)), np.array(midi) - LOWEST_MIDI] = 6.0
    return odds


def found(moments_s: list[float], midi: list[int]) -> list[list[tuple[int, int]]]:
    alignment = align(WRITTEN, np.array(moments_s), odds_of(midi))
    return [[(match.note, match.moment) for match in one.matches] for one in alignment.passes]


def test_each_note_finds_its_moment() -> None:
    moments = list(1.0 + WRITTEN.onsets_s)
    assert found(moments, list(WRITTEN.midi)) == [[(n, n) for n in range(8)]]


def test_a_note_left_out_is_stepped_over() -> None:
    moments, midi = list(1.0 + WRITTEN.onsets_s), list(WRITTEN.midi)
    del moments[3], midi[3]
    assert found(moments, midi) == [[(0, 0), (1, 1), (2, 2), (4, 3), (5, 4), (6, 5), (7, 6)]]


def test_a_pause_between_passes_starts_a_new_one() -> None:
    once = list(1.0 + WRITTEN.onsets_s)
    passes = found(once + [at + 7.0 for at in once], list(WRITTEN.midi) * 2)
    assert passes == [[(n, n) for n in range(8)], [(n, n + 8) for n in range(8)]]


@pytest.mark.parametrize("drift", [-0.015, 0.015])
def test_a_drift_is_followed(drift: float) -> None:
    gaps = 0.5 * (1 + drift) ** np.arange(8)
    moments = list(1.0 + np.concatenate([[0.0], np.cumsum(gaps)[:-1]]))
    assert found(moments, list(WRITTEN.midi)) == [[(n, n) for n in range(8)]]


def test_the_compiled_search_is_the_plain_one(rng: np.random.Generator) -> None:
    moments = np.sort(rng.uniform(0, 5, 24))
    odds = rng.normal(-2, 4, (8, 24))
    arguments = (
        moments,
        WRITTEN.onsets_s,
        odds,
        np.cumsum(np.abs(rng.normal(size=25))) * 0.1,
        np.abs(rng.normal(size=24)) * 0.1,
        np.full(8, 3.0),
        np.full(8, 2.0),
        np.exp(np.arange(-3, 4) * 0.05),
        np.abs(np.arange(-3, 4)) * 0.1,
        4.0,
        1.0,
        0.06,
        0.02,
        0.06,
    )
    for compiled, plain in zip(walk(*arguments), walk.py_func(*arguments), strict=True):
        np.testing.assert_allclose(np.asarray(compiled), np.asarray(plain), rtol=1e-5)


def test_what_is_plucked_before_the_last_note_has_ended_is_one_too_many() -> None:
    written = replace(WRITTEN, last_s=2.0)
    moments = np.array([*(1.0 + WRITTEN.onsets_s), 5.5, 8.0])

    (one,) = align(written, moments, odds_of([*WRITTEN.midi, 64, 64])).passes

    assert [(moment, midi) for moment, midi, _ in one.extras] == [(8, 64)]


def test_a_weak_sounding_counts_as_one_too_many_only_where_something_was_plucked() -> None:
    moments = np.insert(1.0 + WRITTEN.onsets_s, 4, 2.75)
    odds = odds_of([*WRITTEN.midi[:4], 64, *WRITTEN.midi[4:]])
    odds[4, 64 - LOWEST_MIDI] = 2.0

    extras = [
        align(WRITTEN, moments, odds, np.full(9, plucked)).passes[0].extras for plucked in (False, True)
    ]

    assert [len(some) for some in extras] == [0, 1]
