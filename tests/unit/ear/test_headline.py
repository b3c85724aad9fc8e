"""What is said first, on verdicts written by hand."""

from dataclasses import replace

import numpy as np
import pytest

from fretwright.ear.headline import advise
from fretwright.ear.pulse import Pulse
from fretwright.ear.verdicts import Advice, HeardAttack, HeardNote, Verdict
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import timeline
from scores import line

ASKED = timeline(line("6/5 6/8h 5/5 5/7h 4/5 4/7h 3/5 3/7 2/5 2/8 1/5 1/8 1/5 2/8 2/5 3/7"), 80)
LADDER = Ladder(60, 120)
STEADY = Pulse(np.zeros(16), 1.0, 0.0, 0.004, 0.0)
GOOD = tuple(
    HeardNote(
        timed.note.id,
        Verdict.PLAYED,
        1.0,
        onset_s=timed.onset_s,
        timing_ms=0.0,
        heard_midi=timed.note.midi,
        pitch_cents=0.0,
        level_db=0.0,
        attack=HeardAttack.SLUR if timed.note.attack.is_slur else HeardAttack.PLUCK,
    )
    for timed in ASKED.notes
)


def said(*changed: HeardNote, pulse: Pulse = STEADY, shift: int = 0) -> Advice:
    by_id = {note.id: note for note in changed}
    return advise(ASKED, tuple(by_id.get(note.id, note) for note in GOOD), (), pulse, LADDER, shift)


def wrong(index: int, steps: int) -> HeardNote:
    return replace(GOOD[index], verdict=Verdict.WRONG, heard_midi=ASKED.notes[index].note.midi + steps)


def missed(index: int) -> HeardNote:
    return HeardNote(GOOD[index].id, Verdict.MISSED, 0.99)


def test_nothing_to_mend_is_praised_and_leads_one_rung_up() -> None:
    advice = said()

    assert advice.headline == "All 16 notes that could be told came as written, within 4 ms of an even pulse."
    assert advice.next_bpm == min(rung for rung in LADDER.rungs if rung > 80)


@pytest.mark.parametrize(
    ("index", "steps", "words"),
    [
        (4, 1, "The fifth note of bar 1 sounded 1 fret higher"),
        (9, -2, "The second note of bar 2 sounded 2 frets lower"),
    ],
)
def test_one_wrong_note_is_named_with_its_place_and_how_far_off(index: int, steps: int, words: str) -> None:
    assert said(wrong(index, steps)).headline.startswith(words)


def test_a_missed_note_is_named_by_string_and_fret() -> None:
    assert said(missed(6)).headline == "The seventh note of bar 1 was not heard (string 3, fret 5)."


def test_the_bar_where_it_breaks_down_comes_before_single_slips() -> None:
    advice = said(wrong(1, 1), wrong(9, 1), missed(10), missed(11))

    assert advice.headline.startswith("Bar 2 is where it breaks down: 1 wrong and 2 left out")
    assert advice.next_bpm < 80


def test_one_plucked_slur_that_is_hardly_sure_is_not_the_one_thing_to_mend() -> None:
    first, second = (
        replace(GOOD[index], attack=HeardAttack.PLUCK, attack_confidence=0.9) for index in (3, 5)
    )

    assert "plucked" not in said(first).headline
    assert "plucked" in said(first, second).headline


def test_a_plucked_slur_is_told_before_time() -> None:
    uneven = replace(STEADY, spread_s=0.05)
    advice = said(replace(GOOD[3], attack=HeardAttack.PLUCK), pulse=uneven)

    assert advice.headline.startswith("The hammer-on to the fourth note of bar 1 was plucked")
    assert advice.observations[0].startswith("The notes do not come evenly (50 ms either way)")


def test_a_forgotten_capo_comes_first() -> None:
    assert said(wrong(4, 1), shift=-1).headline.startswith("Everything sounds 1 fret lower than written")


def test_drift_is_told_with_its_way() -> None:
    assert "8 % faster" in said(pulse=replace(STEADY, drift_percent=8.0)).headline
    assert "9 % slower" in said(pulse=replace(STEADY, drift_percent=-9.0)).headline


def test_there_are_never_more_than_two_observations() -> None:
    uneven = replace(STEADY, spread_s=0.05, drift_percent=9.0)
    advice = said(wrong(4, 1), missed(9), replace(GOOD[3], attack=HeardAttack.PLUCK), pulse=uneven)

    assert len(advice.observations) == 2


def test_at_the_goal_the_next_exercise_is_offered() -> None:
    fast = timeline(line("6/5 6/8 5/5 5/7"), 120)
    notes = tuple(HeardNote(timed.note.id, Verdict.PLAYED, 1.0, timing_ms=0.0) for timed in fast.notes)

    advice = advise(fast, notes, (), replace(STEADY, timing_s=np.zeros(4)), LADDER, 0)

    assert advice.next_bpm == 120
    assert "next exercise" in advice.next_words
