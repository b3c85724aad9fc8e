"""Strokes: the pendulum, economy, and what the teacher fixed (all common practice, no source)."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.fingering.strokes import Picking, strokes
from fretwright.score.meter import Meter
from fretwright.score.score import Score
from fretwright.score.techniques import Stroke
from fretwright.score.values import EIGHTH, QUARTER, SIXTEENTH, TRIPLET, Value
from scores import line

TRIPLET_EIGHTH = Value(EIGHTH.base, 0, TRIPLET)
DOTTED_EIGHTH = Value(EIGHTH.base, 1)
SIGNS = {Stroke.DOWN: "d", Stroke.UP: "u", None: "-"}


def picked(score: Score, picking: Picking = Picking.ALTERNATE) -> str:
    return "".join(SIGNS[note.stroke] for note in strokes(score, picking).notes)


def rhythm(values: list[Value], **options: object) -> Score:
    return line(" ".join(["3/5"] * len(values)), values=values, **options)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([QUARTER] * 4, "dddd"),
        ([EIGHTH] * 8, "dudududu"),
        ([SIXTEENTH] * 16, "du" * 8),
        ([QUARTER, EIGHTH, EIGHTH, QUARTER, EIGHTH, EIGHTH], "dduddu"),
        # the hand goes on swinging through what it does not strike
        ([EIGHTH, QUARTER, QUARTER, QUARTER, EIGHTH], "duuuu"),
        ([EIGHTH, SIXTEENTH, SIXTEENTH] * 4, "ddu" * 4),
        ([SIXTEENTH, SIXTEENTH, EIGHTH] * 4, "dud" * 4),
        ([DOTTED_EIGHTH, SIXTEENTH] * 4, "du" * 4),
        # threes alternate strictly, and the next even beat begins down again
        ([TRIPLET_EIGHTH] * 12, "du" * 6),
        ([*[TRIPLET_EIGHTH] * 3, EIGHTH, EIGHTH, *[TRIPLET_EIGHTH] * 3, QUARTER], "duddududd"),
    ],
)
def test_alternate_picking_follows_the_beat(values: list[Value], expected: str) -> None:
    assert picked(rhythm(values)) == expected


def test_compound_time_alternates_strictly_from_each_bar_line() -> None:
    assert picked(rhythm([EIGHTH] * 12, meter=Meter(6, 8))) == "dududu" * 2
    assert picked(rhythm([EIGHTH] * 18, meter=Meter(9, 8))) == "dudududud" * 2
    assert picked(rhythm([SIXTEENTH] * 12, meter=Meter(6, 8))) == "du" * 6


def test_a_pickup_swings_like_the_end_of_a_full_bar() -> None:
    score = rhythm([EIGHTH] * 9, pickup=Fraction(1, 8))
    assert picked(score) == "u" + "dudududu"


def test_a_rest_does_not_turn_the_strokes_around() -> None:
    assert picked(line("3/5 r r 3/5 3/5 3/5 r 3/5")) == "duduu"


def test_slurred_and_tapped_notes_have_no_stroke_and_do_not_turn_the_others_around() -> None:
    assert picked(line("3/5 3/7h 3/5 3/7h 3/8 2/5 2/12t 2/5p")) == "d-d-du--"


def test_economy_picking_falls_through_to_the_next_string() -> None:
    # up: a change towards the treble is a down-stroke, three notes on each string
    assert picked(line("6/3 6/5 6/7 5/3 5/5 5/7 4/4"), Picking.ECONOMY) == "duddudd"
    # down: towards the bass an up-stroke
    assert picked(line("4/4 5/7 5/5 5/3 6/7"), Picking.ECONOMY) == "duduu"


def test_economy_picking_of_two_notes_on_a_string_alternates_on_the_way_up() -> None:
    assert picked(line("6/5 6/8 5/5 5/7 4/5 4/7"), Picking.ECONOMY) == "dududu"


def test_notes_that_start_together_share_a_stroke() -> None:
    assert picked(line("3/5+2/5 3/5+2/5 1/5")) == "dduud"
    # a down-stroke through strings 3 and 2 leaves towards the treble
    assert picked(line("3/5+2/5 1/5 3/5+2/5"), Picking.ECONOMY) == "ddduu"


def test_down_strokes_alone() -> None:
    assert picked(line("3/5 3/7h 3/5 3/7"), Picking.DOWN) == "d-dd"


@pytest.mark.parametrize("picking", Picking)
def test_what_the_teacher_fixed_is_kept(picking: Picking) -> None:
    score = line("6/5 6/8 5/5 5/7")
    first = replace(score.notes[0], stroke=Stroke.UP)
    row = strokes(score.with_notes((first, *score.notes[1:])), picking).notes
    assert row[0].stroke is Stroke.UP
    if picking is Picking.ECONOMY:
        assert [note.stroke for note in row[1:]] == [Stroke.DOWN, Stroke.DOWN, Stroke.UP]


@given(
    st.lists(st.sampled_from([QUARTER, EIGHTH, SIXTEENTH, DOTTED_EIGHTH]), min_size=1, max_size=20),
    st.sampled_from([Meter(4, 4), Meter(3, 4), Meter(2, 2), Meter(5, 4)]),
)
def test_in_even_time_every_beat_is_down_and_every_half_beat_between_is_up(
    values: list[Value], meter: Meter
) -> None:
    score = strokes(rhythm(values, meter=meter))
    for note in score.notes:
        inside = (note.onset - score.bar_at(note.onset).start) % meter.beat
        if inside == 0:
            assert note.stroke is Stroke.DOWN
        # a sixteenth away from every eighth the hand comes back up
        if inside.denominator == 16 and meter.unit == 4:
            assert note.stroke is Stroke.UP


def test_a_score_of_rests_has_no_strokes() -> None:
    assert picked(line("r r r r")) == ""
