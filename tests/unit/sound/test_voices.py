import numpy as np
import pytest

from fretwright.base.errors import UsageError
from fretwright.score.instruments import Instrument
from fretwright.sound.click import click
from fretwright.sound.colour import response, soft_limit
from fretwright.sound.excitation import noise, pulse
from fretwright.sound.strings import partial_hz
from fretwright.sound.voices import ACOUSTIC_STEEL, BASS, NYLON, VOICES, by_name

RATE_HZ = 48_000


def test_voices_are_found_by_name() -> None:
    assert by_name("Acoustic  Steel") is ACOUSTIC_STEEL
    with pytest.raises(UsageError, match="clean electric"):
        by_name("kazoo")


def test_every_instrument_that_can_be_written_has_a_voice() -> None:
    assert list(VOICES) == list(Instrument)
    assert all(by_name(instrument.value).name is instrument for instrument in Instrument)


def test_a_bass_is_as_stiff_as_one_was_measured() -> None:
    """Kemp (2020): a bass string stopped at fret 12 has its tenth partial about 100 cents sharp."""
    wire = BASS.wire_for(28)
    stopped = wire.inharmonicity(41.203, 0.864, 0.432)
    assert 1200 * np.log2(partial_hz(82.407, stopped, 10) / 824.07) == pytest.approx(100, abs=10)


def test_nylon_strings_pull_less_than_steel_ones() -> None:
    """Makers' tables give 55 to 85 N a string for a set of normal tension (from memory)."""
    for midi, hz in ((40, 82.407), (45, 110.0), (50, 146.832), (55, 195.998), (59, 246.942), (64, 329.628)):
        tension = NYLON.wire_for(midi).tension_n(hz, 0.65)
        assert 55 < tension < 85
        assert tension < ACOUSTIC_STEEL.wire_for(midi).tension_n(hz, 0.65)


def test_every_tuning_finds_a_string_of_sensible_tension() -> None:
    """From a bass's low B to a twelve-fret capo's high A: 40 to 350 N (from memory)."""
    lengths_m = {23: 0.864, 28: 0.864, 33: 0.864}
    for voice in VOICES.values():
        for midi in (23, 28, 33, 35, 38, 40, 42, 45, 47, 50, 52, 55, 57, 59, 62, 64, 67, 69):
            hz = 440 * 2 ** ((midi - 69) / 12)
            tension = voice.wire_for(midi).tension_n(hz, lengths_m.get(midi, 0.648))
            assert 35 < tension < 350, (voice.name, midi)


def test_decay_falls_along_the_neck_and_across_it() -> None:
    for voice in VOICES.values():
        low, high, up = voice.decay.at(0, 0), voice.decay.at(1, 0), voice.decay.at(0, 12)
        assert low.t60_s >= high.t60_s
        assert low.t60_s > up.t60_s
        assert low.bright_t60_s < low.t60_s


def test_a_body_answers_at_once_and_falls_silent() -> None:
    assert ACOUSTIC_STEEL.colour is not None
    shape = ACOUSTIC_STEEL.colour.shape  # type: ignore[attr-defined]
    for side in (0, 1):
        impulse = response(shape, side)
        assert np.argmax(np.abs(impulse)) < 0.001 * RATE_HZ
        assert np.abs(impulse[-100:]).max() < 1e-3 * np.abs(impulse).max()


def test_the_bent_stage_keeps_time_and_makes_no_alias() -> None:
    """A 6.4 kHz tone's fifth harmonic lies at 32 kHz; bent without care it would come back at 16 kHz."""
    time_s = np.arange(RATE_HZ) / RATE_HZ
    out = soft_limit(0.8 * np.sin(2 * np.pi * 6400 * time_s), 1.0)
    spectrum = 20 * np.log10(np.abs(np.fft.rfft(out * np.hanning(RATE_HZ))) + 1e-9)
    assert spectrum[6400] - spectrum[15_900:16_100].max() > 90
    step = soft_limit(np.r_[np.zeros(100), 0.1 * np.hanning(200), np.zeros(100)], 0.01)
    assert np.argmax(step) in {199, 200}


def test_a_soft_signal_passes_the_bent_stage_unchanged() -> None:
    time_s = np.arange(4800) / RATE_HZ
    soft = 0.01 * np.sin(2 * np.pi * 1000 * time_s)
    np.testing.assert_allclose(soft_limit(soft, 0.5)[100:-100], soft[100:-100], atol=1e-6)


def test_noise_is_fixed_white_and_even() -> None:
    values = noise()
    assert values[:2] == pytest.approx(noise()[:2])
    assert abs(values.mean()) < 0.01
    assert values.std() == pytest.approx(1 / np.sqrt(3), rel=0.02)
    assert abs(np.corrcoef(values[1:], values[:-1])[0, 1]) < 0.02


def test_a_pulse_has_unit_area() -> None:
    assert pulse(0.3).sum() == pytest.approx(1.0)
    assert len(pulse(1.6)) > len(pulse(0.3))


def test_clicks_peak_at_one_within_two_milliseconds() -> None:
    for accented in (False, True):
        values = np.abs(click(accented=accented))
        assert values.max() == pytest.approx(1.0)
        assert np.argmax(values) < 0.002 * RATE_HZ
