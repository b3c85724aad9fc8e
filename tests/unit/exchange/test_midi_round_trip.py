"""Out and in again by MIDI: pitches, exact times, key, meters, tempo, and places by strings."""

from collections import Counter
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings

from exchange_scores import chance_scores, has_unisons, of_tuning, plain, unrepeated
from fretwright.exchange.draft import ReadOptions
from fretwright.exchange.midi_in import read_midi
from fretwright.exchange.midi_out import MidiOptions, write_midi
from fretwright.fretboard.neck import Place
from fretwright.fretboard.tuning import TUNINGS
from fretwright.score.score import Score
from plate_scores import written

Sounded = tuple[Fraction, Fraction, int, Place | None]


def sounded(score: Score, *, places: bool) -> Counter[Sounded]:
    return Counter(
        (note.onset, note.duration, note.midi, note.place if places else None) for note in score.notes
    )


@settings(max_examples=30)
@given(score=chance_scores())
def test_with_a_track_a_string_everything_but_the_hands_comes_back(score: Score) -> None:
    score = unrepeated(score)
    read = read_midi(write_midi(score, MidiOptions(track_per_string=True)), "again.mid")
    assert sounded(read.score, places=True) == sounded(score, places=True)
    assert read.findings == ()
    assert read.score.neck.tuning == score.neck.tuning
    assert read.score.key == score.key
    # A file counts quarters; which value a teacher counts follows from the meter.
    assert [mark.seconds_per_whole for mark in read.score.tempo.marks] == [3.0]
    assert [bar.meter for bar in read.score.bars] == [bar.meter for bar in score.bars][: len(read.score.bars)]


@settings(max_examples=8)
@given(score=chance_scores())
def test_in_one_track_pitches_and_times_come_back(score: Score) -> None:
    score = unrepeated(score)
    assume(not has_unisons(score))
    read = read_midi(write_midi(score), "again.mid", ReadOptions(neck=score.neck))
    assume("note-left-out" not in {finding.code for finding in read.findings})
    assert sounded(read.score, places=False) == sounded(score, places=False)


@pytest.mark.parametrize("tuning", TUNINGS)
def test_every_tuning_comes_back(tuning: str) -> None:
    data = write_midi(of_tuning(tuning), MidiOptions(track_per_string=True))
    assert read_midi(data, "a.mid").score.neck.tuning == TUNINGS[tuning]


def test_a_pickup_comes_back() -> None:
    score = written("q6/5 q5/5 q5/7 q4/5 q4/7 h.3/5", pickup=Fraction(1, 4))
    read = read_midi(write_midi(score), "a.mid").score
    assert [(bar.number, bar.length) for bar in read.bars] == [(bar.number, bar.length) for bar in score.bars]


@pytest.mark.parametrize("bpm", [60.0, 61.0, 72.5, 90.0, 133.0, 203.0])
def test_tempos_come_back_as_they_were(bpm: float) -> None:
    from dataclasses import replace

    score = plain()
    read = read_midi(write_midi(replace(score, tempo=score.tempo.at_start(bpm))), "a.mid")
    assert read.score.tempo.bpm == bpm
