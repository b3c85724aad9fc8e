"""The band as sound: measured, not listened to."""

from dataclasses import replace
from fractions import Fraction

import librosa
import numpy as np
import pytest

from charts import TWELVE_BARS, chart
from fretwright.base.errors import UsageError
from fretwright.base.units import SAMPLE_RATE_HZ, midi_to_hz
from fretwright.score.score import Score
from fretwright.sound.arrays import Floats, Samples
from fretwright.sound.band.bass_guitar import bass_sound
from fretwright.sound.band.bass_line import BassNote
from fretwright.sound.band.drum_kit import stroke_on
from fretwright.sound.band.feels import FEELS, Feel, Piece
from fretwright.sound.band.render import BandOptions, BandSound, Player, render_band
from fretwright.sound.band.tine_piano import piano_note
from fretwright.sound.loudness import Audio, integrated_lufs, true_peak_dbtp
from fretwright.sound.voices import BASS
from fretwright.theory.key import Key

_BARE = BandOptions(count_in=False, ending=False)


def _blues() -> Score:
    return chart(TWELVE_BARS[:4], bpm=120, key=Key(3))


def _share(sound: Floats, low_hz: float, high_hz: float) -> float:
    power = np.abs(np.fft.rfft(sound)) ** 2
    hz = np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE_HZ)
    return float(power[(hz >= low_hz) & (hz < high_hz)].sum() / power.sum())


def _mono(samples: Samples) -> Floats:
    return np.asarray(samples.mean(axis=1), dtype=np.float64)


def test_pieces_of_the_kit_lie_where_they_should() -> None:
    """Common practice, no source."""
    assert _share(stroke_on(Piece.KICK), 20, 200) > 0.9
    assert _share(stroke_on(Piece.CLOSED_HAT), 2000, 16_000) > 0.9
    assert _share(stroke_on(Piece.SNARE), 120, 400) > 0.2
    assert _share(stroke_on(Piece.SNARE), 1200, 12_000) > 0.2
    for piece in Piece:
        assert 0.2 <= np.abs(stroke_on(piece)).max() <= 1.0
        assert abs(stroke_on(piece)[-1]) < 1e-6


@pytest.mark.parametrize("midi", [28, 33, 40, 47])
def test_the_bass_is_in_tune(midi: int) -> None:
    """Pitch by librosa's pYIN on a grid of five cents; it reads a stiff string some cents sharp."""
    sound = _mono(bass_sound((BassNote(0.0, 1.2, midi, 0.8),), 0, int(1.5 * SAMPLE_RATE_HZ), BASS))
    hz, voiced, _ = librosa.pyin(
        sound[4800:48_000], fmin=30, fmax=200, sr=SAMPLE_RATE_HZ, frame_length=8192, resolution=0.05
    )
    assert 1200 * abs(np.log2(np.median(hz[voiced]) / midi_to_hz(midi))) < 12


def test_the_piano_is_in_tune_and_lets_go() -> None:
    sound = piano_note(60, 0.8, 0.8)
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), 1 << 19))
    peak_hz = np.argmax(spectrum) * SAMPLE_RATE_HZ / (1 << 19)
    assert peak_hz == pytest.approx(midi_to_hz(60), rel=6e-4)
    assert abs(sound[-1]) < 1e-4
    soft = piano_note(60, 0.8, 0.3)
    assert _share(soft, 400, 8000) < 0.7 * _share(sound, 400, 8000)


@pytest.mark.parametrize("feel", FEELS.values(), ids=FEELS)
def test_mix_and_stems(feel: Feel) -> None:
    band = render_band(_blues(), feel, 1)
    stems = sum(
        (stem.samples.astype(np.float64) for stem in band.stems.values()), np.zeros(band.mix.samples.shape)
    )
    assert np.abs(stems - band.mix.samples).max() < 1e-5
    assert integrated_lufs(band.mix.samples) == pytest.approx(-16.0, abs=0.3)
    assert true_peak_dbtp(band.mix.samples) <= -1.0
    levels = {player: integrated_lufs(stem.samples) for player, stem in band.stems.items()}
    assert max(levels.values()) - min(levels.values()) < 6
    for stem in band.stems.values():
        assert stem.samples.shape == band.mix.samples.shape
        assert (stem.music_starts_s, stem.music_ends_s) == (band.mix.music_starts_s, band.mix.music_ends_s)


def test_the_same_seed_gives_the_same_bytes_and_another_does_not() -> None:
    def rendered(seed: int) -> bytes:
        return render_band(_blues(), FEELS["shuffle"], seed, options=_BARE).mix.samples.tobytes()

    assert rendered(1) == rendered(1)
    assert rendered(1) != rendered(2)


def test_the_tempo_is_the_one_that_was_asked_for() -> None:
    """Tempo by librosa's beat tracker, on the whole mix."""
    for bpm in (84, 120):
        band = render_band(chart(TWELVE_BARS, bpm=bpm), FEELS["straight"], 2, options=_BARE)
        found, _ = librosa.beat.beat_track(y=_mono(band.mix.samples), sr=SAMPLE_RATE_HZ, start_bpm=100)
        ratio = float(np.atleast_1d(found)[0]) / bpm
        assert min(abs(ratio / octave - 1) for octave in (0.5, 1, 2)) < 0.03


def test_count_in_form_and_ending_follow_each_other() -> None:
    with_all = render_band(_blues(), FEELS["straight"], 1, bpm=120)
    assert with_all.mix.music_starts_s == pytest.approx(2.05)
    assert with_all.mix.music_ends_s == pytest.approx(2.05 + 8.0)
    last = _mono(with_all.mix.samples)[int(10.1 * SAMPLE_RATE_HZ) :]
    level = [np.sqrt(np.mean(last[at : at + 4800] ** 2)) for at in (0, len(last) - 4800)]
    assert level[1] < 0.02 * level[0]
    counted = _mono(with_all.stems[Player.DRUMS].samples)[: int(2.04 * SAMPLE_RATE_HZ)]
    onsets = librosa.onset.onset_detect(y=counted, sr=SAMPLE_RATE_HZ, units="time", backtrack=False)
    assert len(onsets) == 4
    assert np.allclose(np.diff(onsets), 0.5, atol=0.03)
    assert np.abs(_mono(with_all.stems[Player.BASS].samples)[: int(2.0 * SAMPLE_RATE_HZ)]).max() < 1e-6


def test_choruses_make_it_longer_and_vary() -> None:
    once = render_band(_blues(), FEELS["funk"], 1, options=_BARE)
    thrice = render_band(_blues(), FEELS["funk"], 1, options=BandOptions(3, count_in=False, ending=False))
    form_s = once.mix.music_ends_s - once.mix.music_starts_s
    assert thrice.mix.music_ends_s - thrice.mix.music_starts_s == pytest.approx(3 * form_s)
    with pytest.raises(UsageError, match="choruses"):
        render_band(_blues(), FEELS["funk"], 1, options=BandOptions(0))


@pytest.mark.parametrize("name", ["shuffle", "ballad"])
def test_a_loop_has_no_seam(name: str) -> None:
    """At the joint the loop goes on as the whole performance does: what rings over the end is there."""
    score, feel = _blues(), FEELS[name]
    loop = render_band(score, feel, 4, options=BandOptions(loop=True))
    whole = render_band(score, feel, 4, options=_BARE)
    form = round((whole.mix.music_ends_s - whole.mix.music_starts_s) * SAMPLE_RATE_HZ)
    assert len(loop.mix.samples) == form
    for player in (Player.CHORDS, Player.DRUMS):
        looped, straight = loop.stems[player].samples, whole.stems[player].samples
        first = round(whole.mix.music_starts_s * SAMPLE_RATE_HZ)
        # One gain for the loop and one for the whole: both are found from the middle of the form.
        gain = _fit(looped[form // 2 : form // 2 + 9600], straight[first + form // 2 :][:9600])
        window = 4800
        rings_on = straight[first + form :][:window]
        starts = straight[first:][:window]
        assert _likeness(looped[:window], gain * (rings_on + starts)) > 0.995
        across = np.concatenate([looped[-window:], looped[:window]])
        expected = gain * np.concatenate([straight[first + form - window :][:window], rings_on + starts])
        assert _likeness(across, expected) > 0.995


def _fit(wanted: Samples, given: Samples) -> float:
    return float((wanted * given).sum() / (given * given).sum())


def _likeness(left: Audio, right: Audio) -> float:
    return float(np.corrcoef(left.ravel(), right.ravel())[0, 1])


def test_a_pickup_is_counted_in_and_played() -> None:
    band = _with_pickup()
    assert band.mix.music_starts_s == pytest.approx(0.05 + 7 * 0.5)


def _with_pickup() -> BandSound:
    score = _blues()
    bars = tuple(
        replace(bar, number=index, start=bar.start if not index else bar.start - Fraction(3, 4))
        for index, bar in enumerate(score.bars)
    )
    bars = (replace(bars[0], length=Fraction(1, 4)), *bars[1:])
    labels = tuple(
        replace(label, at=label.at if not label.at else label.at - Fraction(3, 4)) for label in score.labels
    )
    return render_band(replace(score, bars=bars, labels=labels, rests=()), FEELS["straight"], 1, bpm=120)
