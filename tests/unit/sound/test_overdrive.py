"""The overdriven stage: its curve, what it folds back, and its compiled parts."""

import numpy as np
import pytest
from numpy.typing import NDArray

from fretwright.sound.overdrive import _STEEP, _WIDE, bend_hard, double, halve, overdrive

RATE_HZ = 48_000
TIME_S = np.arange(RATE_HZ) / RATE_HZ


def lines_db(signal: NDArray[np.float64]) -> NDArray[np.float64]:
    """Level of every whole frequency of one second."""
    return np.asarray(20 * np.log10(np.abs(np.fft.rfft(signal * np.blackman(RATE_HZ))) + 1e-12))


@pytest.mark.parametrize(("hz", "bare_db"), [(1319, -40.0), (2637, -30.0), (4699, -20.0)])
def test_hardly_anything_folds_back(hz: int, bare_db: float) -> None:
    """Lines that are no overtone of the tone: those of the same curve without our care are far louder."""
    tone = 0.8 * np.sin(2 * np.pi * hz * TIME_S)
    at_hz = np.arange(RATE_HZ // 2 + 1)
    strange = (np.abs((at_hz + hz / 2) % hz - hz / 2) > 6) & (at_hz > 20) & (at_hz < 16_000)
    ours, bare = (
        lines_db(each) for each in (overdrive(tone, 20.0), 20 * tone / np.sqrt(1 + (20 * tone) ** 2))
    )
    assert bare[strange].max() - bare[hz] > bare_db
    assert ours[strange].max() - ours[hz] < -70.0
    assert ours[strange].max() < bare[strange].max() - 40.0


def test_a_slow_wave_follows_the_curve() -> None:
    slow = 0.7 * np.sin(2 * np.pi * 100 * TIME_S[:4800])
    u = 5.0 * slow + 0.4
    wanted = u / np.sqrt(1 + u**2) - 0.4 / np.sqrt(1 + 0.4**2)
    np.testing.assert_allclose(overdrive(slow, 5.0, 0.4)[200:-200], wanted[200:-200], atol=6e-3)


def test_an_even_curve_makes_odd_overtones_and_a_bias_even_ones() -> None:
    tone = 0.5 * np.sin(2 * np.pi * 500 * TIME_S)
    middle, shifted = (lines_db(overdrive(tone, 8.0, bias)) for bias in (0.0, 0.5))
    assert middle[1000] - middle[500] < -100
    assert middle[1500] - middle[500] > -20
    assert shifted[1000] - shifted[500] > -30


def test_silence_stays_silent_and_blocks_join_without_a_seam() -> None:
    assert not overdrive(np.zeros(10_000), 10.0, 0.5)[100:-100].any()
    tone = 0.6 * np.sin(2 * np.pi * 440 * TIME_S)
    whole = overdrive(tone, 6.0, 0.3)
    later = overdrive(tone[1000:], 6.0, 0.3)
    np.testing.assert_allclose(whole[1200:-200], later[200:-200], atol=1e-9)


def test_the_compiled_parts_equal_their_plain_forms(rng: np.random.Generator) -> None:
    noise = rng.standard_normal(200)
    for taps in (_STEEP, _WIDE):
        twice, plain_twice = np.zeros(400), np.zeros(400)
        double(noise, taps, twice)
        double.py_func(noise, taps, plain_twice)
        np.testing.assert_allclose(plain_twice, twice, atol=1e-12)
        back, plain_back = np.zeros(200), np.zeros(200)
        halve(twice, taps, back)
        halve.py_func(twice, taps, plain_back)
        np.testing.assert_allclose(plain_back, back, atol=1e-12)
    bent, plain_bent = noise.copy(), noise.copy()
    bend_hard(bent, 3.0, 0.2, 0.1)
    bend_hard.py_func(plain_bent, 3.0, 0.2, 0.1)
    np.testing.assert_allclose(plain_bent, bent, atol=1e-12)
