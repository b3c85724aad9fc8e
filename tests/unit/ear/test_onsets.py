"""Onsets of made sounds whose start is known to the sample."""

import numpy as np
import pytest

from fretwright.ear.arrays import Samples
from fretwright.ear.onsets import refined
from fretwright.ear.sounding import cents_of
from fretwright.ear.take import RATE_HZ

START_S = 0.6


def string(hertz: float, begins_s: float, ends_s: float) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    time = np.arange(2 * RATE_HZ) / RATE_HZ - begins_s
    tone = sum(
        np.sin(2 * np.pi * k * hertz * time) * np.exp(-k * np.maximum(time, 0)) / k for k in range(1, 8)
    )
    return np.where((time >= 0) & (time < ends_s - begins_s), tone, 0.0)


def noisy(samples: "np.ndarray[tuple[int], np.dtype[np.float64]]", rng: np.random.Generator) -> Samples:
    out: Samples = (0.2 * samples + rng.normal(0, 5e-4, len(samples))).astype(np.float32)
    return out


@pytest.mark.parametrize("hertz", [82.4, 196.0, 659.3])
@pytest.mark.parametrize("guess_ms", [-20, 0, 15])
def test_a_pluck_out_of_silence_is_found_to_the_millisecond(
    hertz: float, guess_ms: float, rng: np.random.Generator
) -> None:
    samples = noisy(string(hertz, START_S, 2.0), rng)

    onsets, contrasts = refined(samples, np.array([START_S + guess_ms / 1000]), np.zeros(1), let_go=True)

    assert onsets[0] == pytest.approx(START_S, abs=0.0015)
    assert contrasts[0] > 10


def test_the_scrape_before_a_driven_string_swells_is_its_onset(rng: np.random.Generator) -> None:
    scrape, swell = np.zeros(2 * RATE_HZ), string(220.0, START_S + 0.03, 2.0)
    begins, swells = round(START_S * RATE_HZ), round((START_S + 0.03) * RATE_HZ)
    scrape[begins : swells + 480] = rng.normal(0, 0.15, swells + 480 - begins)
    swell[swells : swells + 480] *= np.linspace(0, 1, 480) ** 2
    let_go = round((START_S - 0.012) * RATE_HZ)
    scrape[:let_go] = rng.normal(0, 0.15, let_go)  # drive makes a string that rings rough as well
    played = string(165.0, 0.2, START_S - 0.012) + scrape + swell

    onsets, _ = refined(noisy(played, rng), np.array([START_S + 0.03]), np.array([165.0]), let_go=True)

    assert onsets[0] == pytest.approx(START_S, abs=0.005)


@pytest.mark.parametrize("steps", [-2, 1, 3])
def test_a_slur_is_found_where_the_length_changes(steps: int, rng: np.random.Generator) -> None:
    hertz = 220.0
    samples = noisy(string(hertz, 0.2, START_S) + 0.6 * string(hertz * 2 ** (steps / 12), START_S, 2.0), rng)

    onsets, _ = refined(samples, np.array([START_S + 0.01]), np.array([hertz]))

    assert onsets[0] == pytest.approx(START_S, abs=0.003)


def test_where_nothing_rises_the_moment_stays(rng: np.random.Generator) -> None:
    samples = noisy(np.zeros(2 * RATE_HZ), rng)

    onsets, contrasts = refined(samples, np.array([START_S]), np.zeros(1))

    assert onsets[0] == START_S
    assert contrasts[0] == 0


@pytest.mark.parametrize("stiffness", [0.0, 1e-4, 4e-4])
def test_the_pitch_of_a_stiff_string_is_that_of_its_first_partial(stiffness: float) -> None:
    """f_k = k f_0 sqrt(1 + B k^2) (Fletcher 1964): the sixth partial lies up to 12 cents too high."""
    time = np.arange(RATE_HZ) / RATE_HZ
    partials = np.arange(1, 9)
    stretch = partials * np.sqrt((1 + stiffness * partials**2) / (1 + stiffness))
    tone = sum(np.sin(2 * np.pi * 98.0 * s * time) / k for k, s in zip(partials, stretch, strict=True))
    off = 1200 * np.log2(98.0 / (440 * 2 ** ((43 - 69) / 12)))

    cents = cents_of((0.2 * tone).astype(np.float32), np.array([0.1]), np.array([0.6]), np.array([43]), 0.0)

    assert cents[0] == pytest.approx(off, abs=0.7)


@pytest.mark.parametrize("off_cents", [-23.0, 0.0, 8.0])
def test_pitch_is_measured_to_the_cent(off_cents: float, rng: np.random.Generator) -> None:
    """A4 = 440 Hz (ISO 16)."""
    samples = noisy(string(440.0 * 2 ** (off_cents / 1200), START_S, 2.0), rng)

    cents = cents_of(samples, np.array([START_S]), np.array([1.2]), np.array([69]), 0.0)

    assert cents[0] == pytest.approx(off_cents, abs=1.0)
