"""What a fingered score promises, whatever is in it."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.fingering.cost import NoteCost
from fretwright.fingering.finger import Fingered, finger
from fretwright.fingering.grips import FaultKind
from fretwright.fingering.hand import LARGE, MEDIUM, SMALL
from fretwright.fretboard.neck import Neck
from fretwright.score.note import Attack, Finger
from fretwright.score.score import Score
from fretwright.score.techniques import Stroke
from fretwright.score.tempo import TempoMap
from fretwright.score.transpose import transpose
from fretwright.score.values import EIGHTH, HALF, QUARTER
from fretwright.theory.interval import Interval
from scores import fingers_of, line


@st.composite
def lines(draw: st.DrawFn, low: int = 0, high: int = 17) -> str:
    """Single lines with legal slurs: up by hammer-on, down by pull-off, no further than five frets."""
    words: list[str] = []
    string, fret = draw(st.integers(1, 6)), draw(st.integers(low, high))
    for _ in range(draw(st.integers(1, 12))):
        stays = bool(words) and draw(st.booleans())
        string = string if stays else draw(st.integers(1, 6))
        left, fret = fret, min(high, max(low, fret + draw(st.integers(-4, 4))))
        slurs = stays and fret != left and draw(st.booleans())
        words.append(f"{string}/{fret}{('h' if fret > left else 'p') if slurs else ''}")
    return " ".join(words)


def problems_of(found: Fingered) -> list[tuple[str, FaultKind]]:
    return [(problem.note_id, problem.kind) for problem in found.problems]


@given(lines())
def test_every_note_has_a_finger_a_cost_and_a_position(text: str) -> None:
    score = line(text)
    found = finger(score)
    ids = [note.id for note in score.notes]
    assert list(found.costs) == ids == list(found.positions)
    for note in found.score.notes:
        assert note.finger is not None
        assert (note.finger is Finger.OPEN) == (note.fret == 0)
        assert (note.stroke is None) == note.attack.is_slur
        assert 1 <= found.positions[note.id] <= score.neck.last_fret
    assert found.total == pytest.approx(sum(cost.total for cost in found.costs.values()))


@given(lines())
def test_only_fingers_and_strokes_change(text: str) -> None:
    score = line(text)
    found = finger(score).score
    bare = [(n.id, n.onset, n.values, n.place, n.pitch, n.attack, n.slur_from) for n in score.notes]
    assert [(n.id, n.onset, n.values, n.place, n.pitch, n.attack, n.slur_from) for n in found.notes] == bare
    assert (found.bars, found.rests, found.neck) == (score.bars, score.rests, score.neck)


@given(lines())
@settings(max_examples=40)
def test_the_same_score_gets_the_same_fingering(text: str) -> None:
    assert finger(line(text)) == finger(line(text))


@given(lines())
@settings(max_examples=40)
def test_a_fingering_fixed_as_found_is_found_again_at_the_same_cost(text: str) -> None:
    found = finger(line(text))
    again = finger(found.score)
    assert fingers_of(again.score) == fingers_of(found.score)
    assert again.total == pytest.approx(found.total)


@given(lines(), st.data())
def test_a_finger_that_the_teacher_fixed_is_kept_and_costs_at_least_as_much(
    text: str, data: st.DataObject
) -> None:
    words = text.split()
    index = data.draw(st.integers(0, len(words) - 1))
    fixed = data.draw(st.sampled_from([1, 2, 3, 4]))
    free = finger(line(text))
    words[index] += f"={fixed}"
    found = finger(line(" ".join(words)))
    note = found.score.notes[index]
    if note.fret == 0:
        assert (note.id, FaultKind.FINGER_ON_OPEN) in problems_of(found)
        assert note.finger is Finger.OPEN
    else:
        assert note.finger == fixed
    assert found.total >= free.total - 1e-6


@given(lines())
def test_a_legal_slur_keeps_the_hand_in_place_and_the_fingers_in_order(text: str) -> None:
    found = finger(line(text))
    at_fault = {problem.note_id for problem in found.problems}
    notes = {note.id: note for note in found.score.notes}
    for note in found.score.notes:
        if note.slur_from is None or note.id in at_fault:
            continue
        left = notes[note.slur_from]
        if 0 in (left.fret, note.fret):
            continue
        assert found.positions[left.id] == found.positions[note.id]
        assert left.finger is not None
        assert note.finger is not None
        assert (note.finger > left.finger) == (note.attack is Attack.HAMMER_ON)
        assert note.finger != left.finger


@given(lines(1, 9))
@settings(max_examples=40)
def test_an_octave_up_the_neck_nothing_costs_more(text: str) -> None:
    """Frets stand half as far apart there; only the strings stand wider, by less than a quarter."""
    low = line(text)
    high = transpose(low, Interval(7, 12))
    assert finger(high).total <= 1.25 * finger(low).total + 1e-6


@given(lines(1, 15))
@settings(max_examples=40)
def test_a_longer_scale_never_costs_less(text: str) -> None:
    short, long = (finger(line(text, neck=Neck(scale_length_mm=mm))).total for mm in (610.0, 686.0))
    assert long >= short - 0.1 * len(text.split())


@given(lines(1, 15))
@settings(max_examples=40)
def test_a_larger_hand_never_pays_more(text: str) -> None:
    score = line(text)
    small, medium, large = (finger(score, hand).total for hand in (SMALL, MEDIUM, LARGE))
    assert large <= medium + 1e-6
    assert medium <= small + 1e-6


@given(lines(), st.floats(30, 240))
@settings(max_examples=20)
def test_tempo_changes_no_finger(text: str, bpm: float) -> None:
    score = line(text)
    faster = finger(replace(score, tempo=TempoMap.constant(bpm)))
    assert fingers_of(faster.score) == fingers_of(finger(score).score)


@pytest.mark.parametrize(
    ("text", "at", "kind"),
    [
        ("3/5=3 3/7h=2", 1, FaultKind.HAMMER),
        ("3/5=1 3/7h=1", 1, FaultKind.HAMMER),
        ("3/7=1 3/5p=3", 1, FaultKind.PULL),
        ("3/5=1 3/9s=3", 1, FaultKind.SLIDE),
        ("3/1=1 3/8h", 1, FaultKind.SLUR_SHIFT),
        ("3/5=3 3/8h=4", 1, FaultKind.SLUR_SHIFT),
        ("3/0=2", 0, FaultKind.FINGER_ON_OPEN),
        ("3/4=0", 0, FaultKind.OPEN_ON_FRET),
        ("3/23", 0, FaultKind.OFF_NECK),
        ("3/4=5", 0, FaultKind.THUMB),
        ("5/3=2+4/5=2", 1, FaultKind.TWO_FRETS),
        ("5/3=3+4/5=1", 1, FaultKind.FINGERS_CROSSED),
        ("6/1=1+5/4=2", 1, FaultKind.REACH),
        ("4/2=1+3/0+2/2=1", 2, FaultKind.BARRE),
    ],
)
def test_what_cannot_be_played_is_reported_at_its_note(text: str, at: int, kind: FaultKind) -> None:
    found = finger(line(text))
    assert problems_of(found) == [(found.score.notes[at].id, kind)]
    problem = found.problems[0]
    note = found.score.notes[at]
    assert f"tring {note.string}" in problem.message
    assert problem.message.endswith(".")
    assert problem.mend.endswith(".")
    assert "{" not in problem.message


def test_a_reach_is_reported_with_its_millimetres() -> None:
    """648 mm, frets 1 and 9 by equal temperament: 648 (2^(-1/12) - 2^(-9/12)) = 226.3 mm."""
    found = finger(line("3/1=1 3/9h=4"))
    assert found.problems[0].stretch_mm == pytest.approx(226.3, abs=0.1)
    assert "226 mm" in found.problems[0].message


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("4/9+3/1", [FaultKind.REACH]),
        ("4/9=4+3/1", [FaultKind.REACH]),
        ("6/1+1/12", [FaultKind.REACH]),
        ("4/1+3/9+2/9", [FaultKind.REACH, FaultKind.REACH]),
        ("4/9=1+3/1=4", [FaultKind.FINGERS_CROSSED]),
        ("4/9=2+3/1=2", [FaultKind.TWO_FRETS]),
    ],
)
def test_fingers_do_not_cross_to_hide_that_notes_are_too_far_apart(text: str, kinds: list[FaultKind]) -> None:
    """Only fingers that the teacher wrote are said to be wrong; free ones leave the spread to be named."""
    assert [kind for _, kind in problems_of(finger(line(text), LARGE))] == kinds


def test_a_stretch_that_a_small_hand_cannot_make_is_no_problem_for_a_large_one() -> None:
    """Frets 1 and 5 stand 126.2 mm apart (648 mm)."""
    text = "6/1 6/5h"
    assert problems_of(finger(line(text), SMALL)) == [("b1t1-8s6", FaultKind.SLUR_SHIFT)]
    assert not finger(line(text), MEDIUM).problems
    assert not finger(line(text), LARGE).problems


def test_a_note_that_must_be_let_go_is_reported() -> None:
    # the bass note lasts a half note; a quarter later the same hand is needed ten frets higher
    score = line("6/1 4/12+2/12 r", values=[HALF, QUARTER, QUARTER])
    held = overlapped(score, Fraction(1, 4))
    found = finger(held)
    assert (held.notes[0].id, FaultKind.HOLD) in problems_of(found)


def overlapped(score: Score, earlier: Fraction) -> Score:
    """The score with all notes but the first that much earlier, so that they start while it sounds."""
    first, *others = score.notes
    moved = [replace(note, onset=note.onset - earlier, id=f"{note.id}x") for note in others]
    return score.with_notes((first, *moved))


def test_a_held_bass_note_keeps_its_finger_under_a_melody() -> None:
    score = line("6/3 2/3 2/5", values=[HALF, QUARTER, QUARTER])
    held = overlapped(score, Fraction(1, 2))
    found = finger(held)
    bass, low, high = found.score.notes
    assert not found.problems
    assert len(set(found.positions.values())) == 1
    assert bass.finger is not None
    assert low.finger is not None
    assert high.finger is not None
    assert bass.finger < high.finger
    assert low.finger < high.finger


def test_a_named_position_decides_where_the_hand_starts() -> None:
    assert fingers_of(finger(line("3/8 2/8", position=8)).score) == "1 1"
    assert fingers_of(finger(line("3/7 3/9 2/8", position=6)).score) == "2 4 3"
    assert fingers_of(finger(line("3/7 3/9 2/8", position=7)).score) == "1 3 2"


def test_an_open_string_makes_a_shift_cheaper() -> None:
    covered = finger(line("2/3=1 1/0 2/12=1"))
    bare = finger(line("2/3=1 1/3=1 2/12=1"))
    cost = covered.costs["b1t1-4s2"]
    assert cost.shift > 0
    assert cost.relief == pytest.approx(-cost.shift / 2, abs=0.001)
    assert bare.costs["b1t1-4s2"].relief == 0


def test_more_time_makes_a_shift_cheaper() -> None:
    quick, slow = (finger(line("2/3=1 2/12=1", value=value)).costs for value in (EIGHTH, HALF))
    assert list(slow.values())[1].shift == pytest.approx(list(quick.values())[1].shift / 2, rel=0.01)


def test_tapped_notes_take_no_finger_and_no_stroke() -> None:
    found = finger(line("2/5 2/12t 2/5p"))
    assert fingers_of(found.score) == "1 - 1" or found.score.notes[1].finger is None
    assert found.score.notes[1].stroke is None
    assert not found.problems


def test_the_thumb_is_used_only_where_the_teacher_says_so() -> None:
    found = finger(line("6/3=5+4/5+3/5"))
    assert fingers_of(found.score).split()[0] == "T"
    assert not found.problems
    assert "T" not in fingers_of(finger(line("6/3+4/5+3/5")).score)


def test_a_score_of_rests_and_one_of_open_strings_cost_the_hand_nothing() -> None:
    assert finger(line("r r r r")).costs == {}
    found = finger(line("6/0 6/0 6/0"))
    assert set(found.costs.values()) == {NoteCost()}
    assert set(found.positions.values()) == {1}


def test_strokes_come_with_the_fingers() -> None:
    strokes = [note.stroke for note in finger(line("6/5 6/8 5/5 5/7")).score.notes]
    assert strokes == [Stroke.DOWN, Stroke.UP] * 2


@given(
    st.lists(
        st.lists(
            st.tuples(st.integers(1, 6), st.integers(0, 12)), min_size=1, max_size=6, unique_by=lambda p: p[0]
        ),
        min_size=1,
        max_size=3,
    )
)
@settings(max_examples=40)
def test_no_finger_stops_two_frets_at_once_in_any_playable_chord(chords: list[list[tuple[int, int]]]) -> None:
    found = finger(line(" ".join("+".join(f"{s}/{f}" for s, f in chord) for chord in chords)))
    at_fault = {problem.note_id for problem in found.problems}
    moments: dict[Fraction, dict[int, set[int]]] = {}
    for note in found.score.notes:
        if note.id not in at_fault and note.fret:
            assert note.finger is not None
            moments.setdefault(note.onset, {}).setdefault(int(note.finger), set()).add(note.fret)
    for fingers in moments.values():
        assert all(len(frets) == 1 for frets in fingers.values())
