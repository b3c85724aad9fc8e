"""The evaluation's own measures, on sounds of known truth."""

import importlib
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

RATE_HZ = 48_000
ROOT = Path(__file__).parents[3]


@pytest.fixture
def measure(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    monkeypatch.syspath_prepend(str(ROOT))
    return importlib.import_module("evaluation.sound.measure")


@pytest.fixture
def likeness(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    monkeypatch.syspath_prepend(str(ROOT))
    return importlib.import_module("evaluation.sound.likeness")


def stiff_tone(hz: float, b: float, t60_s: float, slope_db: float = 6.0, seconds: float = 2.0) -> np.ndarray:
    """Partials of a stiff string, each softer by ``slope_db`` per octave, all of one decay."""
    time_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    tone = np.zeros(len(time_s))
    for number in range(1, 16):
        partial_hz = number * hz * np.sqrt((1 + b * number**2) / (1 + b))
        tone += number ** (-slope_db / 6.02) * np.sin(2 * np.pi * partial_hz * time_s + number)
    return 0.1 * tone * 10 ** (-3 * time_s / t60_s)


@pytest.mark.parametrize("hz", [82.407, 196.3, 1174.0])
def test_both_pitch_measures_find_a_known_pitch(measure: ModuleType, hz: float) -> None:
    tone = stiff_tone(hz, 5e-5, 3.0)[: round(1.2 * RATE_HZ)]
    for found in (measure.peak_hz(tone, hz * 1.003), measure.turning_hz(tone, hz * 1.003)):
        assert abs(1200 * np.log2(found / hz)) < 0.05


@pytest.mark.parametrize("t60_s", [1.0, 4.0, 15.0])
def test_decay_is_read_off(measure: ModuleType, t60_s: float) -> None:
    assert measure.t60_s(stiff_tone(110.0, 5e-5, t60_s), 110.0) == pytest.approx(t60_s, rel=0.02)


@pytest.mark.parametrize("b", [1e-5, 1e-4, 4e-4])
def test_stiffness_is_read_off(measure: ModuleType, b: float) -> None:
    found, heard = measure.inharmonicity(stiff_tone(196.0, b, 4.0), 196.0, 2800.0)
    assert found == pytest.approx(b, rel=0.03)
    assert heard >= 13


def test_a_guitar_is_like_itself_and_unlike_a_duller_one(likeness: ModuleType) -> None:
    tones = {"bright": stiff_tone(196.0, 1e-4, 4.0), "dull": stiff_tone(196.0, 1e-4, 1.5, slope_db=12.0)}
    portraits = {name: {55: likeness.portrait(tone, 196.0)} for name, tone in tones.items()}
    same = likeness.distance(portraits["bright"], portraits["bright"])
    other = likeness.distance(portraits["bright"], portraits["dull"])
    assert (same.levels_db, same.decays_db_s, same.attack_db) == (0.0, 0.0, 0.0)
    assert other.levels_db > 5.0
    assert other.decays_db_s == pytest.approx(60 / 1.5 - 60 / 4.0, rel=0.1)
    assert same.within(other)
    assert not other.within(same)


@pytest.fixture
def tracks(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    monkeypatch.syspath_prepend(str(ROOT))
    return importlib.import_module("evaluation.sound.tracks")


def gliding_tone(hz: np.ndarray) -> np.ndarray:
    """Partials along a course of frequency, the second three times as strong as the first."""
    phase = 2 * np.pi * np.cumsum(hz) / RATE_HZ
    tone = np.zeros(len(hz))
    for number, level in enumerate((1, 3, 2, 1, 1), start=1):
        tone += level * np.sin(number * phase)
    return tone


def test_a_glide_is_followed_and_a_mistuned_one_told(tracks: ModuleType) -> None:
    expected = 110.0 * 2 ** (np.linspace(0, 2, 2 * RATE_HZ) / 12)
    for off_cents in (0.0, 4.0, -7.0):
        heard = tracks.deviation_cents(gliding_tone(expected * 2 ** (off_cents / 1200)), expected)
        inside = heard[RATE_HZ // 5 : -RATE_HZ // 5]
        assert np.abs(inside - off_cents).max() < 1.5


@pytest.mark.parametrize(("rate_hz", "width_cents"), [(5.5, 40.0), (7.3, 90.0)])
def test_a_vibrato_is_read_off(tracks: ModuleType, rate_hz: float, width_cents: float) -> None:
    time_s = np.arange(2 * RATE_HZ) / RATE_HZ
    tone = gliding_tone(196.0 * 2 ** (width_cents / 2400 * np.sin(2 * np.pi * rate_hz * time_s)))
    found = tracks.swing(tone, 196.0)
    assert found.rate_hz == pytest.approx(rate_hz, rel=0.005)
    assert found.width_cents == pytest.approx(width_cents, rel=0.015)


def test_a_tone_is_periodic_and_noise_is_not(tracks: ModuleType, rng: np.random.Generator) -> None:
    assert tracks.periodicity(stiff_tone(110.0, 1e-5, 4.0)[:5760]) > 0.95
    assert tracks.periodicity(rng.standard_normal(5760)) < 0.15


def test_a_folded_tone_is_told_from_overtones(measure: ModuleType) -> None:
    time_s = np.arange(RATE_HZ) / RATE_HZ
    clean = np.sin(2 * np.pi * 3000 * time_s) + 0.3 * np.sin(2 * np.pi * 9000 * time_s)
    assert measure.folded_db(clean, 3000) < -100
    assert measure.folded_db(clean + 0.01 * np.sin(2 * np.pi * 4321 * time_s), 3000) == pytest.approx(
        -40, abs=0.1
    )
