"""From written events to a score: bar lines, ties, slurs and ids."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import ScoreError
from fretwright.fretboard.neck import Neck
from fretwright.score.assemble import BarOfEvents, Event, Head, Heading, assemble, into_bars
from fretwright.score.meter import Meter
from fretwright.score.note import Attack, Finger
from fretwright.score.score import Score
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH, HALF, QUARTER, TRIPLET, WHOLE, Value
from fretwright.theory.key import Key
from scores import events, head, line
from strategies import meters, values

F = Fraction

NECK = Neck()
HEADING = Heading("line", "Line", NECK, Key(0), TempoMap.constant(80))
TRIPLET_EIGHTH = Value(F(1, 8), 0, TRIPLET)


def summary(score: Score) -> list[tuple[str, F, F]]:
    return [(note.id, note.onset, note.duration) for note in score.notes]


def test_notes_get_ids_of_bar_time_and_string() -> None:
    score = line("6/5 6/8 5/5+4/7 r 3/5 3/7 2/5 1/5 1/8", value=EIGHTH)
    assert " ".join(note.id for note in score.notes) == (
        "b1t0s6 b1t1-8s6 b1t1-4s5 b1t1-4s4 b1t1-2s3 b1t5-8s3 b1t3-4s2 b1t7-8s1 b2t0s1"
    )
    assert [rest.id for rest in score.rests] == ["b1t3-8r", "b2t1-8r", "b2t1-4r", "b2t1-2r"]


def test_an_id_is_unmoved_by_an_edit_elsewhere() -> None:
    before = line("6/5 6/8 5/5 5/7 4/5 4/7 3/5 3/7 2/5")
    after = line("6/5 6/7 5/5 5/8 4/5 4/7 3/5 3/7 2/5")
    assert [note.id for note in before.notes] == [note.id for note in after.notes]


def test_ids_are_fit_for_xml_and_css() -> None:
    score = line("6/5+5/7 r 4/5", values=[TRIPLET_EIGHTH, TRIPLET_EIGHTH, TRIPLET_EIGHTH])
    for name in [note.id for note in score.notes] + [rest.id for rest in score.rests]:
        assert name[0].isalpha()
        assert set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")


def test_notes_that_start_together_stand_from_the_lowest_string_up() -> None:
    score = line("1/3+6/3+3/0+5/2", value=WHOLE)
    assert [note.string for note in score.notes] == [6, 5, 3, 1]


def test_a_note_over_a_bar_line_is_tied_and_stays_one_note() -> None:
    score = line("3/5 3/7 2/5", values=[Value(F(1, 2), 1), HALF, HALF])
    assert [bar.length for bar in score.bars] == [1, 1]
    note = score.notes[1]
    assert (note.onset, note.duration, note.end) == (F(3, 4), F(1, 2), F(5, 4))
    assert [value.name for value in note.values] == ["quarter", "quarter"]
    assert len(score.notes) == 3


def test_a_rest_over_a_bar_line_is_two_rests() -> None:
    score = line("3/5 r 3/7", values=[Value(F(1, 2), 1), HALF, Value(F(1, 2), 1)])
    assert [(rest.onset, rest.duration) for rest in score.rests] == [(F(3, 4), F(1, 4)), (F(1), F(1, 4))]


def test_the_last_bar_is_filled_with_rests() -> None:
    score = line("3/5", value=EIGHTH)
    assert [rest.value.name for rest in score.rests] == ["eighth", "quarter", "half"]
    assert score.length == 1


def test_a_pickup_is_bar_0_and_shorter() -> None:
    score = line("3/5 3/7 2/5", values=[QUARTER, HALF, HALF], pickup=F(1, 4))
    assert [(bar.number, bar.start, bar.length) for bar in score.bars] == [(0, 0, F(1, 4)), (1, F(1, 4), 1)]
    assert score.pickup == F(1, 4)
    assert score.notes[1].id == "b1t0s3"


def test_a_tie_out_of_a_pickup_keeps_the_beats_visible() -> None:
    # three eighths before the bar line: the pickup starts half a beat before the last beat
    score = line("3/5 3/7", values=[HALF, Value(F(1, 2), 1)], pickup=F(3, 8))
    assert [value.name for value in score.notes[0].values] == ["eighth", "quarter", "eighth"]


@pytest.mark.parametrize("pickup", [F(1), F(5, 4), F(-1, 4)])
def test_a_pickup_of_a_whole_bar_or_more_is_refused(pickup: F) -> None:
    with pytest.raises(ScoreError, match="pickup"):
        line("3/5", pickup=pickup)


def test_a_tuplet_over_a_bar_line_is_refused() -> None:
    row = [Value(F(1, 2), 1), EIGHTH, Value(F(1, 4), 0, TRIPLET)]
    with pytest.raises(ScoreError, match="triplet quarter runs over a bar line"):
        line("3/5 3/7 2/5", values=row)


def test_a_slur_knows_the_note_it_leaves() -> None:
    score = line("3/5 3/7h 2/5 3/5p 3/9s")
    assert [note.slur_from for note in score.notes] == [None, "b1t0s3", None, "b1t1-8s3", "b1t3-8s3"]
    assert [note.attack.is_slur for note in score.notes] == [False, True, False, True, True]


@pytest.mark.parametrize("attack", [Attack.HAMMER_ON, Attack.PULL_OFF, Attack.SLIDE])
def test_a_slur_from_nothing_is_refused(attack: Attack) -> None:
    sign = {Attack.HAMMER_ON: "h", Attack.PULL_OFF: "p", Attack.SLIDE: "s"}[attack]
    with pytest.raises(ScoreError, match=f"a {attack.value} on string 2 in bar 1 has no note before it"):
        line(f"3/5 2/7{sign}")


def test_a_tap_needs_no_note_before_it() -> None:
    assert line("2/12t").notes[0].slur_from is None


def tied(text: str) -> Head:
    plain = head(text, NECK)
    return Head(plain.place, plain.pitch, tied=True)


def test_a_written_tie_lengthens_the_note() -> None:
    bar = BarOfEvents((*events("3/5", NECK, [HALF]), Event(HALF, (tied("3/5"),))))
    score = assemble(HEADING, [bar])
    assert summary(score) == [("b1t0s3", F(0), F(1))]
    assert score.notes[0].values == (HALF, HALF)


@pytest.mark.parametrize(
    "words",
    [
        # another fret, another string, a rest in between
        [("3/5", False), ("3/7", True)],
        [("3/5", False), ("2/5", True)],
        [("3/5", False), ("r", False), ("3/5", True)],
        [("3/5", True)],
    ],
)
def test_a_tie_to_nothing_is_refused(words: list[tuple[str, bool]]) -> None:
    row = [
        Event(QUARTER, () if text == "r" else (tied(text) if holds else head(text, NECK),))
        for text, holds in words
    ]
    row += [Event(QUARTER)] * (4 - len(row))
    with pytest.raises(ScoreError, match="tie"):
        assemble(HEADING, [BarOfEvents(tuple(row))])


def test_a_bar_of_the_wrong_length_is_refused_by_its_number() -> None:
    full = BarOfEvents(tuple(events("3/5", NECK, [WHOLE])))
    short = BarOfEvents(tuple(events("3/5", NECK, [HALF])))
    long = BarOfEvents(tuple(events("3/5 3/5", NECK, [WHOLE, QUARTER])))
    for wrong in (short, long):
        with pytest.raises(ScoreError, match="bar 2 lasts"):
            assemble(HEADING, [full, wrong, full])


def test_only_the_last_bar_after_a_pickup_may_be_short() -> None:
    full = BarOfEvents(tuple(events("3/5", NECK, [WHOLE])))
    short = BarOfEvents(tuple(events("3/5", NECK, [HALF])))
    pickup = BarOfEvents(tuple(events("3/5", NECK, [HALF])), is_pickup=True)
    assert [bar.number for bar in assemble(HEADING, [pickup, full, short]).bars] == [0, 1, 2]
    with pytest.raises(ScoreError):
        assemble(HEADING, [full, short])


def test_two_notes_on_one_string_at_one_time_are_refused() -> None:
    with pytest.raises(ScoreError, match="string 3"):
        line("3/5+3/7")


def test_a_score_without_bars_is_refused() -> None:
    with pytest.raises(ScoreError, match="no bars"):
        assemble(HEADING, [])


def test_fixed_fingers_and_attacks_arrive_in_the_notes() -> None:
    score = line("3/5=1 3/7h=3 2/12t")
    assert [note.finger for note in score.notes] == [Finger.INDEX, Finger.RING, None]
    assert [note.attack for note in score.notes] == [Attack.PLUCK, Attack.HAMMER_ON, Attack.TAP]


def test_a_note_is_found_by_its_id_and_a_bar_by_a_time() -> None:
    score = line("3/5 3/7 2/5", values=[WHOLE, HALF, HALF])
    assert score.note("b2t1-2s2").fret == 5
    with pytest.raises(ScoreError, match="b9"):
        score.note("b9")
    assert [score.bar_at(F(n, 2)).number for n in range(5)] == [1, 1, 2, 2, 2]


@given(
    meters(),
    st.lists(values(16).filter(lambda value: value.tuplet is None), min_size=1, max_size=25),
    st.data(),
)
def test_cutting_at_bar_lines_moves_no_note(meter: Meter, row: list[Value], data: st.DataObject) -> None:
    eighths = int(meter.length * 8)
    pickup = F(data.draw(st.integers(0, eighths - 1)), 8)
    score = line(" ".join(["3/5"] * len(row)), values=row, meter=meter, pickup=pickup)
    at = F(0)
    for note, value in zip(score.notes, row, strict=True):
        assert (note.onset, note.duration) == (at, value.duration)
        at = note.end
    # bars follow each other, are full, and no sign crosses a bar line
    for bar in score.bars:
        assert bar.length == (pickup if bar.number == 0 else meter.length)
    lines = {bar.start for bar in score.bars} | {score.length}
    for mark in score.notes:
        begin = mark.onset
        for value in mark.values:
            assert not any(begin < barline < begin + value.duration for barline in lines)
            begin += value.duration
    assert len({note.id for note in score.notes}) == len(score.notes)
    filled = sum((n.duration for n in score.notes), F(0)) + sum((r.duration for r in score.rests), F(0))
    assert filled == score.length


def test_into_bars_of_nothing_is_nothing() -> None:
    assert into_bars([]) == ()
