import numpy as np
import pytest

from fretwright.score.note import Attack
from fretwright.score.ornaments import Touch
from fretwright.sound import kernel
from fretwright.sound.colour import HALF_BAND, _bend
from fretwright.sound.contacts import Contact, OpenString
from fretwright.sound.filters import run_sections
from fretwright.sound.gesture import StringPart, string_part
from fretwright.sound.loudness import _follow, _k_weighting, _oversampler, _true_peak
from fretwright.sound.voices import ACOUSTIC_STEEL, CLEAN_ELECTRIC

RATE_HZ = 48_000


def contact(onset: int, end: int, midi: int, attack: Attack = Attack.PLUCK) -> Contact:
    touch = Touch(string=1, midi=midi, at_s=onset / RATE_HZ, until_s=end / RATE_HZ, attack=attack)
    return Contact(touch, onset, end)


def short_part() -> StringPart:
    """A pluck, a hammer-on and a release within 60 ms."""
    touches = [contact(10, 900, 64), contact(900, 1700, 66, Attack.HAMMER_ON)]
    return string_part(OpenString(64, 648.0), touches, CLEAN_ELECTRIC, 2880)


def run(function: object, part: StringPart) -> np.ndarray:
    out = np.zeros(len(part.track))
    assert callable(function)
    function(part.track, out, part.steps, part.controls[0], part.sections, 1.0, part.pickup_delay, -0.9)
    return out


def test_the_compiled_loop_equals_the_plain_one(monkeypatch: pytest.MonkeyPatch) -> None:
    part = short_part()
    compiled = run(kernel.ring, part)
    monkeypatch.setattr(kernel, "lagrange_weights", kernel.lagrange_weights.py_func)
    assert np.abs(compiled).max() > 0.01
    np.testing.assert_allclose(run(kernel.ring.py_func, part), compiled, rtol=0, atol=1e-12)


def test_the_other_compiled_functions_equal_their_plain_forms(rng: np.random.Generator) -> None:
    noise = rng.standard_normal(600)
    padded = np.pad(noise, 2 * len(HALF_BAND))
    bent, plain_bent = np.zeros(600), np.zeros(600)
    _bend(padded, HALF_BAND, 0.7, bent)
    _bend.py_func(padded, HALF_BAND, 0.7, plain_bent)
    np.testing.assert_allclose(plain_bent, bent, atol=1e-12)

    weighted, plain_weighted = np.zeros(600), np.zeros(600)
    run_sections(_k_weighting(), noise, weighted)
    run_sections.py_func(_k_weighting(), noise, plain_weighted)
    np.testing.assert_allclose(plain_weighted, weighted, atol=1e-12)

    assert _true_peak.py_func(noise, _oversampler(), 4.0) == pytest.approx(
        _true_peak(noise, _oversampler(), 4.0), abs=1e-12
    )
    gain, plain_gain = np.ones(600), np.ones(600)
    _follow(np.abs(noise), 0.5, 36, 0.999, gain)
    _follow.py_func(np.abs(noise), 0.5, 36, 0.999, plain_gain)
    np.testing.assert_allclose(plain_gain, gain, atol=1e-12)


def test_interpolator_weights_delay_a_polynomial_exactly() -> None:
    weights = np.zeros(6)
    first = kernel.lagrange_weights(41.37, weights)
    taps = np.arange(first, first + 6)
    for power in range(6):
        assert np.sum(weights * (-taps / 40.0) ** power) == pytest.approx((-41.37 / 40.0) ** power)


def test_a_sleeping_string_gives_exact_silence() -> None:
    touches = [contact(0, 4800, 45), contact(60_000, 62_000, 47)]
    part = string_part(OpenString(45, 648.0), touches, ACOUSTIC_STEEL, 70_000)
    out = run(kernel.ring, part)
    assert np.all(out[24_000:60_000] == 0.0)
    assert np.abs(out[60_000:61_000]).max() > 0.01
