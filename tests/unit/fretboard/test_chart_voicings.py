"""Voicings for charts and the changes between them."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import harmony

from fretwright.fretboard.change import Part, change
from fretwright.fretboard.chart_voicings import chart_voicings, usual
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS
from fretwright.fretboard.voicing import Voicing
from fretwright.fretboard.voicings import voicing_of
from fretwright.theory.chord import Chord

NECK = Neck()
STANDARD_FINGERS = {
    "C": ("x32010", {"x32010"}), "A": ("x02220", {"x01230", "x02130", "x02340", "x01110"}),
    "G": ("320003", {"210003", "320004", "310004"}), "E": ("022100", {"023100"}), "D": ("xx0232", {"xx0132"}),
    "Am": ("x02210", {"x02310"}), "Em": ("022000", {"023000", "012000"}),
    "Dm": ("xx0231", {"xx0231", "xx0241"}),
    "F": ("133211", {"134211"}), "Bm": ("x24432", {"x13421"}), "Bb": ("x13331", {"x12341", "x13331"}),
    "Fm": ("133111", {"134111"}), "A7": ("x02020", {"x02030", "x01020"}), "E7": ("020100", {"020100"}),
    "D7": ("xx0212", {"xx0213"}), "G7": ("320001", {"320001"}), "C7": ("x32310", {"x32410"}),
    "B7": ("x21202", {"x21304"}), "Fmaj7": ("xx3210", {"xx3210"}), "Cmaj7": ("x32000", {"x32000", "x21000"}),
}  # fmt: skip
"""Frets and the sets of fingers that are standard for each: common practice, from memory."""
CHORDS = tuple(STANDARD_FINGERS)


def held(row: str, neck: Neck = NECK, **more: object) -> dict[str, Voicing]:
    chords = [Chord.parse(name) for name in row.split()]
    found = chart_voicings(chords, neck, **more)  # type: ignore[arg-type]  # only position and fixed are passed on
    return {str(chord): voicing for chord, voicing in found.items()}


@given(st.lists(st.sampled_from(CHORDS), min_size=1, max_size=8))
@settings(max_examples=60, deadline=None)
def test_common_chords_are_held_as_everybody_holds_them(row: list[str]) -> None:
    for name, voicing in held(" ".join(row)).items():
        frets, fingers = STANDARD_FINGERS[name]
        assert voicing.text == frets
        assert voicing.fingers_text in fingers


@given(st.lists(st.sampled_from(CHORDS), min_size=2, max_size=4))
@settings(max_examples=30, deadline=None)
def test_no_other_usual_fingers_make_a_chart_easier(row: list[str]) -> None:
    chords = [Chord.parse(name) for name in row]
    found = chart_voicings(chords, NECK)

    def cost(picked: dict[Chord, Voicing]) -> float:
        own = sum(picked[chord].ease.total for chord in chords)
        return own + sum(
            change(picked[a], picked[b]).cost.total for a, b in itertools.pairwise(chords) if a != b
        )

    choices = {chord: usual(chord, NECK) for chord in dict.fromkeys(chords)}
    every = (dict(zip(choices, picked, strict=True)) for picked in itertools.product(*choices.values()))
    assert cost(found) == pytest.approx(min(cost(picked) for picked in every))


@pytest.mark.parametrize(
    ("row", "chord", "fingers"),
    [("G C", "G", "320004"), ("D G", "G", "210003"), ("C Em", "Em", "012000")],
)
def test_fingers_follow_the_neighbours(row: str, chord: str, fingers: str) -> None:
    assert held(row)[chord].fingers_text == fingers


def test_a_long_chart_is_improved_chord_by_chord() -> None:
    row = "A G Em A7 Cmaj7 Dsus4 E5 A5 D5 G/B Am Dm C F Bm E D B7"
    assert len(held(row)) == len(row.split())


def test_what_the_teacher_fixed_is_kept() -> None:
    mine = voicing_of(Chord.parse("G"), (3, 3, 0, 0, 2, 3), NECK)
    found = chart_voicings([Chord.parse("G"), Chord.parse("C")], NECK, fixed={Chord.parse("G"): mine})
    assert found[Chord.parse("G")] is mine


def test_a_position_is_kept_near() -> None:
    assert {voicing.position for voicing in held("A D E", position=5).values()} <= {4, 5, 6, 7}


@given(
    st.sampled_from(CHORDS), st.sampled_from(["standard", "DADGAD", "open G", "drop D"]), st.integers(0, 5)
)
@settings(max_examples=60, deadline=None)
def test_what_is_held_sounds_the_chord_that_music21_reads(name: str, tuning: str, capo: int) -> None:
    neck = Neck(TUNINGS[tuning], capo=capo)
    voicing = held(name, neck)[name]
    theirs = {pitch.pitchClass for pitch in harmony.ChordSymbol(name.replace("b", "-")).pitches}
    sounding = {neck.midi_at(place) % 12 for place in voicing.places}
    assert sounding <= theirs
    assert Chord.parse(name).root.pitch_class in sounding


def parts(before: str, after: str) -> dict[int, Part]:
    row = held(f"{before} {after}")
    return {move.finger: move.part for move in change(row[before], row[after]).moves}


@pytest.mark.parametrize(
    ("before", "after", "finger", "part"),
    [
        ("C", "Am", 1, Part.STAYS), ("C", "Am", 2, Part.STAYS), ("C", "Am", 3, Part.MOVES),
        ("Am", "C", 1, Part.STAYS), ("D", "A", 3, Part.GUIDES), ("E", "Am", 1, Part.MOVES),
        ("Em", "C", 3, Part.COMES_DOWN), ("Am", "Em", 1, Part.LIFTS), ("F", "C", 4, Part.LIFTS),
    ],
)  # fmt: skip
def test_what_fingers_do(before: str, after: str, finger: int, part: Part) -> None:
    """Common practice, no source."""
    assert parts(before, after)[finger] is part


@given(st.sampled_from(CHORDS), st.sampled_from(CHORDS))
@settings(max_examples=100, deadline=None)
def test_every_finger_is_accounted_for(before: str, after: str) -> None:
    row = held(f"{before} {after}")
    found = change(row[before], row[after])
    down = set(row[before].fingers) | set(row[after].fingers)
    assert {move.finger for move in found.moves} == down - {0}
    taken = [place for move in found.moves for place in move.takes]
    assert sorted(taken) == sorted(place for place in row[after].places if place.fret)
    assert found.cost.total >= 0
    if before == after:
        assert found.cost.total == 0
    for move in found.moves:
        assert move.way_mm == 0 or move.part in {Part.GUIDES, Part.MOVES}


def test_a_change_far_along_the_neck_costs_more() -> None:
    chord = Chord.parse("E5")
    here, near, far = (
        voicing_of(chord, (None, None, None, fret + 2, fret + 2, fret), NECK) for fret in (1, 3, 9)
    )
    assert change(here, near).cost.total < change(here, far).cost.total
    assert change(here, near).fingers(Part.GUIDES)


def test_laying_a_finger_flat_costs() -> None:
    row = held("C F")
    assert change(row["C"], row["F"]).cost.barre > 0
    assert change(row["F"], row["C"]).cost.barre == 0
    assert change(row["C"], row["F"]).moves[0].takes[0] == Place(6, 1)
