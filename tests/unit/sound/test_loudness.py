"""ITU-R BS.1770-4 and EBU Tech 3341, from memory where a case says so."""

import numpy as np
import pytest

from fretwright.sound.loudness import (
    _k_weighting,
    _limit,
    integrated_lufs,
    to_target,
    true_peak,
    true_peak_dbtp,
)

RATE_HZ = 48_000


def sine(hz: float, level_dbfs: float, seconds: float, phase: float = 0.0) -> np.ndarray:
    time_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    return 10 ** (level_dbfs / 20) * np.sin(2 * np.pi * hz * time_s + phase)


def stereo(*parts: np.ndarray) -> np.ndarray:
    whole = np.concatenate(parts)
    return np.stack([whole, whole], axis=1)


def test_full_scale_997_hz_in_one_channel() -> None:
    """BS.1770-4, annex 1: -3.01 LKFS."""
    assert integrated_lufs(sine(997.0, 0.0, 5.0)[:, None]) == pytest.approx(-3.01, abs=0.01)


def test_filter_coefficients_are_the_printed_ones() -> None:
    """BS.1770-4, tables 1 and 2 (from memory)."""
    shelf, cut = _k_weighting()
    printed_shelf = [
        1.53512485958697,
        -2.69169618940638,
        1.19839281085285,
        1.0,
        -1.69065929318241,
        0.73248077421585,
    ]
    np.testing.assert_allclose(shelf, printed_shelf, atol=1e-9)
    np.testing.assert_allclose(cut[4:], [-1.99004745483398, 0.99007225036621], atol=1e-9)


@pytest.mark.parametrize("level", [-23.0, -33.0])
def test_ebu_tech_3341_cases_1_and_2(level: float) -> None:
    """Stereo 1 kHz sine at a level measures that level (from memory)."""
    assert integrated_lufs(stereo(sine(1000.0, level, 20.0))) == pytest.approx(level, abs=0.1)


def test_ebu_tech_3341_case_3_relative_gate() -> None:
    """10 s at -36, 60 s at -23, 10 s at -36 dBFS: -23 LUFS (from memory)."""
    quiet = sine(1000.0, -36.0, 10.0)
    assert integrated_lufs(stereo(quiet, sine(1000.0, -23.0, 60.0), quiet)) == pytest.approx(-23.0, abs=0.1)


def test_ebu_tech_3341_case_4_both_gates() -> None:
    """As case 3 between 10 s at -72 dBFS: -23 LUFS (from memory)."""
    silent, quiet = sine(1000.0, -72.0, 10.0), sine(1000.0, -36.0, 10.0)
    signal = stereo(silent, quiet, sine(1000.0, -23.0, 60.0), quiet, silent)
    assert integrated_lufs(signal) == pytest.approx(-23.0, abs=0.1)


def test_ebu_tech_3341_case_5_without_a_gate_at_work() -> None:
    """20 s at -26, 20.1 s at -20, 20 s at -26 dBFS: -23 LUFS (from memory)."""
    signal = stereo(sine(1000.0, -26.0, 20.0), sine(1000.0, -20.0, 20.1), sine(1000.0, -26.0, 20.0))
    assert integrated_lufs(signal) == pytest.approx(-23.0, abs=0.1)


def test_silence_has_no_loudness_and_stays_silent() -> None:
    silence = np.zeros((RATE_HZ, 2))
    assert integrated_lufs(silence) == -np.inf
    assert true_peak_dbtp(silence) == -np.inf
    assert not to_target(silence).any()


@pytest.mark.parametrize(("divisor", "phase_deg"), [(4, 0.0), (4, 45.0), (6, 60.0), (8, 67.5)])
def test_true_peak_between_samples(divisor: int, phase_deg: float) -> None:
    """EBU Tech 3341 cases 15 to 18 (from memory): crests between samples read -6 dBTP +0.2/-0.4."""
    wave = sine(RATE_HZ / divisor, -6.02, 0.2, np.radians(phase_deg))
    # The edges ring; the standard's signals fade in and out.
    wave *= np.minimum(1.0, np.minimum(np.arange(len(wave)), np.arange(len(wave))[::-1]) / 1000)
    assert -6.4 < true_peak_dbtp(wave[:, None]) < -5.8


def test_true_peak_skips_nothing_that_matters(rng: np.random.Generator) -> None:
    from scipy.signal import resample_poly

    signal = rng.standard_normal((4000, 2)) * np.linspace(0.1, 1.0, 4000)[:, None]
    reference = np.abs(resample_poly(signal, 4, 1, axis=0)).max()
    assert true_peak(signal) == pytest.approx(reference, rel=0.05)
    assert true_peak(signal) >= np.abs(signal).max()


@pytest.mark.parametrize("crest", [1.0, 30.0])
def test_the_target_is_met_under_the_ceiling(crest: float) -> None:
    """Also for a signal whose peaks must be turned down: soft tone with hard ticks."""
    wave = sine(440.0, -30.0, 4.0)
    wave[::4800] *= crest
    wave[1::4800] *= crest
    met = to_target(stereo(wave))
    assert integrated_lufs(met) == pytest.approx(-16.0, abs=0.1)
    assert true_peak_dbtp(met) <= -1.0


def test_the_limiter_is_down_in_time_for_every_peak(rng: np.random.Generator) -> None:
    peaks = 0.2 * rng.standard_normal((9600, 2))
    peaks[rng.integers(0, 9600, 40)] *= 8
    limited = _limit(peaks, 0.5)
    assert np.abs(peaks).max() > 1.0
    assert np.abs(limited).max() <= 0.5 + 1e-9
    # What is far from any peak is left alone.
    quiet = np.full((9600, 2), 0.1)
    np.testing.assert_allclose(_limit(quiet, 0.5), quiet, atol=1e-12)
