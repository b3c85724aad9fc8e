"""Techniques, heard: tight bars on a few places; every voice and string is in the evaluation.

A moving pitch is measured as the instantaneous frequency of the analytic signal (Boashash 1992, Proc. IEEE
80(4), 520-538) that scipy makes, on the first partial alone.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.signal import hilbert

from fretwright.base.units import midi_to_hz
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.ornaments import GRACE_S, RAKE_STEP_S
from fretwright.score.score import Score
from fretwright.score.techniques import (
    PLAIN,
    Grace,
    Harmonic,
    HarmonicKind,
    Roll,
    SlideEnd,
    Stroke,
    Techniques,
    Trill,
    Vibrato,
    bend_and_release,
)
from fretwright.score.tempo import TempoMap
from fretwright.score.timeline import timeline
from fretwright.score.values import EIGHTH, HALF, QUARTER, WHOLE, Value
from fretwright.sound.instrument import Voice
from fretwright.sound.lengths import PALM_T60
from fretwright.sound.loudness import true_peak_dbtp
from fretwright.sound.render import LEAD_S, SoundOptions, render, sound_strings
from fretwright.sound.voices import ACOUSTIC_STEEL, CLEAN_ELECTRIC, NYLON, VOICES
from fretwright.theory.key import Key
from strategies import technique_scores
from unit.sound.listening import RATE_HZ, above, level_db, mono, partial_level_db, sounding_hz, stretch

NECK = Neck()
PLUCK, HAMMER = Attack.PLUCK, Attack.HAMMER_ON

Mono = NDArray[np.float64]
Item = tuple[Value, Sequence[tuple[int, int, Techniques]]]
"""What starts together: string, fret and what is asked; nothing is a rest."""


def score_of(*items: Item, stroke: Stroke | None = None, attack: Attack = PLUCK, bpm: float = 60) -> Score:
    events = [
        Event(
            value,
            tuple(
                Head(place, NECK.pitch_at(place), attack, stroke=stroke, techniques=techniques)
                for place, techniques in ((Place(string, fret), asked) for string, fret, asked in notes)
            ),
        )
        for value, notes in items
    ]
    return assemble(Heading("x", "X", NECK, Key(0), TempoMap.constant(bpm)), into_bars(events))


def one(asked: Techniques, string: int = 3, fret: int = 7, voice: Voice = ACOUSTIC_STEEL) -> Mono:
    """Four seconds of one note from its onset on."""
    sound = render(score_of((WHOLE, [(string, fret, asked)])), voice=voice)
    return mono(sound.samples)[round(sound.time_map[0].onset_s * RATE_HZ) :]


def track_cents(signal: Mono, hz: float) -> Mono:
    """Pitch of the first partial every 5 ms, in cents above ``hz``; value i is that at i * 5 ms.

    All but that partial is taken away before, since the higher ones of a stiff string lie sharp; the
    frequency is smoothed over 20 ms.
    """
    first = above(signal, 0.6 * hz) - above(signal, 1.6 * hz)
    turning_hz = np.gradient(np.unwrap(np.angle(hilbert(first)))) * RATE_HZ / (2 * np.pi)
    window = np.hanning(961)
    smooth_hz = np.convolve(turning_hz, window / window.sum(), mode="same")[::240]
    return np.asarray(1200 * np.log2(np.maximum(smooth_hz, 1.0) / hz))


@pytest.mark.parametrize("voice", [ACOUSTIC_STEEL, NYLON], ids=lambda voice: voice.name)
def test_a_bend_follows_its_curve(voice: Voice) -> None:
    cents = track_cents(one(Techniques(bend=bend_and_release(Fraction(2))), voice=voice), midi_to_hz(62))
    times_s = np.arange(len(cents)) * 0.005
    written = np.interp(times_s, [0, 1, 2, 3], [0, 200, 200, 0])
    inside = (times_s > 0.2) & (times_s < 3.2)
    assert np.abs(cents - written)[inside].max() < 3.0


def test_a_bend_lets_the_next_note_start_where_it_left() -> None:
    """A slur after a bend starts from the bent pitch and arrives on its own."""
    bent = Techniques(bend=bend_and_release(Fraction(1)))
    score = score_of((HALF, [(3, 7, bent)]), (HALF, [(3, 9, PLAIN)]))
    signal = mono(render(score).samples)
    heard = sounding_hz(stretch(signal, LEAD_S + 2.1, LEAD_S + 3.1), midi_to_hz(64))
    assert abs(1200 * np.log2(heard / midi_to_hz(64))) < 1.0


@pytest.mark.parametrize("vibrato", [Vibrato(5.5, 40.0), Vibrato(5.0, 100.0)], ids=["usual", "wide"])
def test_a_vibrato_has_its_rate_and_width(vibrato: Vibrato) -> None:
    cents = track_cents(one(Techniques(vibrato=vibrato)), midi_to_hz(62))[80:560]
    turn = 2 * np.pi * vibrato.rate_hz * np.arange(len(cents)) * 0.005
    basis = np.stack([np.sin(turn), np.cos(turn), np.ones_like(turn)], axis=1)
    sine, cosine, middle = np.linalg.lstsq(basis, cents, rcond=None)[0]
    assert 2 * np.hypot(sine, cosine) == pytest.approx(vibrato.width_cents, rel=0.05)
    assert abs(middle) < 2.0
    spectrum = np.abs(np.fft.rfft((cents - middle) * np.hanning(len(cents)), 1 << 16))
    rates_hz = np.fft.rfftfreq(1 << 16, 0.005)
    assert rates_hz[np.argmax(spectrum)] == pytest.approx(vibrato.rate_hz, rel=0.05)


@pytest.mark.parametrize(
    ("kind", "stopped", "touched", "multiple"),
    [
        (HarmonicKind.NATURAL, 0, 12, 2),
        (HarmonicKind.NATURAL, 0, 7, 3),
        (HarmonicKind.NATURAL, 0, 5, 4),
        (HarmonicKind.ARTIFICIAL, 3, 15, 2),
        (HarmonicKind.PINCH, 5, 12, 3),
    ],
)
def test_a_harmonic_is_a_multiple_of_the_stopped_pitch(
    kind: HarmonicKind, stopped: int, touched: int, multiple: int
) -> None:
    """The node's fret and its partial: 12 log2(n / (n - 1)), as the physics of a string has it."""
    signal = one(Techniques(harmonic=Harmonic(kind, touched, stopped)), string=5, fret=stopped)
    wanted = multiple * midi_to_hz(45 + stopped)
    second = stretch(signal, 0.05, 1.05)
    assert abs(1200 * np.log2(sounding_hz(second, wanted) / wanted)) < 2.0
    assert partial_level_db(second, wanted) - partial_level_db(second, wanted / multiple) > 40


def test_the_harmonics_of_two_strings_beat_as_in_tuning_by_them() -> None:
    """Touched at 7 the A string is 1.955 cents above the E string touched at 5 (330 against 329.628 Hz)."""
    hz = [
        sounding_hz(stretch(one(Techniques(harmonic=harmonic), string, 0), 0.05, 2.05), 330.0)
        for string, harmonic in (
            (5, Harmonic(HarmonicKind.NATURAL, 7)),
            (6, Harmonic(HarmonicKind.NATURAL, 5)),
        )
    ]
    assert 1200 * np.log2(hz[0] / hz[1]) == pytest.approx(1.955, abs=0.3)


@pytest.mark.parametrize("string", [1, 4, 6])
def test_a_palm_shortens_the_decay_as_written(string: int) -> None:
    score = score_of((WHOLE, [(string, 2, PLAIN)]), (WHOLE, [(string, 2, Techniques(palm_mute=True))]))
    signal = mono(render(score).samples)
    hz = midi_to_hz(NECK.tuning.open_pitch(string).midi + 2)

    def fall_db_per_s(start_s: float, wait_s: float) -> float:
        at = [start_s + LEAD_S + wait_s * step for step in (1, 2)]
        first, second = (partial_level_db(stretch(signal, each, each + 0.08), hz) for each in at)
        return (first - second) / wait_s

    assert fall_db_per_s(0.0, 0.9) / fall_db_per_s(4.0, 0.05) == pytest.approx(PALM_T60, rel=0.2)


def test_a_dead_note_has_no_pitch_and_a_plain_one_has() -> None:
    """Highest autocorrelation from its first zero on, over lags down to 60 Hz."""

    def likeness(techniques: Techniques) -> float:
        piece = one(techniques, voice=CLEAN_ELECTRIC)[: round(0.12 * RATE_HZ)]
        spectrum = np.abs(np.fft.rfft(piece, 1 << 14)) ** 2
        alike = np.fft.irfft(spectrum)[: RATE_HZ // 60] / np.sum(piece**2)
        first = int(np.argmax(alike < 0))
        return float(alike[first:].max())

    assert likeness(Techniques(dead=True)) < 0.4
    assert likeness(PLAIN) > 0.8


def test_accents_stand_out_and_ghosts_step_back() -> None:
    asks = [PLAIN, Techniques(accent=True), PLAIN, Techniques(ghost=True)]
    sound = render(score_of(*((QUARTER, [(3, 5, each)]) for each in asks)))
    signal = mono(sound.samples)
    plain, accent, _, ghost = (level_db(stretch(signal, n.onset_s, n.onset_s + 0.3)) for n in sound.time_map)
    assert accent - plain == pytest.approx(20 * np.log10(1.5), abs=1.5)
    assert ghost - plain == pytest.approx(20 * np.log10(0.35), abs=1.5)


def test_a_swell_has_no_attack_and_leaves_the_next_note_alone() -> None:
    sound = render(score_of((HALF, [(3, 7, Techniques(swell=True))]), (HALF, [(3, 7, PLAIN)])))
    signal = mono(sound.samples)
    start, middle, following = (
        level_db(stretch(signal, LEAD_S + at, LEAD_S + at + 0.02)) for at in (0.0, 0.9, 2.0)
    )
    assert middle - start > 30
    assert following > middle


@pytest.mark.parametrize("end", SlideEnd)
def test_slides_from_and_to_nowhere(end: SlideEnd) -> None:
    cents = track_cents(one(Techniques(slide_in=end, slide_out=end), fret=9), midi_to_hz(64))
    side = -1 if end is SlideEnd.BELOW else 1
    assert side * cents[4] > 150
    assert np.abs(cents[50:560]).max() < 5.0
    assert side * cents[795] > 250


def test_a_shift_slide_is_plucked_where_it_arrives() -> None:
    shift = Techniques(shift_slide=True)
    signal = mono(render(score_of((HALF, [(3, 5, PLAIN)]), (HALF, [(3, 9, shift)]))).samples)
    cents = track_cents(signal[round(LEAD_S * RATE_HZ) :], midi_to_hz(60))
    assert np.abs(cents[20:350]).max() < 5.0
    assert 50 < cents[385] < 395
    assert np.abs(cents[420:700] - 400).max() < 5.0


def test_a_grace_sounds_before_the_beat_and_a_rake_knocks() -> None:
    grace = Techniques(graces=(Grace(Place(2, 3), NECK.pitch_at(Place(2, 3))),))
    silent: Item = (HALF, [])
    score = score_of((HALF, [(2, 5, grace)]), attack=HAMMER)
    sound = render(score)
    assert sound.music_starts_s > LEAD_S
    assert sound.time_map[0].onset_s == sound.music_starts_s
    before = stretch(mono(sound.samples), sound.music_starts_s - GRACE_S + 0.01, sound.music_starts_s)
    assert partial_level_db(before, midi_to_hz(62)) > partial_level_db(before, midi_to_hz(64)) + 6
    raked = render(score_of(silent, (HALF, [(1, 5, Techniques(rake=Stroke.DOWN))])))
    signal, at = np.abs(mono(raked.samples)), raked.time_map[0].onset_s
    assert stretch(signal, at - 3 * RAKE_STEP_S, at).max() > 0.05 * signal.max()
    assert stretch(signal, 0.0, at - 3 * RAKE_STEP_S - 0.002).max() < 1e-6


def test_a_trill_changes_pitch_at_its_own_pace() -> None:
    trill = Trill(9, NECK.pitch_at(Place(3, 9)), EIGHTH)
    cents = track_cents(one(Techniques(trill=trill)), midi_to_hz(62))
    middles = [cents[round((index + 0.6) * 100)] for index in range(8)]
    assert middles == pytest.approx([0, 200] * 4, abs=5.0)


CHORD = ((6, 3), (5, 2), (4, 0), (3, 0), (2, 0), (1, 3))


def starts_of(score: Score) -> dict[int, int]:
    """The sample on which each string starts, held against what the time map tells of it.

    The body is linear: what a chord sounds more than one without a note is that note.
    """
    told = {note.note_id: note.onset_s - LEAD_S for note in render(score).time_map}
    played = timeline(score)
    whole = sound_strings(NECK, played, 0, 20_000, ACOUSTIC_STEEL)
    starts = {}
    for timed in played.notes:
        others = replace(played, notes=tuple(each for each in played.notes if each is not timed))
        alone = np.abs(whole - sound_strings(NECK, others, 0, 20_000, ACOUSTIC_STEEL)).max(axis=1)
        starts[timed.note.string] = int(np.argmax(alone > 0.01 * alone.max()))
        assert abs(starts[timed.note.string] - round(told[timed.note.id] * RATE_HZ)) < 12
    return starts


@pytest.mark.parametrize("stroke", Stroke)
def test_each_string_of_a_strum_starts_on_the_sample_that_the_time_map_tells(stroke: Stroke) -> None:
    chord = [(string, fret, PLAIN) for string, fret in CHORD]
    starts = starts_of(score_of((HALF, chord), stroke=stroke, bpm=90))
    in_order = sorted(starts, key=lambda string: starts[string], reverse=stroke is Stroke.DOWN)
    assert in_order == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize("roll", Roll)
def test_the_notes_of_a_rolled_chord_start_one_by_one(roll: Roll) -> None:
    chord = [(string, fret, Techniques(roll=roll)) for string, fret in CHORD[1:]]
    starts = starts_of(score_of((HALF, chord), bpm=90))
    late_s = [starts[string] / RATE_HZ for string in sorted(starts, reverse=roll is Roll.UP)]
    assert late_s == pytest.approx([0.07 * 60 / 90 * nth for nth in range(5)], abs=0.001)


@given(technique_scores(), st.sampled_from(list(VOICES.values())), st.sampled_from([40.0, 120.0, 240.0]))
@settings(max_examples=12)
def test_any_techniques_are_finite_in_range_and_in_order(score: Score, voice: Voice, bpm: float) -> None:
    score = replace(score, tempo=score.tempo.at_start(bpm))
    sound = render(score, voice=voice, options=SoundOptions(click=True))
    assert np.isfinite(sound.samples).all()
    assert true_peak_dbtp(sound.samples.astype(np.float64)) <= -1.0
    assert [note.note_id for note in sound.time_map] == [timed.note.id for timed in timeline(score).notes]
    assert all(note.duration_s > 0 for note in sound.time_map)
    quiet = (
        sound.samples[: round((sound.music_starts_s - 1.0) * RATE_HZ)] if sound.music_starts_s > 1 else None
    )
    assert quiet is None or not quiet.any()


def test_what_is_asked_of_no_note_changes_nothing() -> None:
    """A plain line through all stages is that of before techniques were known, to the byte."""
    plain = score_of((QUARTER, [(3, 5, PLAIN)]), (QUARTER, [(2, 5, PLAIN)]))
    assert render(plain).samples.tobytes() == render(plain).samples.tobytes()
    assert sound_strings(NECK, timeline(plain), 0, 96_000, ACOUSTIC_STEEL).any()
