"""What the walk-through says, word for word. The wording is common practice of lessons, no source."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from fretwright.engrave.walkthrough import walk_through
from fretwright.engrave.walkthrough_words import listed, number, ordinal, value_words, values_words
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.shapes import shape_at
from fretwright.fretboard.tuning import Tuning
from fretwright.score.assemble import BarOfEvents, Event, Head, Heading, assemble, into_bars
from fretwright.score.meter import Meter
from fretwright.score.note import Attack, Finger
from fretwright.score.score import Label, LabelKind, Score
from fretwright.score.swing import SHUFFLE
from fretwright.score.techniques import Stroke
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH, HALF, QUARTER, SIXTEENTH, TRIPLET, WHOLE, Tuplet, Value
from fretwright.theory.key import Key
from fretwright.theory.scale import Scale

SCALE = Scale.parse("B minor pentatonic")
NECK = Neck()
HEADING = Heading(
    "x", "Up and back", NECK, Key.of_scale(SCALE), TempoMap.constant(60), scale=SCALE, position=7
)


def head(string: int, fret: int, finger: int | None = None, attack: Attack = Attack.PLUCK) -> Head:
    place = Place(string, fret)
    return Head(place, NECK.pitch_at(place, SCALE), attack, None if finger is None else Finger(finger))


def note(
    value: Value, string: int, fret: int, finger: int | None = None, attack: Attack = Attack.PLUCK
) -> Event:
    return Event(value, (head(string, fret, finger, attack),))


def shape_up(value: Value = EIGHTH, attacks: Sequence[Attack] = (Attack.PLUCK, Attack.PLUCK)) -> list[Event]:
    notes = shape_at(SCALE, NECK, 7).notes
    return [
        note(value, n.place.string, n.place.fret, n.finger, attacks[index % len(attacks)])
        for index, n in enumerate(notes)
    ]


def score(events: Sequence[Event], heading: Heading = HEADING, pickup: Fraction = Fraction(0)) -> Score:
    return assemble(heading, into_bars(events, pickup=pickup))


def told(score: Score) -> list[str]:
    """The sentences that tell notes, rests and repeats; the introduction has its own tests."""
    sentences = [sentence.text for sentence in walk_through(score).sentences]
    first = next(
        i for i, text in enumerate(sentences) if "string" in text or text.startswith(("Bar", "Pickup"))
    )
    return sentences[first:]


def test_a_shape_up_and_back_is_told_as_a_teacher_tells_it() -> None:
    up = shape_up()
    walk = walk_through(score(up + up[-2::-1]))
    assert walk.title == "Up and back"
    assert [sentence.text for sentence in walk.sentences] == [
        "B minor pentatonic, in position seven.",
        "Four four time, at 60 beats a minute, eighth notes throughout.",
        "Sixth string, fret seven, first finger; fret ten, fourth finger.",
        "Fifth string, fret seven, first finger; fret nine, third finger.",
        "The same on the fourth and third strings.",
        "Second string, fret seven, first finger; fret ten, fourth finger.",
        "The same on the first string.",
        (
            "Then back down the same way, eleven notes, without playing the top note again, "
            "to the sixth string, fret seven."
        ),
        "Rest for an eighth note.",
    ]
    assert walk.text.startswith("B minor pentatonic, in position seven. Four four time,")


def test_the_summary_is_one_sentence_fit_for_a_picture() -> None:
    walk = walk_through(score(shape_up(attacks=(Attack.PLUCK, Attack.HAMMER_ON))))
    assert walk.summary == (
        "B minor pentatonic, in position seven: twelve eighth notes in two bars of four four time, "
        "sixth to first string, frets seven to ten, with hammer-ons."
    )


def test_the_turn_played_twice_and_a_longer_last_note_are_said() -> None:
    up = shape_up()
    back = [*up[::-1][:-1], replace(up[0], value=QUARTER)]
    assert told(score(up + back))[5] == (
        "Then back down the same way, twelve notes, playing the top note again, to the sixth string, "
        "fret seven, the last for an eighth note tied to an eighth note."
    )


def test_a_way_back_that_is_not_exact_is_told_in_full() -> None:
    up = shape_up()
    back = up[-2::-1]
    back[3] = note(EIGHTH, 3, 8, 2)
    assert not any("same way" in text for text in told(score(up + back)))


def test_slurs_are_never_folded_backwards() -> None:
    up = shape_up(attacks=(Attack.PLUCK, Attack.HAMMER_ON))
    down = [
        note(EIGHTH, h.place.string, h.place.fret, h.finger, (Attack.PLUCK, Attack.PULL_OFF)[index % 2])
        for index, h in enumerate(event.heads[0] for event in up[::-1])
    ]
    sentences = told(score(up + down))
    assert (
        sentences[0]
        == "Sixth string, fret seven, first finger; hammer on to fret ten with the fourth finger."
    )
    assert "Third string, fret nine, third finger; pull off to fret seven with the first finger." in sentences
    assert not any("same way" in text for text in sentences)


@pytest.mark.parametrize(
    ("attack", "fret", "words"),
    [
        (Attack.HAMMER_ON, 7, "hammer on to fret seven with the third finger"),
        (Attack.SLIDE, 7, "slide up to fret seven with the third finger"),
        (Attack.SLIDE, 3, "slide down to fret three with the third finger"),
        (Attack.PULL_OFF, 0, "pull off to the open string"),
        (Attack.TAP, 12, "tap fret twelve with the third finger"),
    ],
)
def test_every_attack_has_its_own_words(attack: Attack, fret: int, words: str) -> None:
    events = [note(HALF, 3, 5, 1), note(HALF, 3, fret, 3 if fret else 0, attack)]
    assert words in told(score(events))[0]


def test_bars_that_come_again_are_named() -> None:
    a = [note(QUARTER, 3, 7, 1), note(EIGHTH, 3, 9, 3), note(EIGHTH, 2, 7, 1), note(HALF, 2, 10, 4)]
    b = [note(QUARTER, 4, 7, 1), note(QUARTER, 4, 9, 3), Event(HALF)]
    sentences = told(score(a + b + a + b + b + b))
    assert sentences == [
        "Bar one: third string, fret seven, first finger; fret nine, third finger, for an eighth note.",
        (
            "Second string, fret seven, first finger, for an eighth note; "
            "fret ten, fourth finger, for a half note."
        ),
        "Bar two: fourth string, fret seven, first finger; fret nine, third finger; rest for a half note.",
        "Bars three and four: the same as bars one and two.",
        "Bars five and six: the same as bar two.",
    ]


def test_a_bar_moved_along_the_neck_is_told_by_its_distance() -> None:
    bars = [note(QUARTER, 6, fret + step, step + 1) for fret in (5, 6, 4) for step in range(4)]
    sentences = told(score(bars))
    assert sentences[1:] == [
        "Bar two: the same as bar one, one fret higher.",
        "Bar three: the same as bar two, two frets lower.",
    ]


def test_a_change_of_note_value_is_said_where_it_happens() -> None:
    events = [note(EIGHTH, 3, 7, 1), *[note(SIXTEENTH, 3, 9, 3)] * 6, *[note(EIGHTH, 3, 7, 1)] * 8]
    walk = walk_through(score(events))
    assert "eighth notes unless another length is named" in walk.text
    assert told(score(events))[0] == (
        "Bar one: third string, fret seven, first finger; now in sixteenth notes, "
        "fret nine, third finger, six times; now in eighth notes, fret seven, first finger, four times."
    )


def test_a_shift_of_the_hand_is_announced() -> None:
    events = [note(QUARTER, 6, 5, 1), note(QUARTER, 6, 7, 3), note(QUARTER, 6, 9, 1), note(QUARTER, 6, 5, 1)]
    assert told(score(events, replace(HEADING, position=5)))[0] == (
        "Sixth string, fret five, first finger; fret seven, third finger; shift up to position nine, "
        "fret nine, first finger; shift down to position five, fret five, first finger."
    )


def test_a_stretch_of_one_fret_is_no_shift() -> None:
    events = [note(QUARTER, 6, fret, finger) for fret, finger in ((5, 1), (7, 2), (9, 4), (4, 1), (8, 4))]
    assert "shift" not in walk_through(score(events, replace(HEADING, position=5))).text


def test_repeats_endings_and_metres_are_said() -> None:
    bar = (note(HALF, 3, 7, 1), note(HALF, 3, 9, 3))
    bars = [
        BarOfEvents(bar),
        BarOfEvents((note(WHOLE, 2, 7, 1),), opens_repeat=True),
        BarOfEvents((note(WHOLE, 2, 8, 2),), closes_repeat=2, endings=(1,)),
        BarOfEvents((note(WHOLE, 2, 10, 4),), endings=(2,)),
        BarOfEvents((note(HALF, 3, 7, 1), note(QUARTER, 3, 9, 3)), meter=Meter(3, 4)),
    ]
    sentences = told(assemble(HEADING, bars))
    assert sentences[1:] == [
        "Bar two, where a repeat begins: second string, fret seven, first finger, for a whole note.",
        "Bar three, first ending: second string, fret eight, second finger, for a whole note.",
        "Then back to bar two: all of this is played twice.",
        "Bar four, second ending: second string, fret ten, fourth finger, for a whole note.",
        (
            "Bar five, now three four time: third string, fret seven, first finger; "
            "fret nine, third finger, for a quarter note."
        ),
    ]


def test_a_line_that_is_repeated_as_a_whole_goes_back_to_the_beginning() -> None:
    (bar,) = into_bars([note(HALF, 3, 7, 1), note(HALF, 3, 9, 3)])
    assert told(assemble(HEADING, [replace(bar, closes_repeat=3)]))[-1] == (
        "Then back to the beginning: all of this is played three times."
    )


def test_notes_that_sound_together_or_ring_on_are_said_so() -> None:
    chord = Event(HALF, (head(6, 3, 2), head(5, 2, 1), head(1, 0)))
    held = replace(chord.heads[0], tied=True)
    heading = replace(HEADING, position=2)
    sentences = told(score([chord, Event(HALF, (held, head(1, 3, 2)))], heading))
    assert sentences == [
        (
            "Bar one: together sixth string, fret three, second finger, "
            "sounding for a half note tied to a half note, and fifth string, fret two, first finger, "
            "and first string, open."
        ),
        "First string, fret three, second finger.",
    ]


def test_chord_names_and_words_are_said_where_they_stand() -> None:
    labels = (
        Label(Fraction(0), "Bm7", LabelKind.CHORD),
        Label(Fraction(1, 2), "let ring", LabelKind.TEXT),
    )
    events = [note(HALF, 3, 7, 1), note(HALF, 3, 9, 3)]
    assert told(score(events, replace(HEADING, labels=labels)))[0] == (
        "Bar one: over the chord “Bm7”, third string, fret seven, first finger; "
        "with the words “let ring” above, fret nine, third finger."
    )


def test_the_introduction_says_what_holds_throughout() -> None:
    neck = Neck(tuning=Tuning.parse("drop D"), capo=2)
    heading = replace(HEADING, neck=neck, scale=None, position=None, swing=SHUFFLE)
    events = [note(EIGHTH, 3, 7, 1)] * 2 + [note(EIGHTH, 3, 9, 3)] * 8
    text = walk_through(score(events, heading, pickup=Fraction(1, 4))).text
    assert text.startswith(
        "Tune the strings, from the lowest up, to D, A, D, G, B, E. "
        "Capo at fret two; frets are counted from the capo. "
        "In position seven. "
        "Four four time, at 60 beats a minute, with a pickup that lasts a quarter note, "
        "eighth notes throughout, eighth notes swung in pairs, long and short as 2 to 1."
    )


@pytest.mark.parametrize(
    ("strokes", "words"),
    [
        ((Stroke.DOWN, Stroke.UP), "Alternate strokes, starting with a down stroke."),
        ((Stroke.UP, Stroke.DOWN), "Alternate strokes, starting with an up stroke."),
        ((Stroke.DOWN, Stroke.DOWN), "Down strokes throughout."),
    ],
)
def test_strokes_that_follow_a_rule_are_said_once(strokes: tuple[Stroke, Stroke], words: str) -> None:
    events = [
        replace(event, heads=(replace(event.heads[0], stroke=strokes[index % 2]),))
        for index, event in enumerate(shape_up())
    ]
    sentences = [sentence.text for sentence in walk_through(score(events)).sentences]
    assert sentences[2] == words
    assert sum("stroke" in text for text in sentences) == 1


def test_strokes_without_a_rule_are_said_note_by_note() -> None:
    strokes = (Stroke.DOWN, Stroke.DOWN, Stroke.UP, Stroke.DOWN)
    events = [Event(QUARTER, (replace(head(3, 7, 1), stroke=stroke),)) for stroke in strokes]
    text = walk_through(score(events)).text
    assert "fret seven, first finger, down stroke, twice; fret seven, first finger, up stroke; fret" in text


def test_a_note_played_again_and_again_is_counted() -> None:
    assert told(score([note(QUARTER, 2, 7, 1)] * 8)) == [
        "Second string, fret seven, first finger, eight times."
    ]


def test_a_very_long_score_is_told_as_quickly_as_it_is_dull() -> None:
    (sentence,) = told(score([note(QUARTER, 2, 7, 1)] * 4000))
    assert sentence == "Second string, fret seven, first finger, 4000 times."
    up = shape_up()
    assert len(told(score((up + up[::-1]) * 100))) < 40


def test_a_figure_that_comes_again_on_its_string_is_counted() -> None:
    pair = [note(EIGHTH, 3, 7, 1), note(EIGHTH, 3, 9, 3, Attack.HAMMER_ON)]
    triple = [*pair, note(EIGHTH, 3, 7, 1, Attack.PULL_OFF)]
    (sentence,) = told(score([*pair * 2, note(HALF, 3, 7, 1)]))
    assert sentence == (
        "Third string, fret seven, first finger; hammer on to fret nine with the third finger; "
        "those two again; fret seven, first finger, for a half note."
    )
    sentences = told(score([*triple * 4, note(HALF, 3, 7, 1)]))
    assert "pull off to fret seven with the first finger; those three, three times more" in sentences[0]


def test_to_and_fro_between_two_notes_is_no_way_back() -> None:
    events = [note(EIGHTH, 2, fret, finger) for fret, finger in ((7, 1), (10, 4)) * 3]
    assert not any("same way" in text for text in told(score(events[:5] + events[:5])))


def test_long_runs_on_one_string_are_cut_into_captions() -> None:
    frets = (5, 6, 7, 5, 7, 6, 8, 5, 8, 6, 8, 7, 5)
    events = [note(EIGHTH, 1, fret, fret - 4) for fret in frets]
    walk = walk_through(score(events))
    assert max(len(sentence.note_ids) for sentence in walk.sentences) == 8


def test_a_score_without_notes_has_words_too() -> None:
    walk = walk_through(score([Event(WHOLE)]))
    assert walk.summary == "Nothing to play."
    assert walk.sentences[-1].text == "Bar one: rest for a whole note."


@pytest.mark.parametrize(
    ("values", "one", "several"),
    [
        ((EIGHTH,), "an eighth note", "eighth notes"),
        ((Value(Fraction(1, 4), 1),), "a dotted quarter note", "dotted quarter notes"),
        ((Value(Fraction(1, 8), 0, TRIPLET),), "a triplet eighth note", "triplet eighth notes"),
        (
            (Value(Fraction(1, 16), 0, Tuplet(5, 4)),),
            "a sixteenth note at five in the time of four",
            "sixteenth notes at five in the time of four",
        ),
        ((HALF, EIGHTH), "a half note tied to an eighth note", "half notes tied to eighth notes"),
    ],
)
def test_note_values_in_words(values: tuple[Value, ...], one: str, several: str) -> None:
    assert value_words(values) == one
    assert values_words(values) == several


def test_numbers_are_words_up_to_the_last_fret() -> None:
    assert [number(n) for n in (0, 1, 12, 24, 25)] == ["zero", "one", "twelve", "twenty-four", "25"]
    assert [ordinal(n) for n in (1, 9, 24, 25)] == ["first", "ninth", "twenty-fourth", "25th"]
    assert [listed(row) for row in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "",
        "a",
        "a and b",
        "a, b and c",
    ]
