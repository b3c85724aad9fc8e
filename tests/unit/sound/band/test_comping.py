"""Chords that move as little as they can."""

from itertools import pairwise, product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import harmony

from charts import TWELVE_BARS, chart
from fretwright.sound.band.changes import changes_of
from fretwright.sound.band.comping import (
    HIGHEST_MIDI,
    LOWEST_MIDI,
    comping_part,
    lead,
    movement,
    positions_of,
    telling_tones,
)
from fretwright.sound.band.feels import FEELS, Feel
from fretwright.theory.chord import Chord

_SYMBOLS = ("C", "Am", "G7", "Fmaj7", "Dm7", "Bdim", "E7b9", "Asus4", "C6", "D9", "F#m7b5", "A5", "G13")


@pytest.mark.parametrize(
    ("symbol", "tones"),
    [
        ("G7", (11, 5, 2)),
        ("Am", (0, 4, 9)),
        ("Cmaj7", (4, 11, 7)),
        ("D9", (6, 0, 4)),
        ("E7b9", (8, 2, 5)),
        ("C6", (4, 9, 7)),
        ("Asus4", (2, 4, 9)),
        ("A5", (4, 9)),
    ],
)
def test_the_tones_that_tell_a_chord_apart(symbol: str, tones: tuple[int, ...]) -> None:
    """Third and seventh first, then alterations and extensions (common practice, no source)."""
    assert telling_tones(Chord.parse(symbol)) == tones


@pytest.mark.parametrize("symbol", _SYMBOLS)
def test_all_tones_belong_to_the_chord(symbol: str) -> None:
    """As music21 reads the symbol."""
    theirs = {pitch.pitchClass for pitch in harmony.ChordSymbol(symbol.replace("A5", "Apower")).pitches}
    for voices in positions_of(Chord.parse(symbol)):
        assert {voice % 12 for voice in voices} <= theirs
        assert all(LOWEST_MIDI <= voice <= HIGHEST_MIDI for voice in voices)


@given(st.lists(st.sampled_from(_SYMBOLS), min_size=1, max_size=4))
def test_the_way_is_the_cheapest_of_all(symbols: list[str]) -> None:
    """Against every way there is, tried one by one on short charts; moves weigh more than places."""
    chords = [Chord.parse(symbol) for symbol in symbols][:3]
    found = lead(chords)
    best = min(
        sum(movement(left, right) for left, right in pairwise(way))
        for way in product(*(positions_of(chord) for chord in chords))
    )
    moved = sum(movement(left, right) for left, right in pairwise(found))
    assert best <= moved <= best + 6


def test_voices_move_far_less_than_roots_do() -> None:
    chords = [Chord.parse(name) for bar in TWELVE_BARS for name in bar.split()]
    led = sum(movement(left, right) for left, right in pairwise(lead(chords)))
    blocks = [tuple(55 + (chord.root.pitch_class + tone) for tone in (0, 4, 10)) for chord in chords]
    assert led < 0.45 * sum(movement(left, right) for left, right in pairwise(blocks))


@pytest.mark.parametrize("feel", FEELS.values(), ids=FEELS)
def test_every_change_is_heard(feel: Feel) -> None:
    bars = changes_of(chart(["C Am", "F . . G7", "C"], bpm=60))
    for seed in range(4):
        part = comping_part(bars, feel, seed, ends=False)
        for bar in bars:
            for change in bar.changes:
                assert change.chord is not None
                start, end = (bar.time_s(beat) for beat in (change.beat, change.beat + change.beats))
                heard = [chord for chord in part if start - 0.02 <= chord.time_s < end - 0.02]
                assert heard
                wanted = set(telling_tones(change.chord))
                assert all({voice % 12 for voice in chord.voices} == wanted for chord in heard)


def test_the_last_chord_is_held() -> None:
    part = comping_part(changes_of(chart(["G7", "C"], bpm=60)), FEELS["funk"], 0, ends=True)
    assert part[-1].duration_s == pytest.approx(4.0)
    assert sum(chord.time_s >= 4.0 for chord in part) == 1
