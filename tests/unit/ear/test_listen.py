import numpy as np
import pytest

from fretwright.base.errors import UsageError
from fretwright.ear.features import tuning_of
from fretwright.ear.listen import listen
from fretwright.ear.take import RATE_HZ, Refusal, Take
from fretwright.ear.verdicts import HeardAttack, Verdict
from fretwright.score.timeline import Timeline, timeline
from plucked_takes import LADDER, as_written, heard, take_of, verdicts
from scores import line

WORDS = "6/5 6/8 5/5 5/7 4/5 4/7 3/5 3/7 2/5 2/8 1/5 1/8 1/5 2/8 2/5 3/7"


@pytest.fixture(scope="module")
def asked() -> Timeline:
    return timeline(line(WORDS))


def test_a_take_as_written_is_heard_as_written(asked: Timeline) -> None:
    notes = as_written(asked)

    found = heard(take_of(notes), asked)

    assert verdicts(found) == ["played"] * 16
    assert [note.heard_midi for note in found.notes] == [midi for _, midi in notes]
    onsets = np.array([note.onset_s for note in found.notes])
    assert np.abs(onsets - [at for at, _ in notes]).max() < 0.004
    assert found.extras == ()
    assert [one.complete for one in found.passes] == [True]
    assert found.tempo_bpm == pytest.approx(80, abs=0.5)
    assert abs(found.tuning_cents) < 2
    assert found.timing_spread_ms < 4


def test_a_wrong_note_a_missed_one_and_one_too_many_are_told_apart(asked: Timeline) -> None:
    notes = as_written(asked)
    at_s, midi = notes[5]
    notes[5] = (at_s, midi + 2)
    del notes[9]
    notes.insert(12, (notes[11][0] + 0.19, 62))

    found = heard(take_of(notes), asked)

    assert [index for index, verdict in enumerate(verdicts(found)) if verdict != "played"] == [5, 9]
    assert found.notes[5].verdict is Verdict.WRONG
    assert found.notes[5].heard_midi == midi + 2
    assert found.notes[9].verdict is Verdict.MISSED
    assert found.notes[9].onset_s is None
    assert [extra.midi for extra in found.extras] == [62]


def test_a_note_left_out_under_one_that_rings_is_missed_even_where_its_pitch_is_the_same() -> None:
    twice = timeline(line("6/5 6/5 5/5 5/5 4/5 4/5 3/5 3/5"))
    notes = as_written(twice)
    del notes[3]

    assert verdicts(heard(take_of(notes), twice)) == ["played"] * 3 + ["missed"] + ["played"] * 4


def test_hum_does_not_put_the_guitar_out_of_tune(asked: Timeline) -> None:
    take = take_of(as_written(asked))
    time = np.arange(len(take.samples)) / RATE_HZ
    plucks_s = np.array([at for at, _ in as_written(asked)])
    hum = sum(0.1 * np.sin(2 * np.pi * 60 * k * time) for k in range(2, 20))

    for humming in (take.samples, (take.samples + hum).astype(np.float32)):
        assert abs(tuning_of(humming, plucks_s)) < 4


@pytest.mark.parametrize("stretch", [0.72, 0.85, 1.2, 1.6])
def test_any_steady_tempo_will_do(asked: Timeline, stretch: float) -> None:
    found = heard(take_of(as_written(asked, stretch=stretch)), asked)

    assert verdicts(found) == ["played"] * 16
    assert found.tempo_bpm == pytest.approx(80 / stretch, rel=0.01)


def test_a_late_note_is_late_and_the_others_are_not(asked: Timeline) -> None:
    notes = as_written(asked)
    notes[7] = (notes[7][0] + 0.06, notes[7][1])

    found = heard(take_of(notes), asked)

    timing = np.array([note.timing_ms for note in found.notes])
    assert timing[7] == pytest.approx(60, abs=12)
    assert np.abs(np.delete(timing, 7)).max() < 15
    assert "fourth note of bar" not in found.advice.headline or "late" in found.advice.headline


def test_a_guitar_that_is_off_is_told_in_cents_and_its_notes_are_right(asked: Timeline) -> None:
    notes = [(at, midi + 0.30) for at, midi in as_written(asked)]

    found = heard(take_of(notes), asked)

    assert verdicts(found) == ["played"] * 16
    assert found.tuning_cents == pytest.approx(30, abs=2)
    assert max(abs(note.pitch_cents or 0) for note in found.notes) < 4


def test_a_forgotten_capo_is_named_and_not_counted_as_wrong_notes(asked: Timeline) -> None:
    notes = [(at, midi + 2) for at, midi in as_written(asked)]

    found = heard(take_of(notes), asked)

    assert found.shift == 2
    assert verdicts(found) == ["played"] * 16
    assert "2 frets higher" in found.advice.headline


def test_who_breaks_off_and_begins_again_is_judged_on_the_last_complete_pass(asked: Timeline) -> None:
    whole = as_written(asked)
    again_s = whole[7][0] + 1.5
    notes = whole[:7] + [(again_s + at - whole[0][0], midi) for at, midi in whole]

    found = heard(take_of(notes), asked)

    assert verdicts(found) == ["played"] * 16
    assert [one.complete for one in found.passes] == [False, True]
    assert found.start_s == pytest.approx(again_s, abs=0.01)


def test_an_incomplete_second_time_does_not_replace_the_first(asked: Timeline) -> None:
    whole = as_written(asked)
    again_s = whole[-1][0] + 1.5
    notes = whole + [(again_s + at - whole[0][0], midi) for at, midi in whole[:6]]

    found = heard(take_of(notes), asked)

    assert verdicts(found) == ["played"] * 16
    assert found.start_s == pytest.approx(whole[0][0], abs=0.01)
    assert [one.complete for one in found.passes] == [True, False]


def test_plucks_are_not_called_slurs(asked: Timeline) -> None:
    found = heard(take_of(as_written(asked)), asked)

    assert HeardAttack.SLUR not in {note.attack for note in found.notes}


def test_praise_says_what_was_measured_and_leads_on(asked: Timeline) -> None:
    found = heard(take_of(as_written(asked)), asked)

    assert found.advice.headline.startswith("All 16 notes")
    assert found.advice.next_bpm > 80


@pytest.mark.parametrize("kind", ["noise", "hum"])
def test_what_is_no_playing_is_refused(asked: Timeline, rng: np.random.Generator, kind: str) -> None:
    time_s = np.arange(5 * RATE_HZ) / RATE_HZ
    samples = rng.normal(0, 0.05, len(time_s)) if kind == "noise" else 0.2 * np.sin(2 * np.pi * 50 * time_s)

    found = listen(Take(samples.astype(np.float32)), asked, LADDER)

    assert isinstance(found, Refusal)
    assert found.reason.startswith("No playing")
    assert found.mend


def test_another_exercise_is_refused(asked: Timeline) -> None:
    other = [
        (0.5 + 0.3 * index, midi) for index, midi in enumerate([52, 56, 59, 64, 68, 71, 68, 64, 59, 56] * 2)
    ]

    found = listen(take_of(other), asked, LADDER)

    assert isinstance(found, Refusal)
    assert "fit" in found.reason or "little" in found.reason


def test_a_part_of_the_exercise_moved_along_the_neck_is_no_forgotten_capo(asked: Timeline) -> None:
    part = [(at, midi + 1) for at, midi in as_written(asked)[:11]]

    assert isinstance(listen(take_of(part), asked, LADDER), Refusal)


def test_the_frets_that_a_slide_passes_are_no_notes_too_many() -> None:
    slide = timeline(line("6/5 6/8s 5/5 5/7 4/5 4/7 3/5 3/7"))
    notes = as_written(slide)
    passed = [(notes[1][0] - 0.1, notes[0][1] + 1), (notes[1][0] - 0.05, notes[0][1] + 2)]

    found = heard(take_of(sorted([*notes, *passed])), slide)

    assert verdicts(found) == ["played"] * 8
    assert found.extras == ()


def test_an_exercise_without_notes_is_turned_away() -> None:
    rests = timeline(line("r r"))

    with pytest.raises(UsageError, match="no notes"):
        listen(take_of([(0.5, 43)]), rests, LADDER)
