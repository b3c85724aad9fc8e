import numpy as np
import pytest
from scipy import signal

from fretwright.sound.filters import BUTTERWORTH_2, BUTTERWORTH_4, high_pass, low_pass, slope, through

RATE_HZ = 48_000


@pytest.mark.parametrize(("order", "qualities"), [(2, BUTTERWORTH_2), (4, BUTTERWORTH_4)])
@pytest.mark.parametrize(("design", "kind"), [(low_pass, "lowpass"), (high_pass, "highpass")])
def test_butterworth_filters_are_those_of_scipy(
    order: int, qualities: tuple[float, ...], design: object, kind: str
) -> None:
    assert callable(design)
    impulse = np.zeros(2000)
    impulse[0] = 1.0
    reference = signal.sosfilt(signal.butter(order, 1200.0, kind, fs=RATE_HZ, output="sos"), impulse)
    ours = through(tuple(design(1200.0, quality) for quality in qualities), impulse)
    np.testing.assert_allclose(ours, reference, atol=1e-8)


def test_a_slope_falls_by_the_ratio_of_its_corners() -> None:
    section = np.array([slope(200.0, 2000.0)])
    hertz, response = signal.sosfreqz(section, worN=[1.0, 632.0, 20_000.0], fs=RATE_HZ)
    levels = 20 * np.log10(np.abs(response))
    assert len(hertz) == 3
    assert levels[0] == pytest.approx(0.0, abs=0.01)
    assert levels[1] == pytest.approx(-10.0, abs=0.5)
    assert levels[2] == pytest.approx(-20.0, abs=0.1)


def test_the_input_is_left_alone_and_an_odd_chain_runs() -> None:
    samples = np.ones(100)
    out = through((low_pass(1000.0, 0.7),) * 3, samples)
    assert (samples == 1.0).all()
    assert out[-1] != 1.0
