"""How long notes sound and how late a strum's strings are, on the timeline."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings

from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.score import Score
from fretwright.score.techniques import PLAIN, Stroke, Techniques
from fretwright.score.tempo import TempoMap
from fretwright.score.timeline import DEAD_LONGEST_S, STACCATO_SHARE, timeline
from fretwright.score.values import EIGHTH, HALF, QUARTER, Value
from fretwright.theory.key import Key
from strategies import technique_scores

NECK = Neck()
RING = Techniques(let_ring=True)

Asked = tuple[Value, Sequence[tuple[int, int]], Techniques]
"""What starts together: string and fret of each note, and what is asked of all."""


def score_of(*events: Asked, stroke: Stroke | None = None, bpm: float = 60) -> Score:
    written = [
        Event(
            value,
            tuple(
                Head(place, NECK.pitch_at(place), stroke=stroke, techniques=techniques)
                for place in (Place(*each) for each in places)
            ),
        )
        for value, places, techniques in events
    ]
    return assemble(Heading("x", "X", NECK, Key(0), TempoMap.constant(bpm)), into_bars(written))


def durations(score: Score) -> list[float]:
    return [timed.duration_s for timed in timeline(score).notes]


def test_staccato_is_half_as_long_and_a_dead_note_a_knock() -> None:
    score = score_of(
        (HALF, [(3, 5)], Techniques(staccato=True)),
        (HALF, [(3, 5)], Techniques(dead=True)),
        (HALF, [(3, 5)], PLAIN),
    )
    assert durations(score) == pytest.approx([2 * STACCATO_SHARE, DEAD_LONGEST_S, 2.0])
    assert [timed.written_s for timed in timeline(score).notes] == pytest.approx([2.0] * 3)


def test_a_note_that_rings_stops_where_its_string_is_needed() -> None:
    score = score_of(*((QUARTER, [place], RING) for place in ((5, 3), (4, 2), (3, 0), (5, 3))))
    assert durations(score) == pytest.approx([3.0, 3.0, 2.0, 1.0])


def test_a_ringing_passage_ends_with_its_last_note() -> None:
    score = score_of(
        (QUARTER, [(5, 3)], RING),
        (QUARTER, [(4, 2)], RING),
        (QUARTER, [(3, 0)], PLAIN),
        (QUARTER, [(3, 0)], RING),
    )
    assert durations(score) == pytest.approx([2.0, 1.0, 1.0, 1.0])


def test_a_string_that_rings_is_needed_again_in_the_repeat() -> None:
    score = score_of((HALF, [(5, 3)], RING), (HALF, [(4, 2)], RING))
    twice = replace(score, bars=(replace(score.bars[0], closes_repeat=2),))
    assert durations(twice) == pytest.approx([4.0, 4.0, 4.0, 2.0])


SIX = [(6, 3), (5, 2), (4, 0), (3, 0), (2, 0), (1, 3)]


@pytest.mark.parametrize("stroke", Stroke)
def test_a_strum_starts_on_the_beat_and_passes_from_string_to_string(stroke: Stroke) -> None:
    notes = timeline(score_of((HALF, SIX, PLAIN), (HALF, SIX, PLAIN), stroke=stroke, bpm=100)).notes[6:]
    in_order = sorted(notes, key=lambda timed: timed.sounds_s)
    strings = [timed.note.string for timed in in_order]
    assert strings == ([6, 5, 4, 3, 2, 1] if stroke is Stroke.DOWN else [1, 2, 3, 4, 5, 6])
    assert in_order[0].sounds_s == in_order[0].onset_s == pytest.approx(1.2)
    assert {timed.onset_s for timed in notes} == {in_order[0].onset_s}
    # 15 to 60 ms over six strings, common practice
    assert 0.015 <= in_order[-1].late_s <= 0.060
    assert all(timed.ends_s == pytest.approx(2.4) for timed in notes)


def spread(bpm: float, techniques: Techniques = PLAIN, value: Value = EIGHTH) -> float:
    return max(
        t.late_s for t in timeline(score_of((value, SIX, techniques), stroke=Stroke.DOWN, bpm=bpm)).notes
    )


def test_a_faster_and_a_harder_strum_is_quicker() -> None:
    assert spread(160) < spread(110) < spread(70)
    assert spread(110, Techniques(accent=True)) < spread(110) < spread(110, Techniques(ghost=True))
    assert spread(240, value=Value(Fraction(1, 32))) <= 60 / 240 / 8 / 3 + 1e-9


def test_a_skipped_string_takes_its_time_too() -> None:
    notes = timeline(score_of((HALF, [(5, 3), (3, 0), (2, 1)], PLAIN), stroke=Stroke.DOWN)).notes
    low, middle, high = (timed.late_s for timed in notes)
    assert low == 0
    assert middle == pytest.approx(2 * (high - middle))


def test_fingers_take_the_strings_of_a_chord_at_once() -> None:
    assert {timed.late_s for timed in timeline(score_of((HALF, SIX, PLAIN))).notes} == {0.0}


@given(technique_scores())
@settings(max_examples=25)
def test_every_note_of_any_score_sounds_within_the_music(score: Score) -> None:
    played = timeline(score)
    assert all(
        timed.onset_s <= timed.sounds_s < timed.ends_s <= played.length_s + 1e-9 for timed in played.notes
    )
    onsets_s = [timed.onset_s for timed in played.notes]
    assert onsets_s == sorted(onsets_s)
