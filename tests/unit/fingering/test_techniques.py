"""Fingers for bends, trills, small notes, harmonics and dead notes, and those of the picking hand.

The fingers that are expected are common practice, no source.
"""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings

from fretwright.fingering.explain import explain
from fretwright.fingering.finger import finger
from fretwright.fingering.grips import FaultKind
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Attack, Finger, Note
from fretwright.score.score import Score
from fretwright.score.techniques import (
    Grace,
    Harmonic,
    HarmonicKind,
    PickingFinger,
    Stroke,
    Techniques,
    Trill,
    Vibrato,
    bend_up,
)
from fretwright.score.values import SIXTEENTH
from scores import line
from strategies import technique_scores

NECK = Neck()


def asked(score: Score, techniques: Techniques, attack: Attack = Attack.PLUCK) -> Score:
    """The score with something asked of its first note."""
    first = replace(score.notes[0], techniques=techniques, attack=attack)
    return score.with_notes((first, *score.notes[1:]))


def grace(string: int, fret: int, *, slurred: bool = True) -> Grace:
    place = Place(string, fret)
    return Grace(place, NECK.pitch_at(place), slurred)


def trill(string: int, fret: int) -> Trill:
    return Trill(fret, NECK.pitch_at(Place(string, fret)), SIXTEENTH)


@pytest.mark.parametrize("semitones", [1, 2, 3])
def test_a_bend_is_pulled_by_the_third_finger(semitones: int) -> None:
    found = finger(asked(line("2/8"), Techniques(bend=bend_up(Fraction(semitones)))))
    assert found.score.notes[0].finger is Finger.RING
    assert not found.problems


def test_a_bend_in_a_phrase_keeps_the_third_finger_though_the_first_would_be_nearer() -> None:
    plain = finger(line("2/5 3/7"))
    bent = line("2/5 3/7")
    second = replace(bent.notes[1], techniques=Techniques(bend=bend_up(Fraction(2))))
    assert finger(bent.with_notes((bent.notes[0], second))).score.notes[1].finger is Finger.RING
    assert plain.score.notes[0].finger is Finger.INDEX


def test_a_teachers_finger_stays_and_costs_what_it_asks() -> None:
    score = asked(line("2/8=1"), Techniques(bend=bend_up(Fraction(2))))
    found = finger(score)
    assert found.score.notes[0].finger is Finger.INDEX
    assert found.costs[score.notes[0].id].pulling == 24.0
    assert "bending or shaking the string with another finger than the best: +24.0 mm" in (
        explain(found, score.notes[0].id).lower()
    )


def test_vibrato_is_left_to_the_stronger_fingers() -> None:
    found = finger(asked(line("2/8=4"), Techniques(vibrato=Vibrato())))
    assert found.costs[found.score.notes[0].id].pulling == 3.0


def test_a_trill_has_a_lower_finger_that_stays_and_a_higher_one_in_reach() -> None:
    found = finger(asked(line("3/7"), Techniques(trill=trill(3, 9))))
    assert not found.problems
    assert found.score.notes[0].finger in {Finger.INDEX, Finger.MIDDLE}
    assert set(found.costs) == {note.id for note in found.score.notes}


def test_a_trill_out_of_reach_is_reported_at_its_note() -> None:
    score = asked(line("3/1"), Techniques(trill=trill(3, 8)))
    found = finger(score)
    assert {problem.note_id for problem in found.problems} == {score.notes[0].id}
    assert {problem.kind for problem in found.problems} & {FaultKind.SLUR_SHIFT, FaultKind.REACH}


def test_a_small_note_is_reached_by_the_same_hand() -> None:
    score = asked(line("3/7"), Techniques(graces=(grace(3, 5),)), Attack.HAMMER_ON)
    near = finger(score)
    assert near.score.notes[0].finger is Finger.RING
    assert not near.problems
    far = finger(asked(line("3/12"), Techniques(graces=(grace(3, 1),)), Attack.HAMMER_ON))
    assert {problem.note_id for problem in far.problems} == {score.notes[0].id}


def test_dead_and_tapped_notes_take_no_finger() -> None:
    assert finger(asked(line("3/0"), Techniques(dead=True))).score.notes[0].finger is None
    assert finger(asked(line("3/7"), Techniques(dead=True))).score.notes[0].finger is None
    assert finger(line("3/12t")).score.notes[0].finger is None


def test_a_natural_harmonic_has_the_finger_that_touches_it() -> None:
    score = asked(line("3/12"), Techniques(harmonic=Harmonic(HarmonicKind.NATURAL, 12)))
    found = finger(score)
    assert found.score.notes[0].finger is not None
    assert "touched lightly" in explain(found, score.notes[0].id)


def _picked(score: Score) -> str:
    return "".join(note.picking_finger.value if note.picking_finger else "." for note in score.notes)


def _by_thumb(score: Score) -> Score:
    first = replace(score.notes[0], picking_finger=PickingFinger.THUMB)
    return score.with_notes((first, *score.notes[1:]))


def test_thumb_for_basses_and_a_finger_for_each_treble_string() -> None:
    assert _picked(finger(_by_thumb(line("5/3 3/0 2/1 1/0"))).score) == "pima"
    assert _picked(finger(_by_thumb(line("6/3+3/0+2/0+1/3 4/0"))).score) == "pimap"


def test_no_finger_plucks_one_string_twice_in_a_row() -> None:
    score = finger(_by_thumb(line("5/3 3/0 3/2 3/4 2/1 2/3 2/5 1/0 1/1"))).score
    for before, after in zip(score.notes, score.notes[1:], strict=False):
        assert before.picking_finger != after.picking_finger
    assert all(note.stroke is None for note in score.notes)


def test_two_voices_are_picked_by_fingers_and_the_thumb_has_the_lower_one() -> None:
    score = line("5/3+2/1 2/3")
    voiced = [replace(note, voice=2 if note.string == 5 else 1) for note in score.notes]
    assert _picked(finger(score.with_notes(tuple(voiced))).score)[0] == "p"
    stroked = [replace(note, stroke=Stroke.DOWN) for note in voiced]
    assert _picked(finger(score.with_notes(tuple(stroked))).score) == "..."


def test_a_score_for_a_pick_has_strokes_and_no_fingers_of_the_picking_hand() -> None:
    found = finger(line("5/3 3/0 2/1")).score
    assert _picked(found) == "..."
    assert all(note.stroke for note in found.notes)


def test_a_written_finger_stays() -> None:
    score = line("5/3 3/0 2/1")
    notes = [*score.notes[:2], replace(score.notes[2], picking_finger=PickingFinger.RING)]
    assert _picked(finger(score.with_notes(tuple(notes))).score) == "pia"


@given(technique_scores())
@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
def test_whatever_is_asked_every_stopped_note_has_a_finger(score: Score) -> None:
    found = finger(score)
    assert set(found.costs) == {note.id for note in score.notes} == set(found.positions)
    assert {problem.note_id for problem in found.problems} <= set(found.costs)
    for before, after in zip(score.notes, found.score.notes, strict=True):
        assert (after.finger is not None) == _takes_finger(after)
        assert _bare(after) == _bare(before)
        assert all(grace.finger is not None for grace in after.techniques.graces)
        for was, grace in zip(before.techniques.graces, after.techniques.graces, strict=True):
            assert was.finger in {None, grace.finger} or not grace.place.fret
        assert after.stroke is None or after.picking_finger is None or before.picking_finger is not None


def _bare(note: Note) -> Note:
    """A note without its fingers and its stroke."""
    graces = tuple(replace(grace, finger=None) for grace in note.techniques.graces)
    techniques = replace(note.techniques, graces=graces)
    return replace(note, finger=None, stroke=None, picking_finger=None, techniques=techniques)


def _takes_finger(note: Note) -> bool:
    return note.attack is not Attack.TAP and not note.techniques.dead
