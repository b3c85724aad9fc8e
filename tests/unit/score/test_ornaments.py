"""The touches that notes are made of, in seconds."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings

from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.ornaments import (
    ACCENT_FORCE,
    GHOST_FORCE,
    GRACE_S,
    RAKE_STEP_S,
    SLIDE_FRETS,
    SLIDE_IN_S,
    Muting,
    PitchCurve,
    Touch,
    lead_in_s,
    touched_notes,
)
from fretwright.score.score import Score
from fretwright.score.techniques import (
    PLAIN,
    Grace,
    Harmonic,
    HarmonicKind,
    SlideEnd,
    Stroke,
    Techniques,
    Trill,
    Vibrato,
    bend_and_release,
)
from fretwright.score.tempo import TempoMap
from fretwright.score.timeline import timeline
from fretwright.score.values import EIGHTH, HALF, QUARTER, SIXTEENTH, WHOLE, Value
from fretwright.theory.key import Key
from strategies import technique_scores

NECK = Neck()
THIRTY_SECOND = Value(Fraction(1, 32))


def asked(string: int, fret: int, techniques: Techniques = PLAIN, attack: Attack = Attack.PLUCK) -> Head:
    place = Place(string, fret)
    return Head(place, NECK.pitch_at(place), attack, techniques=techniques)


def score_of(*events: tuple[Value, list[Head]], neck: Neck = NECK) -> Score:
    """At 60 quarters a minute, so that a quarter is a second."""
    written = [Event(value, tuple(heads)) for value, heads in events]
    return assemble(Heading("x", "X", neck, Key(0), TempoMap.constant(60)), into_bars(written))


def touches_of(score: Score) -> list[tuple[Touch, ...]]:
    return [each.touches for each in touched_notes(timeline(score).notes, score.neck)]


def test_a_plain_note_is_one_touch_from_its_onset_to_its_end() -> None:
    ((touch,), (second,)) = touches_of(
        score_of((QUARTER, [asked(3, 5)]), (HALF, [asked(3, 7, attack=Attack.HAMMER_ON)]))
    )
    assert touch == Touch(string=3, midi=60, at_s=0.0, until_s=1.0, arrives_s=SLIDE_IN_S, leaves_s=0.7)
    assert (second.at_s, second.until_s, second.attack, second.midi) == (1.0, 3.0, Attack.HAMMER_ON, 62)


def test_graces_come_before_the_note_and_the_note_stays_on_its_moment() -> None:
    graces = (Grace(Place(2, 3), NECK.pitch_at(Place(2, 3))), Grace(Place(2, 5), NECK.pitch_at(Place(2, 5))))
    score = score_of((HALF, [asked(3, 5)]), (HALF, [asked(2, 3, Techniques(graces=graces), Attack.PULL_OFF)]))
    first, second, note = touches_of(score)[1]
    assert [touch.at_s for touch in (first, second, note)] == pytest.approx(
        [2 - 2 * GRACE_S, 2 - GRACE_S, 2.0]
    )
    assert [touch.midi for touch in (first, second, note)] == [62, 64, 62]
    assert [touch.attack for touch in (first, second, note)] == [
        Attack.PLUCK,
        Attack.HAMMER_ON,
        Attack.PULL_OFF,
    ]
    assert lead_in_s(touched_notes(timeline(score).notes, NECK)) == 0.0


def test_graces_take_at_most_half_of_what_is_before_them() -> None:
    grace = Grace(Place(2, 3), NECK.pitch_at(Place(2, 3)), is_slurred_on=False)
    score = replace(
        score_of((SIXTEENTH, [asked(3, 5)]), (HALF, [asked(2, 5, Techniques(graces=(grace, grace)))])),
        tempo=TempoMap.constant(240),
    )
    first, second, note = touches_of(score)[1]
    step_s = (1 / 16) * 0.5 / 2
    assert [note.at_s - first.at_s, note.at_s - second.at_s] == pytest.approx([2 * step_s, step_s])
    assert second.attack is Attack.PLUCK


def test_a_grace_before_the_first_note_leads_in() -> None:
    grace = Grace(Place(2, 3), NECK.pitch_at(Place(2, 3)))
    score = score_of((WHOLE, [asked(2, 5, Techniques(graces=(grace,)), Attack.HAMMER_ON)]))
    touched = touched_notes(timeline(score).notes, NECK)
    assert touched[0].touches[0].at_s == pytest.approx(-GRACE_S)
    assert lead_in_s(touched) == pytest.approx(GRACE_S)
    assert touched[0].touches[-1].at_s == 0.0


@pytest.mark.parametrize(
    ("rake", "strings"), [(Stroke.DOWN, [5, 4, 3]), (Stroke.UP, [1])], ids=["down", "up"]
)
def test_a_rake_sweeps_the_strings_on_the_way(rake: Stroke, strings: list[int]) -> None:
    score = score_of((HALF, [asked(3, 5)]), (HALF, [asked(2, 8, Techniques(rake=rake))]))
    *raked, note = touches_of(score)[1]
    assert [touch.string for touch in raked] == strings
    assert all(touch.muting is Muting.DEAD for touch in raked)
    times_s = [touch.at_s for touch in (*raked, note)]
    assert [b - a for a, b in pairwise(times_s)] == pytest.approx([RAKE_STEP_S] * len(strings))
    assert note.at_s == 2.0


def test_a_trill_alternates_by_slurs_for_the_whole_note() -> None:
    trill = Trill(7, NECK.pitch_at(Place(3, 7)), THIRTY_SECOND)
    (touches,) = touches_of(score_of((WHOLE, [asked(3, 5, Techniques(trill=trill))])))
    assert len(touches) == 32
    assert [touch.midi for touch in touches[:4]] == [60, 62, 60, 62]
    assert [touch.attack for touch in touches[:3]] == [Attack.PLUCK, Attack.HAMMER_ON, Attack.PULL_OFF]
    assert [touch.at_s for touch in touches] == pytest.approx([index / 8 for index in range(32)])
    assert touches[-1].until_s == pytest.approx(4.0)


def test_a_tremolo_alternates_strokes() -> None:
    (touches,) = touches_of(score_of((HALF, [asked(1, 5, Techniques(tremolo=SIXTEENTH))])))
    assert len(touches) == 8
    assert {touch.attack for touch in touches} == {Attack.PLUCK}
    assert [touch.stroke for touch in touches[:3]] == [Stroke.DOWN, Stroke.UP, Stroke.DOWN]
    assert [b.at_s - a.at_s for a, b in pairwise(touches)] == pytest.approx([0.25] * 7)


def test_a_bend_is_written_in_shares_of_the_note_and_read_in_seconds() -> None:
    score = score_of(
        (QUARTER, [asked(3, 5)]), (HALF, [asked(3, 7, Techniques(bend=bend_and_release(Fraction(2))))])
    )
    curve = touches_of(score)[1][0].curve
    assert curve is not None
    found = [curve.semitones_at(1 + at_s) for at_s in (0, 0.25, 0.5, 0.9, 1.25, 1.5, 2.0)]
    assert found == pytest.approx([0, 1, 2, 2, 1, 0, 0])


def test_a_vibrato_swings_to_both_sides_after_a_moment() -> None:
    (touches,) = touches_of(score_of((WHOLE, [asked(3, 5, Techniques(vibrato=Vibrato(5.0, 60.0)))])))
    curve = touches[0].curve
    assert curve is not None
    assert curve.semitones_at(curve.vibrato_from_s - 0.01) == 0.0
    quarter_s = 1 / 5.0 / 4
    swings = [curve.semitones_at(curve.vibrato_from_s + step * quarter_s) for step in range(5)]
    assert swings == pytest.approx([0, 0.3, 0, -0.3, 0], abs=1e-9)


def test_a_curve_is_held_before_its_first_corner_and_after_its_last() -> None:
    curve = PitchCurve(((1.0, 2.0), (2.0, 0.5)))
    assert [curve.semitones_at(at_s) for at_s in (0.0, 1.0, 1.5, 2.0, 9.0)] == [2.0, 2.0, 1.25, 0.5, 0.5]


@pytest.mark.parametrize(
    ("fret", "end", "away"),
    [
        (9, SlideEnd.BELOW, -SLIDE_FRETS),
        (9, SlideEnd.ABOVE, SLIDE_FRETS),
        (3, SlideEnd.BELOW, -2),
        (21, SlideEnd.ABOVE, 1),
    ],
)
def test_a_slide_from_nowhere_stays_on_the_neck(fret: int, end: SlideEnd, away: int) -> None:
    ((touch,),) = touches_of(score_of((WHOLE, [asked(3, fret, Techniques(slide_in=end, slide_out=end))])))
    assert touch.slides_from == touch.slides_to == touch.midi + away
    assert touch.at_s < touch.arrives_s < touch.leaves_s < touch.until_s


def test_no_slide_comes_from_below_the_first_fret() -> None:
    ((touch,),) = touches_of(score_of((WHOLE, [asked(3, 1, Techniques(slide_in=SlideEnd.BELOW))])))
    assert touch.slides_from is None


def test_a_harmonic_tells_the_stopped_pitch_and_the_partial_under_a_capo() -> None:
    neck = Neck(capo=2)
    harmonic = Harmonic(HarmonicKind.ARTIFICIAL, touched=15, stopped=3)
    head = Head(Place(3, 3), neck.pitch_at(Place(3, 3)), techniques=Techniques(harmonic=harmonic))
    ((touch,),) = touches_of(score_of((WHOLE, [head]), neck=neck))
    assert (touch.midi, touch.partial) == (55 + 2 + 3, 2)


def test_forces_and_muting_follow_the_signs() -> None:
    asks = (
        Techniques(accent=True),
        Techniques(ghost=True),
        Techniques(palm_mute=True),
        Techniques(dead=True),
    )
    score = score_of(*((EIGHTH, [asked(3, 5, each)]) for each in (PLAIN, *asks)))
    notes = [touches[0] for touches in touches_of(score)]
    assert [touch.force for touch in notes] == [1.0, ACCENT_FORCE, GHOST_FORCE, 1.0, 1.0]
    assert [touch.muting for touch in notes] == [Muting.NONE] * 3 + [Muting.PALM, Muting.DEAD]


def test_a_swell_rises_for_most_of_the_note() -> None:
    ((touch,),) = touches_of(score_of((HALF, [asked(3, 5, Techniques(swell=True))])))
    assert touch.swells_s == pytest.approx(1.2)


@given(technique_scores())
@settings(max_examples=25)
def test_touches_of_any_score_are_in_order_and_end_in_their_note(score: Score) -> None:
    played = timeline(score)
    for each in touched_notes(played.notes, score.neck):
        times_s = [touch.at_s for touch in each.touches]
        assert times_s == sorted(times_s)
        assert all(touch.until_s > touch.at_s for touch in each.touches)
        assert each.touches[-1].until_s == pytest.approx(each.timed.ends_s)
        assert sum(touch.at_s == each.timed.sounds_s for touch in each.touches) == 1
        assert all(touch.string in score.neck.tuning.strings for touch in each.touches)
        curve = each.touches[-1].curve
        bend = each.timed.note.techniques.bend
        if curve and bend and not each.timed.note.techniques.vibrato:
            for share in (Fraction(0), Fraction(1, 3), Fraction(1)):
                at_s = each.timed.onset_s + float(share) * each.timed.written_s
                assert curve.semitones_at(at_s) == pytest.approx(float(bend.semitones_at(share)), abs=1e-6)
