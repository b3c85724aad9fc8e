"""Techniques in words: every one is said, in a teacher's words."""

from dataclasses import fields, replace
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fretwright.engrave.walkthrough import walk_through
from fretwright.engrave.walkthrough_techniques import bend_words
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Attack, Note
from fretwright.score.score import Score
from fretwright.score.techniques import (
    PLAIN,
    Bend,
    BendPoint,
    Grace,
    Harmonic,
    HarmonicKind,
    PickingFinger,
    SlideEnd,
    Stroke,
    Techniques,
    Trill,
    Vibrato,
    bend_and_release,
    bend_up,
    pre_bend,
    pre_bend_and_release,
)
from fretwright.score.values import SIXTEENTH, Value
from scores import line
from strategies import technique_scores

NECK = Neck()
TWO = Fraction(2)


def told(techniques: Techniques, attack: Attack = Attack.PLUCK, **fields_of_note: object) -> str:
    """What is said of the second of three notes: string 3, fret 7, third finger."""
    score = line("3/5=1 3/7=3 3/5=1")
    changed = replace(score.notes[1], techniques=techniques, attack=attack, **fields_of_note)  # type: ignore[arg-type]  # fields by name
    text = walk_through(score.with_notes((score.notes[0], changed, score.notes[2]))).sentences[-1].text
    return text.removeprefix("Third string, fret five, first finger; ").partition("; fret five")[0]


def grace(string: int, fret: int, *, slurred: bool = True) -> Grace:
    place = Place(string, fret)
    return Grace(place, NECK.pitch_at(place), slurred)


TRILL = Trill(9, NECK.pitch_at(Place(3, 9)), SIXTEENTH)
HERE = "fret seven, third finger"


@pytest.mark.parametrize(
    ("techniques", "words"),
    [
        (Techniques(bend=bend_up(TWO)), f"{HERE}, bent up a whole tone"),
        (Techniques(vibrato=Vibrato()), f"{HERE}, with vibrato"),
        (Techniques(vibrato=Vibrato(4.0, 120.0)),
         f"{HERE}, with wide vibrato of 4 swings a second and 120 cents"),
        (Techniques(trill=TRILL), f"{HERE}, trilled with fret nine in sixteenth notes"),
        (Techniques(tremolo=Value(Fraction(1, 32))),
         f"{HERE}, plucked again and again in thirty-second notes"),
        (Techniques(slide_in=SlideEnd.BELOW), f"slide in from below, {HERE}"),
        (Techniques(slide_out=SlideEnd.ABOVE), f"{HERE}, then slid away upwards"),
        (Techniques(shift_slide=True), "slide to fret seven with the third finger and pluck it"),
        (Techniques(rake=Stroke.UP), f"rake the muted strings with an up stroke, {HERE}"),
        (Techniques(palm_mute=True, accent=True), f"{HERE}, palm-muted, accented"),
        (Techniques(ghost=True), f"{HERE}, softly"),
        (Techniques(dead=True), "dead note over fret seven"),
        (Techniques(harmonic=Harmonic(HarmonicKind.ARTIFICIAL, 19, 7)),
         f"{HERE}, an artificial harmonic, touched by the picking hand over fret nineteen"),
        (Techniques(graces=(grace(2, 5, slurred=False),)),
         f"from a small note at the second string, fret five, and pluck again, {HERE}"),
    ],
)  # fmt: skip
def test_each_technique_has_its_words(techniques: Techniques, words: str) -> None:
    assert told(techniques) == words


def test_a_small_note_is_slurred_into_its_note() -> None:
    asked = Techniques(graces=(grace(3, 5),))
    assert told(asked, Attack.HAMMER_ON) == (
        "from a small note at fret five, hammer on to fret seven with the third finger"
    )


def test_the_picking_hand_is_told_note_by_note_where_it_follows_no_rule() -> None:
    assert told(PLAIN, picking_finger=PickingFinger.MIDDLE) == f"{HERE}, plucked by the middle finger"


@pytest.mark.parametrize(
    ("bend", "words"),
    [
        (bend_and_release(TWO), "bent up a whole tone and let down again"),
        (pre_bend(Fraction(1)), "bent up a half tone before it sounds"),
        (pre_bend_and_release(Fraction(3)), "bent up 1.5 whole tones before it sounds, then let down"),
        (bend_up(Fraction(1, 2)), "bent up a quarter tone"),
        (bend_up(Fraction(4)), "bent up two whole tones"),
        (Bend((BendPoint(Fraction(0), Fraction(0)), BendPoint(Fraction(1, 2), TWO),
               BendPoint(Fraction(1), Fraction(1)))),
         "bent, then to a whole tone by half of the note, then to a half tone by its end"),
    ],
)  # fmt: skip
def test_bends_are_told_by_how_far_they_go(bend: Bend, words: str) -> None:
    assert bend_words(bend) == words


def test_what_all_notes_share_is_said_once() -> None:
    score = line("3/5=1 3/7=3 3/5=1")
    muted = [replace(note, techniques=Techniques(palm_mute=True)) for note in score.notes]
    said = walk_through(score.with_notes(tuple(muted))).text
    assert said.count("mute") == 1
    assert "The heel of the picking hand mutes all notes." in said


def test_thumb_and_fingers_on_their_own_strings_are_said_once() -> None:
    score = line("5/3=3 3/0 2/1=1 1/0")
    thumb, index, middle, ring = PickingFinger
    pairs = zip(score.notes, (thumb, index, middle, ring), strict=True)
    said = walk_through(score.with_notes(tuple(replace(n, picking_finger=f) for n, f in pairs))).text
    assert "The thumb plucks the fourth string and those below it" in said
    assert "plucked by" not in said


def test_two_voices_on_strings_of_their_own_are_said_once() -> None:
    score = line("5/3=3+2/1=1 2/3=4")
    notes = tuple(replace(note, voice=2 if note.string == 5 else 1) for note in score.notes)
    assert "Two voices: the lower one is played from the fifth string down." in (
        walk_through(score.with_notes(notes)).text
    )


@given(technique_scores(), st.data())
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_nothing_that_is_asked_goes_unsaid(score: Score, data: st.DataObject) -> None:
    """Whatever is taken off a note, the words change."""
    note = data.draw(st.sampled_from(score.notes))
    bare = [each for each in _bared(note) if each != note]
    whole = walk_through(score).text
    for each in bare:
        without = score.with_notes(tuple(each if other.id == note.id else other for other in score.notes))
        assert walk_through(without).text != whole


def _bared(note: Note) -> list[Note]:
    """The note without one of the things that are asked of it, for each of them."""
    techniques = note.techniques
    found = [
        replace(note, techniques=replace(techniques, **{field.name: getattr(PLAIN, field.name)}))
        for field in fields(Techniques)
        # a note that is only touched has no more to say than that
        if not (field.name == "shift_slide" and techniques.dead)
    ]
    return [*found, replace(note, picking_finger=None), replace(note, voice=1)]
