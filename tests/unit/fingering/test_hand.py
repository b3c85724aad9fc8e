"""Hands, the neck measured for them, and the grips they can take."""

from dataclasses import replace
from itertools import combinations, product
from time import process_time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.base.errors import FretboardError
from fretwright.fingering.events import Event, NewNote
from fretwright.fingering.finger import finger
from fretwright.fingering.grips import choices_for, fault_weight, single_grips
from fretwright.fingering.hand import HANDS, LARGE, MEDIUM, REFERENCE_SPAN_MM, SMALL, Hand
from fretwright.fingering.ruler import Ruler, ruler_for
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS
from scores import line

PAIRS = [(1, 2), (2, 3), (3, 4), (1, 3), (2, 4), (1, 4)]
HAND_SIZES = (SMALL, MEDIUM, LARGE)


@pytest.mark.parametrize("hand", HAND_SIZES, ids=lambda hand: hand.name)
def test_a_hand_spreads_further_the_further_its_fingers_are_apart(hand: Hand) -> None:
    for low, high in PAIRS:
        spread = hand.spread(low, high)
        assert spread == hand.spread(high, low)
        assert 0 < spread.comfortable_mm < spread.largest_mm
    for inner, outer in [((1, 2), (1, 3)), ((1, 3), (1, 4)), ((2, 3), (2, 4)), ((2, 4), (1, 4))]:
        assert hand.spread(*inner).largest_mm < hand.spread(*outer).largest_mm
        assert hand.spread(*inner).comfortable_mm < hand.spread(*outer).comfortable_mm


def test_sizes_scale_with_the_span() -> None:
    assert SMALL.span_mm < MEDIUM.span_mm == REFERENCE_SPAN_MM < LARGE.span_mm
    for pair in PAIRS:
        ratio = LARGE.spread(*pair).largest_mm / SMALL.spread(*pair).largest_mm
        assert ratio == pytest.approx(LARGE.span_mm / SMALL.span_mm)
    assert HANDS == {"small": SMALL, "medium": MEDIUM, "large": LARGE}


@pytest.mark.parametrize("span_mm", [0.0, 100.0, 400.0])
def test_a_span_no_hand_has_is_refused(span_mm: float) -> None:
    with pytest.raises(FretboardError, match="mm is possible"):
        Hand.of_span(span_mm)


def test_the_free_hand_of_the_anatomical_study_lies_between_comfort_and_reach() -> None:
    """Anatomy & Cell Biology 2024, 51 hands: abduction and finger lengths put index and little fingertips
    20 + 63.9 sin 17.2 + 20 + 20 + 53.3 sin 46.4 degrees = 117.5 mm apart (knuckles 20 mm, from memory)."""
    spread = MEDIUM.spread(1, 4)
    assert spread.comfortable_mm < 117.5 < spread.largest_mm


@pytest.mark.parametrize(
    ("low", "high", "comfortable"), [(5, 8, True), (7, 10, True), (12, 15, True), (1, 4, False)]
)
def test_one_finger_per_fret_is_comfortable_from_the_fifth_fret_up(
    low: int, high: int, comfortable: bool
) -> None:
    """Frets 5 to 8 span 77.2 mm, 7 to 10 68.8, 12 to 15 51.5, 1 to 4 97.3 (648 mm, equal temperament)."""
    ruler = ruler_for(Neck(), MEDIUM)
    assert (ruler.stretch_um(4, high, 1, low) == 0) == comfortable


def test_distances_are_those_of_equal_temperament() -> None:
    """648 mm: frets 1 to 4 97.3 mm, 5 to 8 77.2 (computed from L (1 - 2^(-n/12)))."""
    ruler = ruler_for(Neck(), MEDIUM)
    assert ruler.span_um(1, 4) / 1000 == pytest.approx(97.3, abs=0.06)
    assert ruler.span_um(5, 8) / 1000 == pytest.approx(77.2, abs=0.06)


def test_a_capo_makes_frets_narrower() -> None:
    bare, capo = ruler_for(Neck(), MEDIUM), ruler_for(Neck(capo=5), MEDIUM)
    assert capo.last_fret == 17
    assert capo.span_um(1, 4) == pytest.approx(bare.span_um(6, 9), abs=2)


@given(st.integers(1, 22), st.sampled_from([1, 2, 3, 4]), st.sampled_from(HAND_SIZES))
def test_single_grips_are_all_that_the_rule_allows(fret: int, finger: int, hand: Hand) -> None:
    """At most one fret nearer and two further than one finger per fret, and within the largest spread."""
    ruler = ruler_for(Neck(), hand)
    found = {
        grip.position
        for grip in single_grips(ruler, Place(3, fret), None)
        if grip.pressed[0].finger == finger
    }
    expected = {
        position
        for position in range(1, 23)
        if -1 <= fret - (position + finger - 1) <= 2
        and position <= fret
        and (finger > 1 or position == fret)
        and (finger == 1 or ruler.reaches(finger, fret, 1, position))
    }
    assert found == expected


def weight(ruler: Ruler, places: list[Place], fingers: tuple[int, ...], opens: set[int]) -> int:
    """What is wrong with fingers on places, pair by pair, written out again from the description of a grip.

    A pair that is only too far apart weighs 1, one whose fingers are wrong 10; 0 is a sound grip.
    """
    sounding = {place.string: place.fret for place in places} | dict.fromkeys(opens, 0)
    found = 0
    for (a, f), (b, g) in combinations(sorted(zip(places, fingers, strict=True), key=lambda at: at[1]), 2):
        if f == g:
            low, high = sorted((a.string, b.string))
            too_wide = f > 1 and high - low > 2
            in_the_way = any(low < s < high and fret < a.fret for s, fret in sounding.items())
            wrong = a.fret != b.fret or too_wide or in_the_way
        else:
            wrong = a.fret > b.fret or (a.fret == b.fret and a.string < b.string)
        too_far = f != g and ruler.span_um(a.fret, b.fret) > ruler.largest_um[f, g]
        found += 10 if wrong else int(too_far)
    return found


@given(
    st.dictionaries(st.integers(1, 6), st.integers(0, 9), min_size=2, max_size=5).filter(
        lambda chord: sum(fret > 0 for fret in chord.values()) > 1
    ),
    st.sampled_from(HAND_SIZES),
)
@settings(max_examples=150)
def test_chord_grips_are_all_assignments_with_the_least_wrong_and_no_other(
    chord: dict[int, int], hand: Hand
) -> None:
    ruler = ruler_for(Neck(), hand)
    notes = tuple(
        NewNote(Place(string, fret), takes_finger=fret > 0)
        for string, fret in sorted(chord.items(), reverse=True)
    )
    places = [note.place for note in notes if note.takes_finger]
    opens = {note.place.string for note in notes if not note.takes_finger}
    choices = choices_for(ruler, Event(notes), [1])
    weighed = {
        fingers: weight(ruler, places, fingers, opens)
        for fingers in product((1, 2, 3, 4), repeat=len(places))
    }
    least = min(weighed.values())
    found = {tuple(one.finger for one in grip.pressed) for grip in choices.grips}
    assert found
    assert {weighed[fingers] for fingers in found} == {least}
    assert {fault_weight(grip.faults) for grip in choices.grips} == {least}
    if not least:  # of unsound ones only some are kept
        assert found == {fingers for fingers, wrong in weighed.items() if not wrong}


def test_a_ring_finger_barre_covers_three_strings_and_not_four() -> None:
    ruler = ruler_for(Neck(), MEDIUM)

    def fingers(strings: list[int]) -> set[tuple[int, ...]]:
        notes = tuple(NewNote(Place(string, 5)) for string in strings)
        return {
            tuple(one.finger for one in grip.pressed) for grip in choices_for(ruler, Event(notes), [1]).grips
        }

    assert (3, 3, 3) in fingers([4, 3, 2])
    assert (3, 3, 3, 3) not in fingers([5, 4, 3, 2])
    assert (1, 1, 1, 1) in fingers([5, 4, 3, 2])


def test_the_teacher_may_fix_an_unusual_order_of_fingers_at_one_fret() -> None:
    ruler = ruler_for(Neck(), MEDIUM)
    notes = tuple(NewNote(Place(string, 2), finger=f) for string, f in [(4, 2), (3, 1), (2, 3)])
    choices = choices_for(ruler, Event(notes), [1])
    assert not choices.grips[0].faults
    free = choices_for(ruler, Event(tuple(replace(note, finger=None) for note in notes)), [1])
    assert (2, 1, 3) not in {tuple(one.finger for one in grip.pressed) for grip in free.grips}


@pytest.mark.parametrize("frets", [range(23, 5, -2), [5] * 9, [24, 1, 20, 3, 17, 9, 2, 12, 6]])
def test_nine_strings_at_once_take_no_time(frets: list[int]) -> None:
    neck = Neck(TUNINGS["9-string"], frets=24)
    chord = "+".join(f"{string}/{fret}" for string, fret in enumerate(frets, start=1))
    started = process_time()
    found = finger(line(f"{chord} {chord}", neck=neck))
    assert process_time() - started < 5.0
    assert bool(found.problems) == (len(set(frets)) > 1)


def test_with_no_finger_down_the_hand_stays_where_it_was() -> None:
    ruler = ruler_for(Neck(), MEDIUM)
    event = Event((NewNote(Place(3, 0), takes_finger=False),))
    assert [grip.position for grip in choices_for(ruler, event, [2, 5]).grips] == [2, 5]
