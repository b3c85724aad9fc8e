import numpy as np
import pytest

from fretwright.ear.pulse import fit_pulse, just_heard_s

WRITTEN = 0.5 * np.arange(32.0)
ON_BEAT = np.arange(32) % 2 == 0


def test_a_steady_player_has_the_tempo_and_no_timing() -> None:
    pulse = fit_pulse(WRITTEN, 3.0 + 1.2 * WRITTEN, ON_BEAT)

    assert pulse.stretch == pytest.approx(1.2)
    assert np.abs(pulse.timing_s).max() < 1e-9
    assert pulse.drift_percent == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("share", [-0.06, 0.06])
def test_drift_is_told_once_and_not_note_by_note(share: float) -> None:
    """Between the middles of the first and the last third lie 22 of 30 intervals."""
    speed = 1 + share * np.arange(31) / 30
    heard = np.concatenate([[0.0], np.cumsum(0.5 / speed)])

    pulse = fit_pulse(WRITTEN, heard, ON_BEAT)

    assert pulse.drift_percent == pytest.approx(100 * share * 22 / 30, abs=0.1)
    assert np.abs(pulse.timing_s).max() < just_heard_s(np.array([0.5]))[0]


def test_late_offbeats_are_an_offset_and_keep_their_sign() -> None:
    pulse = fit_pulse(WRITTEN, WRITTEN + np.where(ON_BEAT, 0.0, 0.03), ON_BEAT)

    assert pulse.offset_s == pytest.approx(0.015, abs=0.003)
    assert pulse.timing_s[9] - pulse.timing_s[8] == pytest.approx(0.03, abs=0.004)


def test_spread_is_that_of_the_player(rng: np.random.Generator) -> None:
    pulse = fit_pulse(WRITTEN, WRITTEN + rng.normal(0, 0.012, 32), ON_BEAT)

    assert 0.007 < pulse.spread_s < 0.016


def test_nothing_finer_than_what_is_heard_is_judged() -> None:
    """Friberg & Sundberg 1995: 6 ms below intervals of 240 ms, 2.5 % above."""
    np.testing.assert_allclose(just_heard_s(np.array([0.1, 0.24, 0.5])), [0.006, 0.006, 0.0125])
