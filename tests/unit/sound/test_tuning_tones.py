"""Tones to tune by are in tune, and pairs of them beat as they should."""

import numpy as np
import pytest

from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import Tuning
from fretwright.fretboard.tuning_steps import Compared, TuningStep, steps_by_frets, steps_by_harmonics
from fretwright.sound.arrays import Samples
from fretwright.sound.render import Sound
from fretwright.sound.tuning_tones import detuned, one_after_another, open_string_tone, two_strings

NECK = Neck()


def peak_hz(samples: Samples, rate_hz: int, near_hz: float) -> float:
    """The strongest frequency within three per cent of one, to a hundredth of a cent."""
    mono = samples[:, 0].astype(float)[rate_hz // 2 : rate_hz // 2 + 4 * rate_hz]
    size = 1 << 20
    spectrum = np.abs(np.fft.rfft(mono * np.hanning(len(mono)), size))
    frequencies = np.fft.rfftfreq(size, 1 / rate_hz)
    inside = (frequencies > near_hz * 0.97) & (frequencies < near_hz * 1.03)
    top = int(np.argmax(np.where(inside, spectrum, 0)))
    left, middle, right = np.log(spectrum[top - 1 : top + 2])
    return float((top + (left - right) / (2 * (left - 2 * middle + right))) * rate_hz / size)


def cents(heard_hz: float, meant_hz: float) -> float:
    return float(1200 * np.log2(heard_hz / meant_hz))


def beats_per_s(sound: Sound, near_hz: float) -> float:
    """How often a second the loudness near a frequency swells, from the spectrum of its envelope."""
    rate = sound.rate_hz
    mono = sound.samples[:, 0].astype(float)[rate // 4 : rate // 4 + 5 * rate]
    spectrum = np.fft.fft(mono)
    frequencies = np.fft.fftfreq(len(mono), 1 / rate)
    spectrum[(frequencies < near_hz - 6) | (frequencies > near_hz + 6)] = 0
    level = np.log(np.abs(np.fft.ifft(spectrum)) + 1e-9)[rate // 2 : -rate // 2]
    time = np.arange(len(level))
    level -= np.polyval(np.polyfit(time, level, 2), time)
    size = 1 << 20
    envelope = np.abs(np.fft.rfft(level * np.hanning(len(level)), size))
    envelope[: int(0.2 * size / rate)] = 0
    return float(np.argmax(envelope) * rate / size)


@pytest.mark.parametrize("string", [6, 5, 1])
def test_an_open_string_is_in_tune(string: int) -> None:
    """ISO 16: A4 = 440 Hz, in equal temperament; musicians notice 2 to 3 cents (from memory)."""
    meant = NECK.tuning.open_pitch(string).frequency_hz()
    tone = open_string_tone(NECK, string)
    assert abs(cents(peak_hz(tone.samples, tone.rate_hz, meant), meant)) < 0.5
    assert tone.duration_s > 6


def test_another_tuning_sounds_lower() -> None:
    neck = Neck(Tuning.parse("DADGAD"))
    tone = open_string_tone(neck, 6)
    meant = neck.tuning.open_pitch(6).frequency_hz()
    assert abs(cents(peak_hz(tone.samples, tone.rate_hz, meant), meant)) < 0.5


@pytest.mark.parametrize("off", [-12.0, 1.955, 50.0])
def test_detuning_moves_a_tone_by_so_many_cents(off: float) -> None:
    tone = open_string_tone(NECK, 5)
    before = peak_hz(tone.samples, tone.rate_hz, 110)
    after = peak_hz(detuned(tone.samples, tone.rate_hz, off), tone.rate_hz, 110 * 2 ** (off / 1200))
    assert cents(after, before) == pytest.approx(off, abs=0.05)


def first(steps: tuple[TuningStep, ...]) -> tuple[Compared, Compared]:
    return steps[0].reference, steps[0].own


def test_harmonics_beat_as_the_facts_say() -> None:
    """330.000 against 329.628 Hz, the usual pair of harmonics: 0.372 beats a second, computed."""
    reference, own = first(steps_by_harmonics(NECK.tuning))
    assert beats_per_s(two_strings(NECK, reference, own), 330) == pytest.approx(0.372, abs=0.06)


def test_a_string_out_of_tune_beats_faster() -> None:
    """Twelve cents below 110 Hz are 0.76 Hz: computed."""
    reference, own = first(steps_by_frets(NECK.tuning))
    assert beats_per_s(two_strings(NECK, reference, own, -12.0), 110) == pytest.approx(0.76, abs=0.08)


def test_tones_in_a_row() -> None:
    tones = [open_string_tone(NECK, string) for string in (6, 5)]
    row = one_after_another(tones)
    assert row.duration_s == pytest.approx(sum(tone.duration_s for tone in tones) + 0.6, abs=0.01)
    assert Compared(Place(6, 0), 1, 82.4).is_harmonic is False
