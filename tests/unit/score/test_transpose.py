"""Transposition: every hand moved along the neck, every name spelled by the new key."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import ScoreError
from fretwright.score.note import Finger
from fretwright.score.score import Label, LabelKind
from fretwright.score.transpose import transpose
from fretwright.theory.interval import Interval
from fretwright.theory.key import Key
from fretwright.theory.scale import Scale
from scores import line
from strategies import keys

steps = st.sampled_from(
    [
        Interval(0, 0),
        Interval(0, 1),
        Interval(1, 1),
        Interval(1, 2),
        Interval(2, 3),
        Interval(3, 5),
        Interval(7, 12),
    ]
)


@given(steps, keys())
def test_every_note_sounds_the_interval_higher_and_is_spelled_where_it_sounds(
    interval: Interval, key: Key
) -> None:
    score = replace(line("6/5=1 6/8=4 5/5 5/7h 4/5", position=5), key=key)
    moved = transpose(score, interval)
    for before, after in zip(score.notes, moved.notes, strict=True):
        assert after.midi == before.midi + interval.semitones
        assert score.neck.midi_at(after.place) == after.midi or before.midi != score.neck.midi_at(
            before.place
        )
        assert (after.string, after.finger, after.attack) == (before.string, before.finger, before.attack)
        assert (after.id, after.onset, after.values) == (before.id, before.onset, before.values)
    assert abs(moved.key.fifths) <= 7
    assert moved.key.tonic.pitch_class == (key.tonic.pitch_class + interval.semitones) % 12
    assert moved.key.minor == key.minor
    assert moved.position == 5 + interval.semitones


@given(steps, keys())
def test_there_and_back_is_the_same_score(interval: Interval, key: Key) -> None:
    score = replace(line("6/5=1 6/8=4 5/5 5/7h 4/5", position=5), key=key)
    there = transpose(score, interval)
    back = transpose(there, -interval)
    assert [note.place for note in back.notes] == [note.place for note in score.notes]
    assert back.key.tonic.pitch_class == key.tonic.pitch_class
    assert back.position == score.position


@pytest.mark.parametrize(
    ("key", "interval", "expected"),
    [
        ("C major", Interval(1, 2), "D major"),
        ("A minor", Interval(2, 3), "C minor"),
        ("E minor", Interval(0, 1), "F minor"),
        # more than seven accidentals: the enharmonic key is written
        ("B major", Interval(0, 1), "C major"),
        ("Gb major", Interval(1, 1), "G major"),
    ],
)
def test_the_new_key_is_one_that_can_be_printed(key: str, interval: Interval, expected: str) -> None:
    score = replace(line("3/5 3/7"), key=Key.parse(key))
    assert transpose(score, interval).key.name == expected


def test_the_scale_and_chord_names_move_along() -> None:
    labels = (
        Label(Fraction(0), "Am7/G", LabelKind.CHORD),
        Label(Fraction(1, 2), "Bb", LabelKind.CHORD),
        Label(Fraction(3, 4), "Again", LabelKind.TEXT),
    )
    score = replace(line("3/5 3/7"), scale=Scale.parse("A minor pentatonic"), labels=labels)
    moved = transpose(score, Interval(1, 2))
    assert moved.scale == Scale.parse("B minor pentatonic")
    assert [label.text for label in moved.labels] == ["Bm7/A", "C", "Again"]


def test_a_note_that_becomes_open_or_stops_being_open_loses_its_finger() -> None:
    score = line("3/2=1 3/5=4")
    down = transpose(score, Interval(-1, -2))
    assert [(note.fret, note.finger) for note in down.notes] == [(0, None), (3, Finger.LITTLE)]
    up = transpose(line("3/0=0"), Interval(1, 2))
    assert [(note.fret, note.finger) for note in up.notes] == [(2, None)]


@pytest.mark.parametrize(("text", "interval"), [("3/1", Interval(-1, -2)), ("3/21", Interval(1, 2))])
def test_a_note_that_would_leave_the_neck_is_refused(text: str, interval: Interval) -> None:
    with pytest.raises(ScoreError, match=r"frets 0 to 22"):
        transpose(line(text), interval)


def test_a_position_below_the_nut_is_forgotten() -> None:
    assert transpose(line("3/5", position=2), Interval(-2, -3)).position is None
