"""From a take to the evidence beside its notes."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from fretwright.base.errors import UsageError
from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.ear.explain import explain
from fretwright.ear.take import RATE_HZ, Refusal, Take
from fretwright.ear.verdicts import Hearing
from fretwright.flows.explaining import evidence_of, explain_take
from fretwright.score.evidence import Evidence
from fretwright.score.marks import MarkShape
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import Timeline, timeline
from scores import line

SCORE = line("6/5 6/8 5/5 5/7 4/5 4/7 3/5 3/7 2/5 2/8 1/5 1/8")


def string(midi: int, length_s: float) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    time_s = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    hertz = 440.0 * 2 ** ((midi - 69) / 12)
    partials = [
        np.sin(2 * np.pi * n * hertz * time_s) * np.exp(-time_s * (1 + n / 2)) / n for n in range(1, 12)
    ]
    sound: np.ndarray[tuple[int], np.dtype[np.float64]] = 0.25 * np.sum(partials, axis=0)
    sound[-200:] *= np.linspace(1, 0, 200)
    return sound


def take_of(played: Timeline, changes: dict[int, int | None]) -> Take:
    """The notes as written but for some: another pitch, or none."""
    out = np.random.default_rng(2).normal(0, 1e-3, round((played.length_s + 2) * RATE_HZ))
    for index, timed in enumerate(played.notes):
        midi = changes.get(index, timed.note.midi)
        if midi is not None:
            start = round((0.5 + timed.onset_s) * RATE_HZ)
            note = string(midi, timed.duration_s)
            out[start : start + len(note)] += note[: len(out) - start]
    return Take(out.astype(np.float32))


@pytest.fixture(scope="module")
def evidence() -> Evidence:
    played = timeline(SCORE)
    take = take_of(played, {4: 58, 8: None})
    found = explain(take, played, Ladder(60, 120))
    assert isinstance(found.answer, Hearing)
    return evidence_of(take, played.notes, found, SCORE.key)


def test_every_note_has_its_place_its_shape_and_its_reasons(evidence: Evidence) -> None:
    assert [note.note_id for note in evidence.notes] == [note.id for note in SCORE.notes]
    shapes = {index: note.shape for index, note in enumerate(evidence.notes) if note.shape is not None}
    assert shapes == {4: MarkShape.CROSS, 8: MarkShape.RING}
    for timed, note in zip(timeline(SCORE).notes, evidence.notes, strict=True):
        assert note.due_s == pytest.approx(0.5 + timed.onset_s, abs=0.03)
    assert evidence.notes[0].reasons[0].startswith("played ")
    assert any(reason.startswith("next ") for reason in evidence.notes[0].reasons)
    wrong, missed = evidence.notes[4], evidence.notes[8]
    assert wrong.found is not None
    assert wrong.found.midi == 58
    assert any(reason.startswith("written ") for reason in wrong.reasons)
    assert missed.found is None
    assert missed.reasons[1].startswith(("at best -", "nothing starts near"))


def test_the_grid_holds_what_was_written_and_what_was_heard(evidence: Evidence) -> None:
    highest = evidence.lowest_midi + len(evidence.pitch_names) - 1
    assert all(evidence.lowest_midi <= note.midi <= highest for note in evidence.notes)
    assert all(len(moment.odds) == len(evidence.pitch_names) for moment in evidence.moments)
    assert abs(len(evidence.levels_db) * evidence.step_s - evidence.length_s) < 0.01
    by_time = {moment.time_s: moment for moment in evidence.moments}
    for note in evidence.notes:
        if note.found is not None:
            odds = by_time[round(note.found.time_s, 3)].odds
            assert odds[note.found.midi - evidence.lowest_midi] == max(odds)


def test_of_a_chord_every_string_has_its_place_and_the_way_its_lowest() -> None:
    score = line(
        "6/3+5/2+4/0 6/3+5/2+4/0 5/3+4/2+3/0 5/3+4/2+3/0 6/3+5/2+4/0 6/3+5/2+4/0 5/3+4/2+3/0 5/3+4/2+3/0"
    )
    played = timeline(score)
    take = take_of(played, {})

    told = evidence_of(take, played.notes, explain(take, played, Ladder(60, 120)), score.key)

    assert [note.note_id for note in told.notes] == [note.id for note in score.notes]
    assert len(told.way) == 8
    for number, note in enumerate(told.notes):
        assert note.due_s == pytest.approx(0.5 + played.notes[number].onset_s, abs=0.06)
        assert not any(reason.startswith("next ") for reason in note.reasons)


def test_sound_that_begins_late_in_a_film_is_told_in_the_films_time() -> None:
    played = timeline(SCORE)
    early = take_of(played, {})
    late = Take(early.samples, starts_s=1.0)

    found = explain(late, played, Ladder(60, 120))
    told = evidence_of(late, played.notes, found, SCORE.key)

    assert told.notes[0].due_s == pytest.approx(1.5, abs=0.03)
    assert told.length_s == pytest.approx(early.length_s + 1)
    assert set(told.levels_db[:190]) == {-60.0}


def test_a_refused_take_is_drawn_and_a_broken_one_is_not(
    demo: Checked, exercise: Exercise, tmp_path: Path
) -> None:
    noise, letter = tmp_path / "noise.wav", tmp_path / "letter.mp3"
    soundfile.write(noise, np.random.default_rng(1).normal(0, 0.05, 3 * RATE_HZ), RATE_HZ)
    letter.write_text("Dear teacher")

    refused, broken = explain_take(demo, exercise.name, noise), explain_take(demo, exercise.name, letter)

    assert isinstance(refused.answer, Refusal)
    assert refused.svg is not None
    assert "<desc" in refused.svg
    assert isinstance(broken.answer, Refusal)
    assert broken.svg is None
    with pytest.raises(UsageError):
        explain_take(demo, exercise.name, tmp_path / "nothing.wav")
