"""The search against a brute-force one: every grip of every event, all rows of them, priced one by one."""

import random
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.fingering.cost import Step
from fretwright.fingering.events import Event, moments
from fretwright.fingering.finger import finger
from fretwright.fingering.grips import Choices, Grip
from fretwright.fingering.hand import LARGE, MEDIUM, SMALL, Hand
from fretwright.fingering.places import HEIGHT_UM_PER_FRET, PitchedNote, choose_places
from fretwright.fingering.price import step_um
from fretwright.fingering.ruler import NO_WAY, Ruler, ruler_for
from fretwright.fingering.search import all_choices, cheapest
from fretwright.fingering.tables import Tables
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.score import Score
from scores import line

HANDS = (SMALL, MEDIUM, LARGE)


def brute_force_um(ruler: Ruler, score: Score, position: int) -> int:
    """The least cost over all rows of grips; with no finger down the hand may be anywhere."""
    anywhere = tuple(Grip(at) for at in range(ruler.last_fret + 1))
    found = moments(score.notes, score.neck)
    row = [(Event(()), (Grip(position),))] + [
        (choices.event, choices.grips if choices.event.needs_fingers else anywhere)
        for choices in all_choices(ruler, found, position)
    ]
    priced = [
        {
            (left, right): step_um(ruler, Step(grips_before[left], event_before, grips[right], event))
            for left in range(len(grips_before))
            for right in range(len(grips))
        }
        for (event_before, grips_before), (event, grips) in pairwise(row)
    ]
    rows = product(*(range(len(grips)) for _, grips in row))
    return min(sum(costs[step] for costs, step in zip(priced, pairwise(each), strict=True)) for each in rows)


@st.composite
def short_lines(draw: st.DrawFn) -> str:
    """Three or four notes with slurs, open strings, shifts, rests and fixed fingers, legal or not."""
    words: list[str] = []
    string, fret = draw(st.integers(1, 6)), draw(st.integers(0, 15))
    for _ in range(draw(st.integers(2, 4))):
        attack = ""
        kind = draw(st.sampled_from(["note", "note", "note", "slur", "rest", "tap"]))
        if kind == "rest":
            words.append("r")
            continue
        if kind == "slur" and any(word.startswith(f"{string}/") for word in words):
            attack = draw(st.sampled_from("hps"))
        else:
            string = draw(st.integers(1, 6))
            attack = "t" if kind == "tap" else ""
        fret = max(0, min(20, fret + draw(st.integers(-7, 7))))
        if draw(st.integers(0, 5)) == 0:
            fret = 0
        fixed = draw(st.sampled_from(["", "", "", "", "=1", "=2", "=3", "=4", "=5", "=0"]))
        words.append(f"{string}/{fret}{attack}{fixed}")
    return " ".join(words)


@given(short_lines(), st.sampled_from(HANDS), st.sampled_from([None, 1, 5, 9]))
@settings(max_examples=60)
def test_single_lines_cost_exactly_what_brute_force_finds(
    text: str, hand: Hand, position: int | None
) -> None:
    score = line(text, position=position)
    if not score.notes:
        return
    found = finger(score, hand)
    start = position or (1 if _is_open_position(score) else 0)
    assert found.total * 1000 == pytest.approx(
        brute_force_um(ruler_for(score.neck, hand), score, start), abs=1
    )


def _is_open_position(score: Score) -> bool:
    frets = {note.fret for note in score.notes}
    return 0 in frets and max(frets) <= 4


def random_chords(rng: random.Random, length: int) -> str:
    """Events of one or two notes, some fretted and some open."""
    words = []
    fret = rng.randint(1, 10)
    for _ in range(length):
        strings = rng.sample(range(1, 7), rng.choice([1, 2, 2]))
        fret = max(1, min(15, fret + rng.randint(-3, 3)))
        words.append(
            "+".join(f"{s}/{rng.choice([0, fret, fret, fret + rng.randint(0, 3)])}" for s in strings)
        )
    return " ".join(words)


@pytest.mark.parametrize("seed", range(25))
def test_two_notes_at_a_time_cost_exactly_what_brute_force_finds(seed: int) -> None:
    rng = random.Random(seed)
    score = line(random_chords(rng, 3))
    hand = rng.choice(HANDS)
    found = finger(score, hand)
    expected = brute_force_um(ruler_for(score.neck, hand), score, 0)
    assert sum(round(cost.total * 1000) for cost in found.costs.values()) == expected


@given(short_lines(), st.sampled_from(HANDS))
@settings(max_examples=60)
def test_the_tables_of_single_lines_agree_with_the_price_of_each_step(text: str, hand: Hand) -> None:
    score = line(text)
    ruler = ruler_for(score.neck, hand)
    tables = Tables(ruler)
    before = Choices(Event(()), (Grip(0),))
    for choices in all_choices(ruler, moments(score.notes, score.neck), 0):
        columns = tables.columns(before, choices)
        for grip, steps, alone in zip(choices.grips, columns.steps, columns.alone, strict=True):
            for left, um in zip(before.grips, steps, strict=True):
                price = step_um(ruler, Step(left, before.event, grip, choices.event))
                assert um + alone == price or min(um, price) >= NO_WAY
        before = choices


@pytest.mark.parametrize("seed", range(12))
def test_places_cost_no_more_than_any_other_places_fingered_by_themselves(seed: int) -> None:
    rng = random.Random(seed)
    neck = Neck(frets=15)
    onset = Fraction(1, 8)
    pitches = [PitchedNote(onset * i, onset, rng.randint(45, 72)) for i in range(4)]
    chosen = choose_places(pitches, neck)
    assert [neck.midi_at(place) for place in chosen] == [pitch.midi for pitch in pitches]

    def cost_um(places: Sequence[Place]) -> int:
        score = line(" ".join(f"{place.string}/{place.fret}" for place in places), neck=neck)
        ruler = ruler_for(neck, MEDIUM)
        row = [(choices,) for choices in all_choices(ruler, moments(score.notes, neck), 0)]
        return cheapest(ruler, row, 0).cost_um + HEIGHT_UM_PER_FRET * sum(place.fret for place in places)

    everywhere = product(*(neck.places_of(pitch.midi) for pitch in pitches))
    assert cost_um(chosen) == min(cost_um(places) for places in everywhere)
