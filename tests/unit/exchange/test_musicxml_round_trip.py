"""Out and in again: a MusicXML file holds everything that a score holds."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings

from exchange_scores import bare, chance_scores, of_tuning, plain, rich
from fretwright.exchange.draft import ReadOptions
from fretwright.exchange.musicxml_in import read_musicxml
from fretwright.exchange.musicxml_out import write_musicxml
from fretwright.fretboard.tuning import TUNINGS
from fretwright.fretboard.voicing import parse_frets
from fretwright.fretboard.voicings import voicing_of
from fretwright.score.score import AirStroke, Label, LabelKind, Score, Writing
from fretwright.score.swing import Swing
from fretwright.score.techniques import Stroke
from fretwright.theory.chord import Chord
from plate_scores import chord_name, written
from strategies import technique_scores


def again(score: Score, *, tab_staff: bool = False) -> Score:
    read = read_musicxml(write_musicxml(score, tab_staff=tab_staff), "again.musicxml")
    assert read.findings == ()
    return bare(read.score)


@settings(max_examples=60)
@given(score=chance_scores())
def test_any_score_comes_back_as_it_was(score: Score) -> None:
    assert again(score) == bare(score)


@settings(max_examples=20)
@given(score=chance_scores())
def test_a_tab_staff_adds_no_notes(score: Score) -> None:
    assert again(score, tab_staff=True) == bare(score)


@settings(max_examples=25, suppress_health_check=list(HealthCheck))
@given(score=technique_scores())
def test_every_technique_and_both_voices_come_back(score: Score) -> None:
    assert again(score) == bare(score)
    assert again(score, tab_staff=True) == bare(score)


def test_chord_diagrams_lyrics_and_slashes_come_back() -> None:
    neck = written("w5/0").neck
    held = voicing_of(Chord.parse("Am"), parse_frets("x02210"), neck)
    barred = voicing_of(Chord.parse("F"), parse_frets("133211"), neck)
    labels = [
        Label(Fraction(0), "Am", LabelKind.CHORD, held),
        Label(Fraction(1), "F", LabelKind.CHORD, barred),
        Label(Fraction(0), "row", LabelKind.LYRIC),
        Label(Fraction(5, 8), "on", LabelKind.LYRIC),  # falls on no note
        Label(Fraction(1), "a-", LabelKind.LYRIC),
        Label(Fraction(1), "the_", LabelKind.LYRIC, verse=2),
        Label(Fraction(9, 8), "riv-", LabelKind.LYRIC, verse=3),  # likewise
        Label(Fraction(3, 2), "way", LabelKind.LYRIC),
        Label(Fraction(3, 2), "_", LabelKind.LYRIC, verse=2),
    ]
    score = replace(
        written("w5/0 h6/1 h6/1", labels=labels),
        writing=Writing.SLASHES,
        air_strokes=(AirStroke(Fraction(1, 8), Stroke.UP),),
    )
    assert again(score) == bare(score)


@pytest.mark.parametrize("tab_staff", [False, True])
def test_everything_at_once_comes_back(tab_staff: bool) -> None:
    assert again(rich(), tab_staff=tab_staff) == bare(rich())


@pytest.mark.parametrize("tuning", TUNINGS)
def test_every_tuning_comes_back(tuning: str) -> None:
    assert again(of_tuning(tuning)).neck.tuning == TUNINGS[tuning]


@pytest.mark.parametrize(
    "swing", [Swing(Fraction(3, 5)), Swing(Fraction(2, 3), Fraction(1, 16)), Swing(Fraction(3, 4))]
)
def test_swing_comes_back(swing: Swing) -> None:
    assert again(replace(plain(), swing=swing)).swing == swing


@pytest.mark.parametrize(
    "name", ["C", "Am", "F#m7b5", "Bbmaj7", "G7sus4", "Dadd9/F#", "E7#9", "N.C.", "riff", "C6/9", "Eb°7"]
)
def test_every_chord_name_comes_back(name: str) -> None:
    score = written("w5/3", labels=[chord_name(Fraction(0), name)])
    assert [label.text for label in again(score).labels] == [name]


def test_all_of_a_piece_can_be_moved_by_octaves() -> None:
    read = read_musicxml(write_musicxml(plain()), "a.musicxml", ReadOptions(octaves=1))
    assert [note.midi - 12 for note in read.score.notes] == [note.midi for note in plain().notes]


def test_some_bars_can_be_taken_alone() -> None:
    score = written("w6/0 q6/3 q5/5 h~5/5 w4/2 w3/2")
    read = read_musicxml(write_musicxml(score), "a.musicxml", ReadOptions(bars=(2, 3)))
    assert [(note.onset, note.place) for note in read.score.notes] == [
        (note.onset - 1, note.place) for note in score.notes[1:4]
    ]
    assert [bar.number for bar in read.score.bars] == [1, 2]
