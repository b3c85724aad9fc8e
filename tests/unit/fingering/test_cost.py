"""The cost, term by term, against distances worked out by hand, and in words."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from fretwright.base.errors import UsageError
from fretwright.fingering.cost import NoteCost, Terms, note_cost
from fretwright.fingering.explain import explain
from fretwright.fingering.finger import finger
from fretwright.fingering.grips import FAULT_WEIGHTS
from fretwright.fingering.hand import MEDIUM
from fretwright.fretboard.neck import Neck
from fretwright.score.values import HALF, QUARTER, WHOLE
from scores import line

# Wires of a 648 mm neck from the nut, by equal temperament (FACTS; computed): the fingertip is the same
# distance behind each.
WIRE_MM = {3: 103.099, 5: 162.549, 6: 189.793, 7: 215.512, 8: 239.786, 9: 262.699, 12: 324.000}


def costs(text: str, **options: object) -> list[NoteCost]:
    return list(finger(line(text, **options)).costs.values())  # type: ignore[arg-type]


def test_terms_add_up_to_the_total() -> None:
    cost = note_cost(Terms(stretch=1500, shift=20_250, relief=-10_125, weak_finger=2000))
    assert cost.total == pytest.approx(13.625)
    assert cost.terms == {"stretch": 1.5, "shift": 20.25, "relief": -10.125, "weak_finger": 2.0}


def test_a_shift_costs_its_length_and_a_start() -> None:
    # 6 mm to start, from fret 3 to fret 12 across a string
    cost = costs("3/3=1 2/12=1")[1]
    assert cost.shift == pytest.approx(6 + WIRE_MM[12] - WIRE_MM[3], abs=0.01)


def test_a_shift_along_one_string_breaks_the_line() -> None:
    cost = costs("3/3=1 3/12=1")[1]
    assert cost.shift == pytest.approx(6 + 15 + WIRE_MM[12] - WIRE_MM[3], abs=0.01)
    assert cost.same_finger == pytest.approx(10.0)


def test_a_slide_costs_its_length_alone() -> None:
    cost = costs("3/3=1 3/12s")[1]
    assert cost.shift == pytest.approx(WIRE_MM[12] - WIRE_MM[3], abs=0.01)
    assert cost.same_finger == 0


def test_a_stretch_is_what_goes_beyond_the_comfortable_spread() -> None:
    # first and little finger, frets 5 and 9, in one position because of the slur
    cost = costs("3/5=1 3/9h=4")[1]
    spread_mm = WIRE_MM[9] - WIRE_MM[5]
    assert cost.stretch == pytest.approx(spread_mm - MEDIUM.spread(1, 4).comfortable_mm, abs=0.01)
    # its own fret would be 8
    assert cost.displacement == pytest.approx((WIRE_MM[9] - WIRE_MM[8]) / 2, abs=0.01)


def test_between_ring_and_little_finger_a_stretch_counts_double() -> None:
    cost = costs("3/5=1 3/7h=3 3/9h=4")[2]
    beyond_mm = WIRE_MM[9] - WIRE_MM[5] - MEDIUM.spread(1, 4).comfortable_mm
    ring_mm = WIRE_MM[9] - WIRE_MM[7] - MEDIUM.spread(3, 4).comfortable_mm
    assert cost.stretch == pytest.approx(beyond_mm + 2 * ring_mm, abs=0.01)


def test_one_finger_rolls_over_to_the_neighbouring_string() -> None:
    neck = Neck(string_spacing_nut_mm=8.0, string_spacing_bridge_mm=8.0)
    assert costs("4/7=3 3/7=3", neck=neck)[1].same_finger == pytest.approx(8.0)
    assert costs("4/7=3 2/7=3", neck=neck)[1].same_finger == pytest.approx(10.0 + 16.0)
    assert costs("4/7=3 4/7=3", neck=neck)[1].same_finger == 0


def test_crossing_counts_half_the_way_across_the_strings() -> None:
    neck = Neck(string_spacing_nut_mm=8.0, string_spacing_bridge_mm=8.0)
    assert [cost.crossing for cost in costs("6/0 1/0 2/0", neck=neck)] == [0.0, 20.0, 4.0]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("3/5=1 3/6h=2", 0.0),
        ("3/6=2 3/7h=3", 1.0 + 2.0),
        ("3/7=3 3/8h=4", 3.0 + 4.0),
        ("3/8=4 3/7p=3", 3.0 + 4.0),
        ("3/8=4 3/5p=1", 3.0),
        ("3/0 3/3h=3", 1.0),
        ("3/3=4 3/0p", 0.0),
    ],
)
def test_slurs_cost_what_their_weaker_finger_has_to_do(text: str, expected: float) -> None:
    assert costs(text)[1].weak_slur == pytest.approx(expected)


def test_a_barre_costs_its_strings_and_only_when_it_is_laid() -> None:
    laid, kept = costs("2/5=1+1/5=1 2/5=1+1/5=1")[0], costs("2/5=1+1/5=1 2/5=1+1/5=1")[2]
    assert laid.barre == pytest.approx(12.0)
    assert kept.barre == 0
    assert costs("2/5=2+1/5=2")[0].barre == pytest.approx(24.0)


def test_a_finger_that_lies_down_onto_a_second_string_pays_for_the_barre() -> None:
    score = line("2/5=1 1/5=1", value=HALF)
    low, high = score.notes
    rings = score.with_notes((replace(low, values=(WHOLE,)), high))
    found = finger(rings)
    assert found.costs[high.id].barre == pytest.approx(12.0)
    assert not found.problems


def test_fingers_at_one_fret_stand_in_the_usual_order() -> None:
    assert sum(cost.order for cost in costs("4/2=1+3/2=2")) == 0
    assert sum(cost.order for cost in costs("4/2=2+3/2=1")) == pytest.approx(12.0)


def test_time_scales_what_moves_and_nothing_else() -> None:
    quick, slow = costs("3/3=1 2/12=1"), costs("3/3=1 2/12=1", value=QUARTER)
    # the square root of an eighth over a quarter
    assert slow[1].shift == pytest.approx(quick[1].shift / 2**0.5, rel=0.001)
    assert slow[1].crossing == quick[1].crossing


def test_an_explanation_names_every_term_with_its_millimetres() -> None:
    found = finger(line("3/5=1 3/9h=4"))
    said = explain(found, "b1t1-8s3")
    cost = found.costs["b1t1-8s3"]
    assert said.startswith("String 3, fret 9, fourth finger, hammer-on, hand in position 5.")
    for value in cost.terms.values():
        assert f"{value:+.1f} mm" in said
    assert f"In all {cost.total:.1f} mm." in said


def test_an_explanation_says_what_cannot_be_played() -> None:
    found = finger(line("3/5=3 3/7h=2"))
    assert found.problems[0].message in explain(found, found.problems[0].note_id)


def test_an_open_string_costs_nothing() -> None:
    assert explain(finger(line("3/0")), "b1t0s3") == (
        "String 3, open, hand in position 1. It costs the hand nothing."
    )


def test_every_term_can_be_explained() -> None:
    every = note_cost(Terms(*range(1000, 13_000, 1000)))
    assert set(every.terms) == set(NoteCost.__dataclass_fields__)
    found = finger(line("3/5"))
    patched = type(found)(found.score, {"b1t0s3": every}, found.positions, ())
    assert explain(patched, "b1t0s3").count(" mm.") == len(every.terms) + 1


def test_a_note_that_is_not_there_cannot_be_explained() -> None:
    with pytest.raises(UsageError, match="b9"):
        explain(finger(line("3/5")), "b9")


DOCS = (Path(__file__).parents[3] / "docs" / "fingering.md").read_text(encoding="utf-8")


def test_the_docs_quote_a_true_explanation() -> None:
    said = explain(finger(line("3/5=1 3/9h=4")), "b1t1-8s3")
    assert said in DOCS.replace("\n> ", " ")


@pytest.mark.parametrize("term", NoteCost.__dataclass_fields__)
def test_the_docs_name_every_term(term: str) -> None:
    assert f"| `{term}` |" in DOCS


def test_the_docs_give_the_weight_of_every_fault() -> None:
    rows = re.findall(r"^\| `([a-z-]+)` \| (\d+) \|$", DOCS, re.MULTILINE)
    assert {kind: int(weight) for kind, weight in rows} == FAULT_WEIGHTS


@pytest.mark.parametrize(("text", "weight"), [("6/1=1+5/4=2", 1), ("5/3=3+4/5=1", 10), ("3/5=3 3/7h=2", 10)])
def test_what_cannot_be_done_costs_a_hundred_kilometres_times_its_weight(text: str, weight: int) -> None:
    assert sum(cost.broken for cost in costs(text)) == weight * 100 * 1_000_000


def test_the_docs_give_the_spreads_of_the_medium_hand() -> None:
    pairs = [(1, 2), (2, 3), (3, 4), (1, 3), (2, 4), (1, 4)]
    spreads = [MEDIUM.spread(*pair) for pair in pairs]
    row = " | ".join(f"{spread.comfortable_mm:g} / {spread.largest_mm:g}" for spread in spreads)
    assert f"| {row} |" in DOCS
