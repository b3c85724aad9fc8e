"""From a course and from hearings to what practice knows."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import UsageError
from fretwright.check.check import Checked, check
from fretwright.course.model import Reading
from fretwright.ear.headline import advise
from fretwright.ear.pulse import Pulse
from fretwright.ear.verdicts import Advice, HeardAttack, HeardExtra, HeardNote, HeardPass, Hearing, Verdict
from fretwright.flows.planning import Stamp, outcome_of, overruled, practised, summary_of
from fretwright.flows.take_view import bar_stretches, take_view
from fretwright.practice.faults import is_clean
from fretwright.practice.history import FaultKind
from fretwright.score.score import Score
from fretwright.score.timeline import timeline
from small_course import small_course

NAME = "01-stairs/slurred"
AT = datetime(2031, 3, 3, tzinfo=UTC)


@pytest.fixture(scope="module")
def checked(tmp_path_factory: pytest.TempPathFactory) -> Checked:
    return check(Reading(small_course(tmp_path_factory.mktemp("course") / "small"), ()))


@pytest.fixture(scope="module")
def score(checked: Checked) -> Score:
    return checked.score_of(checked.course.exercise(NAME))


def as_written(score: Score, bpm: float = 120.0, start_s: float = 2.0) -> Hearing:
    """A hearing in which everything came as written."""
    notes = tuple(
        HeardNote(
            timed.note.id,
            Verdict.PLAYED,
            0.9,
            onset_s=start_s + timed.onset_s,
            timing_ms=0.0,
            heard_midi=timed.note.midi,
            pitch_cents=0.0,
            level_db=-4.0 if timed.note.attack.is_slur else 0.0,
            attack=HeardAttack.SLUR if timed.note.attack.is_slur else HeardAttack.PLUCK,
        )
        for timed in timeline(score, bpm).notes
    )
    advice = Advice("All came.", (), 120.0, "Go on.")
    whole = (HeardPass(start_s, start_s + 4.0, complete=True),)
    return Hearing(bpm, start_s, 0.0, 0, whole, notes, (), 5.0, 0.0, 0.0, advice)


def with_note(heard: Hearing, place: int, **changes: object) -> Hearing:
    notes = list(heard.notes)
    notes[place] = replace(notes[place], **changes)  # type: ignore[arg-type]  # of a note's own fields
    return replace(heard, notes=tuple(notes))


def test_what_can_be_heard_is_practised_in_teaching_order(checked: Checked) -> None:
    found = practised(checked)

    assert [each.name for each in found] == [each.name for each in checked.course.exercises]
    assert [each.is_music for each in found] == [False, True, False]
    assert found[1].beats == pytest.approx(8)


def test_a_take_as_written_is_clean_and_measured(score: Score) -> None:
    summary = summary_of(score, as_written(score), Stamp("7", NAME, AT, 120))

    assert summary.clean
    assert summary.faults == ()
    assert summary.slur_db == -4.0
    assert (summary.asked_bpm, summary.played_bpm, summary.at) == (120, 120, AT)
    assert summary.interval_ms == 250.0


def test_a_fault_is_summed_up_with_the_bar_of_its_note(score: Score) -> None:
    last = len(score.notes) - 1
    heard = with_note(as_written(score), last, verdict=Verdict.MISSED, onset_s=None)

    summary = summary_of(score, heard, Stamp("7", NAME, AT, 120))
    assert not summary.clean
    assert [(fault.kind, fault.bar, fault.count) for fault in summary.faults] == [(FaultKind.NOTES, 2, 1)]


def test_the_teachers_word_stands_in_place_of_the_ears(score: Score) -> None:
    heard = with_note(as_written(score), 3, verdict=Verdict.WRONG)

    assert not is_clean(outcome_of(score, heard))
    assert is_clean(outcome_of(score, overruled(heard, {3: Verdict.PLAYED})))
    assert not is_clean(outcome_of(score, overruled(as_written(score), {0: Verdict.MISSED})))


def test_a_hearing_of_another_score_is_refused(score: Score) -> None:
    heard = as_written(score)

    with pytest.raises(UsageError, match="another exercise"):
        summary_of(score, replace(heard, notes=heard.notes[:-1]), Stamp("7", NAME, AT, 120))


@st.composite
def hearings(draw: st.DrawFn, count: int) -> list[dict[str, object]]:
    """What may have become of each note."""
    few = st.sampled_from([0.0] * 8 + [3.0, -9.0, 30.0, -55.0, 90.0])
    return [
        {
            "verdict": draw(st.sampled_from([Verdict.PLAYED] * 6 + list(Verdict))),
            "timing_ms": draw(few),
            "pitch_cents": draw(st.sampled_from([0.0] * 6 + [20.0])),
            "attack": draw(st.sampled_from([None] * 6 + list(HeardAttack))),
        }
        for _ in range(count)
    ]


@given(
    data=st.data(),
    spread_ms=st.sampled_from([2.0, 8.0, 14.0, 40.0]),
    drift=st.sampled_from([0.0, 3.0, -5.5]),
    extras=st.integers(0, 2),
    shift=st.sampled_from([0, 0, 0, 1]),
)
def test_what_the_ear_praises_is_clean_and_what_it_mends_is_not(
    checked: Checked,
    score: Score,
    data: st.DataObject,
    spread_ms: float,
    drift: float,
    extras: int,
    shift: int,
) -> None:
    """The planner and the headline never contradict each other, tune and doubt aside."""
    heard = as_written(score)
    for place, changes in enumerate(data.draw(hearings(len(heard.notes)))):
        heard = with_note(heard, place, **changes)
    more = tuple(HeardExtra(1.0 + index, 60) for index in range(extras))
    heard = replace(heard, timing_spread_ms=spread_ms, drift_percent=drift, extras=more, shift=shift)
    timing = np.array([(note.timing_ms or 0.0) / 1000 for note in heard.notes])
    pulse = Pulse(timing, 1.0, drift, spread_ms / 1000, 0.0)
    ladder = checked.course.exercise(NAME).ladder

    headline = advise(timeline(score, 120), heard.notes, more, pulse, ladder, shift).headline

    clean = is_clean(outcome_of(score, heard))
    if headline.startswith("All "):
        assert clean
    elif clean:
        assert "cents" in headline


def test_each_bar_can_be_found_in_the_recording(score: Score) -> None:
    heard = as_written(score, start_s=3.0)
    one, two = bar_stretches(score, heard)

    assert (one.bar, two.bar) == (1, 2)
    assert one.take_from_s < 3.0 < one.take_to_s
    assert two.take_from_s < 5.0 < two.take_to_s
    assert one.first_note == score.notes[0].id
    assert two.last_note == score.notes[-1].id


def test_a_bar_is_found_by_its_neighbours_where_none_of_its_notes_was_heard(score: Score) -> None:
    heard = as_written(score, start_s=3.0)
    lost = tuple(
        replace(note, onset_s=None, verdict=Verdict.MISSED) if note.id.startswith("b2") else note
        for note in heard.notes
    )
    one, two = bar_stretches(score, replace(heard, notes=lost))

    assert two.take_from_s == pytest.approx(bar_stretches(score, heard)[1].take_from_s, abs=0.01)
    assert (one.bad, two.bad) == (0, sum(note.id.startswith("b2") for note in heard.notes))


def test_the_view_holds_both_pictures_the_words_and_every_note(checked: Checked, score: Score) -> None:
    heard = with_note(as_written(score), 4, verdict=Verdict.WRONG, heard_midi=score.notes[4].midi + 1)
    view = take_view(checked, NAME, heard, "Two clean takes open 130.")

    assert view.headline == "All came."
    assert view.next_words == "Two clean takes open 130."
    assert 'id="heard-wide-title"' in view.wide
    assert 'id="heard-narrow-title"' in view.narrow
    assert len(view.rows) == len(score.notes)
    assert view.rows[4].verdict == "1 fret higher"
    assert view.worst_bar == int(view.rows[4].bar)
