"""Nothing on a plate runs into anything else."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.engrave.ink import Line, Text
from fretwright.engrave.outlines import Face
from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import engrave
from fretwright.engrave.reading import read
from fretwright.engrave.style import PlateStyle
from fretwright.engrave.verses import verses_of
from fretwright.score.score import Score
from plate_scores import wandering, written
from plate_techniques import chart, crowded, everything
from technique_strategies import technique_scores


@pytest.mark.parametrize("first", range(0, 200, 20))
def test_two_hundred_plates_made_by_chance_are_clean(first: int) -> None:
    for seed in range(first, first + 20):
        found = overlaps(engrave(*wandering(seed)))
        assert not found, f"seed {seed}: {found[:3]}"


@pytest.mark.parametrize("first", range(0, 40, 8))
def test_plates_that_ask_for_everything_at_once_are_clean(first: int) -> None:
    for seed in range(first, first + 8):
        found = overlaps(engrave(*everything(seed)))
        assert not found, f"seed {seed}: {found[:3]}"


@pytest.mark.parametrize("first", range(0, 24, 8))
def test_plates_with_all_that_stands_around_the_notes_too_are_clean(first: int) -> None:
    for seed in range(first, first + 8):
        found = overlaps(engrave(*crowded(seed)))
        assert not found, f"seed {seed}: {found[:3]}"


@settings(max_examples=25, deadline=None)
@given(score=technique_scores(), staff=st.booleans())
def test_scores_with_every_technique_are_clean(score: Score, *, staff: bool) -> None:
    assert not overlaps(engrave(score, PlateStyle(staff=staff)))


@pytest.mark.parametrize("first", range(0, 30, 15))
def test_charts_made_by_chance_are_clean(first: int) -> None:
    for seed in range(first, first + 15):
        found = overlaps(engrave(*chart(seed)))
        assert not found, f"seed {seed}: {found[:3]}"


def test_the_scores_that_ask_for_everything_hold_what_they_promise() -> None:
    plates = [engrave(*everything(seed)) for seed in range(24)]
    roles = {each.role for plate in plates for system in plate.ink for each in system}
    assert roles >= {
        "bend", "bend-amount", "bend-goal", "grace-head", "grace-flag", "grace-beam", "grace-stroke",
        "grace-fret", "slide", "rake", "rake-word", "roll", "auxiliary", "trill", "trill-wave", "vibrato",
        "palm-mute", "let-ring", "harmonic", "hairpin", "articulation", "tremolo", "bracket", "picking",
        "stroke", "lyric",
        "diagram", "diagram-dot", "diagram-mark", "tie", "slur", "tuplet-number", "octave", "letter",
    }  # fmt: skip
    assert {len(bar.voices) for seed in range(12) for bar in read(everything(seed)[0])} == {1, 2}


def test_the_crowded_scores_hold_all_of_it_at_once() -> None:
    """Two voices, seconds, accidentals, small notes, every sign, three verses, diagrams, repeats, endings."""
    plates = [engrave(*crowded(seed)) for seed in range(24)]
    roles = [{each.role for system in plate.ink for each in system} for plate in plates]
    everywhere = {
        "staff-line", "accidental", "dot", "beam", "flag", "rest", "ledger", "chord", "text", "lyric",
        "diagram", "diagram-dot", "ending", "repeat-dot", "bar-number", "finger", "stroke", "tuplet",
        "tuplet-number", "tie", "slur", "slide", "bend", "grace-head", "roll", "rake", "trill", "vibrato",
        "palm-mute", "let-ring", "harmonic", "hairpin", "articulation", "tremolo", "bracket", "picking",
        "octave",
    }  # fmt: skip
    assert set().union(*roles) >= everywhere
    assert max(len(each & everywhere) for each in roles) >= len(everywhere) - 4
    rows = [verses_of(crowded(seed)[0].labels) for seed in range(24)]
    assert all(len(verses) == 3 for verses in rows)
    seconds = [
        abs(one.pitch.midi - other.pitch.midi)
        for seed in range(24)
        for one, other in pairwise(crowded(seed)[0].notes)
        if one.onset == other.onset and one.voice == other.voice
    ]
    assert {1, 2} <= set(seconds)


def test_the_chance_scores_hold_what_they_promise() -> None:
    """The test above is only as good as its music."""
    plates = [engrave(*wandering(seed)) for seed in range(60)]
    roles = {each.role for plate in plates for system in plate.ink for each in system}
    assert roles >= {
        "slur", "tie", "slide", "letter", "tuplet", "tuplet-number", "accidental", "flag", "beam", "dot",
        "rest", "stroke", "finger", "chord", "text", "ending", "repeat-dot", "bar-number", "rhythm-head",
    }  # fmt: skip
    assert max(len(plate.systems) for plate in plates) >= 5
    assert {plate.width_mm for plate in plates} == {90.0, 110.0, 170.0}


def test_ink_on_ink_is_found() -> None:
    plate = engrave(written("q6/5 q6/7 h6/8"))
    head = next(each for each in plate.ink[0] if each.role == "notehead")
    x, y = head.boxes[0].left, head.boxes[0].bottom
    word = Text("x", Face.SERIF, 2.0, x, y, role="text")
    stained = replace(plate, ink=((*plate.ink[0], word),))
    assert any({each.first, each.second} == {"notehead", "text"} for each in overlaps(stained))


def test_ink_off_the_plate_is_found() -> None:
    plate = engrave(written("w6/5"))
    line = Line(-3.0, 1.0, -1.0, 1.0, 0.1, role="staff-line")
    stained = replace(plate, ink=((*plate.ink[0], line),))
    assert [(each.first, each.second) for each in overlaps(stained)] == [("staff-line", "edge")]
