from fractions import Fraction

import numpy as np
import pytest

from fretwright.base.units import midi_to_hz
from fretwright.fretboard.neck import Neck
from fretwright.score.note import Attack
from fretwright.score.timeline import timeline
from fretwright.score.values import EIGHTH, HALF, QUARTER, SIXTEENTH, WHOLE
from fretwright.sound.instrument import Voice
from fretwright.sound.loudness import integrated_lufs, true_peak_dbtp
from fretwright.sound.render import (
    LEAD_S,
    Sound,
    SoundOptions,
    click_sound,
    click_track,
    render,
    sound_strings,
)
from fretwright.sound.voices import ACOUSTIC_STEEL, CLEAN_ELECTRIC, OVERDRIVEN_ELECTRIC, VOICES
from unit.sound.listening import (
    RATE_HZ,
    Item,
    above,
    level_db,
    mono,
    partial_level_db,
    score_of,
    sounding_hz,
    stretch,
    undriven,
)

PLUCK, HAMMER, PULL, SLIDE = Attack.PLUCK, Attack.HAMMER_ON, Attack.PULL_OFF, Attack.SLIDE

voices = pytest.mark.parametrize("voice", VOICES.values(), ids=lambda voice: voice.name)


def one_note(voice: Voice, string: int, fret: int, bpm: float = 60.0) -> Sound:
    return render(score_of([(string, fret, HALF, PLUCK), HALF], bpm), voice=voice)


@voices
@pytest.mark.parametrize("string", range(1, 7))
@pytest.mark.parametrize("fret", [0, 7, 22])
def test_every_string_sounds_in_tune(voice: Voice, string: int, fret: int) -> None:
    """ISO 16 and equal temperament; all places are in the evaluation."""
    wanted = midi_to_hz(Neck().tuning.open_pitch(string).midi + fret)
    signal = mono(one_note(undriven(voice), string, fret).samples)
    heard = sounding_hz(stretch(signal, LEAD_S + 0.1, LEAD_S + 1.1), wanted)
    assert abs(1200 * np.log2(heard / wanted)) < 1.0


@voices
def test_low_strings_and_low_frets_ring_longer(voice: Voice) -> None:
    def fall_db(string: int, fret: int) -> float:
        hz = midi_to_hz(Neck().tuning.open_pitch(string).midi + fret)
        signal = mono(one_note(undriven(voice), string, fret).samples)
        early, late = (stretch(signal, LEAD_S + at, LEAD_S + at + 0.4) for at in (0.1, 1.4))
        return partial_level_db(early, hz) - partial_level_db(late, hz)

    falls = [fall_db(6, 0), fall_db(3, 0), fall_db(1, 0), fall_db(1, 12)]
    assert falls == sorted(falls)


@voices
@pytest.mark.parametrize(("first", "second", "slur"), [(5, 7, HAMMER), (7, 5, PULL)])
def test_a_slur_has_the_pitch_but_not_the_pluck(voice: Voice, first: int, second: int, slur: Attack) -> None:
    def edge_db(attack: Attack) -> float:
        sound = render(
            score_of([(3, first, QUARTER, PLUCK), (3, second, QUARTER, attack), HALF]), voice=voice
        )
        at = sound.time_map[1].onset_s
        signal = mono(sound.samples)
        wanted = midi_to_hz(55 + second)
        heard = sounding_hz(stretch(signal, at + 0.1, at + 0.9), wanted)
        assert abs(1200 * np.log2(heard / wanted)) < 2.0
        bright = above(signal, 1500.0)
        return level_db(stretch(bright, at, at + 0.03)) - level_db(stretch(bright, LEAD_S, LEAD_S + 0.03))

    assert edge_db(PLUCK) > -3.0
    # An overdriven stage evens out levels, those of attacks too.
    assert edge_db(slur) < (-5.0 if voice is OVERDRIVEN_ELECTRIC else -8.0)


def test_a_slide_passes_every_fret_on_its_way() -> None:
    sound = render(score_of([(3, 5, HALF, PLUCK), (3, 9, HALF, SLIDE)], 60))
    signal, arrival = mono(sound.samples), sound.time_map[1].onset_s
    spacing = 1700 / RATE_HZ
    for passed in (1, 2, 3):
        wanted = midi_to_hz(60 + passed)
        middle = arrival - (3 - passed) * spacing
        window = stretch(signal, middle - 0.75 * spacing, middle)
        others = [midi_to_hz(60 + fret) for fret in range(5) if abs(fret - passed) > 1]
        here = partial_level_db(window, wanted)
        assert here > max(partial_level_db(window, hz) for hz in others)
    heard = sounding_hz(stretch(signal, arrival + 0.1, arrival + 1.1), midi_to_hz(64))
    assert abs(1200 * np.log2(heard / midi_to_hz(64))) < 2.0


@voices
def test_a_string_cuts_its_own_note_but_not_that_of_others(voice: Voice) -> None:
    def left_db(second_string: int) -> float:
        """Level of the first note while the second sounds, against before."""
        items: list[Item] = [(4, 2, QUARTER, PLUCK), (second_string, 9, QUARTER, PLUCK), HALF]
        sound = render(score_of(items, 60), voice=voice)
        signal, at = mono(sound.samples), sound.time_map[1].onset_s
        hz = midi_to_hz(52)
        before = partial_level_db(stretch(signal, at - 0.3, at - 0.05), hz)
        return partial_level_db(stretch(signal, at + 0.08, at + 0.33), hz) - before

    assert left_db(4) < -30.0


@voices
def test_rests_are_silent(voice: Voice) -> None:
    items: list[Item] = [(6, 0, QUARTER, PLUCK), QUARTER, (1, 12, QUARTER, PLUCK), QUARTER]
    sound = render(score_of(items, 60), voice=voice)
    signal = np.abs(sound.samples).max(axis=1).astype(np.float64)
    floor = 10 ** (-60 / 20)
    for note in sound.time_map:
        end = note.onset_s + note.duration_s
        assert stretch(signal, end + 0.2, end + 0.9).max() < floor
    assert stretch(signal, 0.0, LEAD_S - 0.001).max() < 1e-6


@voices
def test_loudness_and_peak_are_on_target(voice: Voice) -> None:
    items: list[Item] = [(6 - i // 2, 5 + 2 * (i % 2), EIGHTH, PLUCK) for i in range(8)]
    for options in (SoundOptions(), SoundOptions(count_in=True, click=True)):
        samples = render(score_of(items, 90), voice=voice, options=options).samples.astype(np.float64)
        assert integrated_lufs(samples) == pytest.approx(-16.0, abs=0.1)
        assert true_peak_dbtp(samples) <= -1.0


def test_the_same_score_gives_the_same_bytes() -> None:
    items: list[Item] = [
        (3, 5, QUARTER, PLUCK),
        (3, 7, QUARTER, HAMMER),
        (3, 5, QUARTER, PULL),
        (2, 5, QUARTER, PLUCK),
    ]
    first, second = (render(score_of(items, 72)).samples.tobytes() for _ in range(2))
    assert first == second


@voices
@pytest.mark.parametrize("bpm", [47.0, 97.3, 160.0])
def test_the_time_map_is_where_notes_are_heard(voice: Voice, bpm: float) -> None:
    """The onset of a note after silence is where it passes -26 dB of its attack's peak."""
    items: list[Item] = [(4, 3, EIGHTH, PLUCK), EIGHTH, QUARTER, (2, 5, EIGHTH, PLUCK), EIGHTH, QUARTER]
    sound = render(score_of(items, bpm), voice=voice)
    signal = np.abs(mono(sound.samples))
    for note in sound.time_map:
        window = stretch(signal, note.onset_s - 0.01, note.onset_s + 0.05)
        heard = np.argmax(window > window.max() * 10 ** (-26 / 20)) / RATE_HZ - 0.01
        assert abs(heard) < 0.001
        assert note.onset_s * RATE_HZ == pytest.approx(round(note.onset_s * RATE_HZ), abs=1e-6)


@pytest.mark.parametrize("attack", [HAMMER, PULL])
def test_a_slur_starts_on_its_own_sample(attack: Attack) -> None:
    """Up to its onset the sound is that of the note held on; from there it is another."""
    second = 7 if attack is HAMMER else 3
    slurred = score_of([(4, 5, QUARTER, PLUCK), (4, second, QUARTER, attack), HALF], 73.0)
    held = score_of([(4, 5, HALF, PLUCK), HALF], 73.0)
    raw = [
        sound_strings(score.neck, timeline(score), 2400, 80_000, ACOUSTIC_STEEL) for score in (slurred, held)
    ]
    apart = np.abs(raw[0] - raw[1]).max(axis=1)
    first = int(np.argmax(apart > 1e-4 * np.abs(raw[1]).max()))
    onset = 2400 + round(timeline(slurred).notes[1].onset_s * RATE_HZ)
    assert onset <= first <= onset + 8


@voices
@pytest.mark.parametrize(
    ("first", "second", "slur"), [(5, 8, HAMMER), (8, 5, PULL), (3, 8, SLIDE), (5, 5, PLUCK), (2, 9, PLUCK)]
)
def test_no_click_where_notes_join(voice: Voice, first: int, second: int, slur: Attack) -> None:
    """A click is a jump: its second difference would stand above that of a pluck's own attack."""
    for string in (1, 3, 6):
        items: list[Item] = [(string, first, QUARTER, PLUCK), (string, second, QUARTER, slur), HALF]
        sound = render(score_of(items, 100), voice=voice)
        bend = np.abs(np.diff(mono(sound.samples), 2))
        pluck = stretch(bend, LEAD_S, LEAD_S + 0.02).max()
        at = sound.time_map[1].onset_s
        assert stretch(bend, at - 0.15, at - 0.001).max() < 0.7 * pluck
        assert stretch(bend, at, at + 0.03).max() < 1.5 * pluck
        assert stretch(bend, at + 0.35, at + 1.0).max() < 0.7 * pluck


def test_repeats_are_sounded_and_counted() -> None:
    from dataclasses import replace

    score = score_of([(3, 5, WHOLE, PLUCK)], 120)
    twice = replace(score, bars=(replace(score.bars[0], closes_repeat=2),))
    first, second = render(twice).time_map
    assert (first.note_id, first.pass_index, second.pass_index) == (second.note_id, 0, 1)
    assert second.onset_s - first.onset_s == pytest.approx(2.0)


def test_count_in_moves_the_music_and_clicks_on_the_beats() -> None:
    score = score_of([(3, 5, WHOLE, PLUCK)], 120)
    sound = render(score, options=SoundOptions(count_in=True))
    assert sound.music_starts_s == pytest.approx(LEAD_S + 2.0)
    assert sound.music_ends_s == pytest.approx(LEAD_S + 4.0)
    assert sound.time_map[0].onset_s == sound.music_starts_s
    signal = np.abs(mono(sound.samples))
    for beat in range(4):
        at = LEAD_S + beat * 0.5
        assert stretch(signal, at, at + 0.01).max() > 0.05
        assert stretch(signal, at + 0.1, at + 0.49).max() < 1e-6


def test_count_in_before_a_pickup_counts_on_to_it() -> None:
    items: list[Item] = [(3, 5, QUARTER, PLUCK), (3, 7, WHOLE, PLUCK)]
    sound = render(score_of(items, 60, pickup=Fraction(1, 4)), options=SoundOptions(count_in=True))
    # Four beats, then one, two, three; the pickup is the fourth.
    assert sound.music_starts_s == pytest.approx(LEAD_S + 7.0)


def test_click_track_shares_the_clock_of_the_music() -> None:
    score = score_of([(3, 5, QUARTER, PLUCK)] * 4, 90)
    clicks, music = click_track(score), render(score, options=SoundOptions(count_in=True))
    assert clicks.samples.shape == music.samples.shape
    assert clicks.music_starts_s == music.music_starts_s
    loud = np.abs(mono(clicks.samples))
    for note in music.time_map:
        assert loud[round(note.onset_s * RATE_HZ) :][:480].max() > 0.1


def test_single_clicks_differ_by_accent() -> None:
    plain, accent = click_sound(accented=False), click_sound(accented=True)
    assert np.abs(accent.samples).max() > np.abs(plain.samples).max() > 0.1
    assert plain.samples.dtype == np.float32
    assert plain.samples.shape[1] == 2
    assert plain.samples[-1] == pytest.approx(0.0, abs=1e-4)


@voices
def test_fast_trills_and_long_lines_stay_bounded(voice: Voice) -> None:
    """Eighty slurs in a row at a fast tempo neither die out nor build up."""
    slurs = [(3, 7 - 2 * (i % 2), SIXTEENTH, (HAMMER, PULL)[i % 2]) for i in range(79)]
    items: list[Item] = [(3, 5, SIXTEENTH, PLUCK), *slurs]
    sound = render(score_of(items, 120), voice=voice)
    signal = mono(sound.samples)
    assert np.isfinite(signal).all()
    early, late = (level_db(stretch(signal, LEAD_S + at, LEAD_S + at + 1.0)) for at in (1.0, 8.0))
    assert abs(early - late) < 6.0


def test_voices_sound_unlike_each_other() -> None:
    score = score_of([(3, 5, WHOLE, PLUCK)])
    steel, electric = (render(score, voice=voice).samples for voice in (ACOUSTIC_STEEL, CLEAN_ELECTRIC))
    assert not np.allclose(steel, electric, atol=0.01)
