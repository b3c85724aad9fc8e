"""What the bass plays under the chords."""

import re
from fractions import Fraction
from itertools import pairwise

import pytest
from music21 import harmony

from charts import TWELVE_BARS, chart
from fretwright.score.meter import Meter
from fretwright.sound.band.bass_line import HIGHEST_MIDI, LOWEST_MIDI, bass_part
from fretwright.sound.band.changes import changes_of
from fretwright.sound.band.feels import FEELS, Feel

_FLAT_ROOT = re.compile(r"^([A-G])b")
_PROGRESSION = ("Cmaj7", "Am7 D7", "Dm7", "G7/B", "F#m7b5 B7", "Em", "Asus4", "D9 Db9")


@pytest.mark.parametrize("feel", FEELS.values(), ids=FEELS)
@pytest.mark.parametrize("seed", range(4))
def test_every_chord_starts_on_its_bass(feel: Feel, seed: int) -> None:
    """The bass of a symbol by music21, which writes a flat root with a minus."""
    bars = changes_of(chart(_PROGRESSION, bpm=80))
    part = bass_part(bars, feel, seed, ends=False)
    for bar in bars:
        for change in bar.changes:
            at = bar.time_s(change.beat)
            first = next(note for note in part if note.time_s >= at - 0.001)
            bass = harmony.ChordSymbol(_FLAT_ROOT.sub(r"\1-", str(change.chord))).bass().pitchClass
            assert first.midi % 12 == bass, (str(change.chord), first)
            assert first.time_s == pytest.approx(at)


@pytest.mark.parametrize("feel", FEELS.values(), ids=FEELS)
def test_it_stays_in_range_and_never_plays_two_notes_at_once(feel: Feel) -> None:
    for meter in (Meter(4, 4), Meter(3, 4), Meter(12, 8), Meter(5, 4)):
        for seed in range(5):
            part = bass_part(changes_of(chart(TWELVE_BARS, meter=meter)), feel, seed, ends=True)
            assert all(LOWEST_MIDI <= note.midi <= HIGHEST_MIDI for note in part)
            for note, after in pairwise(part):
                assert note.time_s + note.duration_s <= after.time_s + 1e-9
                assert abs(note.midi - after.midi) <= 14


def test_a_walk_has_a_note_on_every_beat_and_steps_into_the_next_root() -> None:
    bars = changes_of(chart(TWELVE_BARS, bpm=60))
    part = bass_part(bars, FEELS["shuffle"], 5, ends=False)
    assert [round(note.time_s) for note in part] == list(range(48))
    for index in range(3, 47, 4):
        here, there = part[index].midi, part[index + 1].midi
        changes = part[index + 1].midi % 12 != part[index - 3].midi % 12
        assert not changes or 1 <= abs(here - there) <= 2


def test_a_bossa_has_the_fifth_before_the_middle_of_the_bar() -> None:
    bar = changes_of(chart(["Dm7"], bpm=60))
    part = bass_part(bar, FEELS["bossa"], 0, ends=False)
    assert [(note.time_s, (note.midi - 38) % 12) for note in part] == [(0, 0), (1.5, 7), (2, 7), (3.5, 0)]


def test_the_ending_is_one_long_root() -> None:
    bars = changes_of(chart(["G7", "C"], bpm=60))
    part = bass_part(bars, FEELS["funk"], 0, ends=True)
    last = [note for note in part if note.time_s >= bars[1].time_s(Fraction(0))]
    assert [note.midi % 12 for note in last] == [0]
    assert last[0].duration_s > 3.5
