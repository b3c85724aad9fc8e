"""From verdicts to marks: what is worth a mark, and which."""

import json
from dataclasses import replace
from typing import Any

import pytest

from fretwright.base.errors import RenderError
from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.ear.verdicts import (
    Advice,
    BendVerdict,
    HeardAttack,
    HeardBend,
    HeardExtra,
    HeardNote,
    HeardPass,
    HeardVibrato,
    Hearing,
    Verdict,
    VibratoVerdict,
)
from fretwright.flows.hearing_picture import hearing_picture, marks_of
from fretwright.flows.hearings import hearing_of, stored_hearing
from fretwright.score.marks import MarkShape
from fretwright.score.score import Score
from fretwright.score.timeline import timeline
from plate_scores import written
from scores import line

SCORE = line("6/5 6/8h 5/5 5/7h 4/5 4/7 3/5 3/7")


def hearing(score: Score, changes: dict[int, dict[str, Any]] | None = None, **more: Any) -> Hearing:  # noqa: ANN401
    """A take as written, half a second into its recording, but for what is changed."""
    played = timeline(score)
    notes = tuple(
        replace(
            HeardNote(
                timed.note.id,
                Verdict.PLAYED,
                0.99,
                onset_s=0.5 + timed.onset_s,
                timing_ms=0.0,
                heard_midi=timed.note.midi,
                level_db=0.0,
                attack=HeardAttack.SLUR if timed.note.attack.is_slur else HeardAttack.PLUCK,
            ),
            **(changes or {}).get(index, {}),
        )
        for index, timed in enumerate(played.notes)
    )
    whole = HeardPass(0.5, 0.5 + played.length_s, complete=True)
    advice = Advice("Bar 1 is even.", (), 80.0, "Go on.")
    found = Hearing(played.bpm, 0.5, 0.0, 0, (whole,), notes, (), 3.0, 0.0, 0.0, advice)
    return replace(found, **more)


MISSED = {"verdict": Verdict.MISSED, "onset_s": None, "timing_ms": None, "level_db": None, "attack": None}


def told(score: Score, found: Hearing) -> list[tuple[str, MarkShape, str]]:
    return [(mark.note_id, mark.shape, mark.word) for mark in marks_of(score, found).marks]


def test_a_clean_take_has_no_mark_and_every_note_on_both_strips() -> None:
    marked = marks_of(SCORE, hearing(SCORE))

    assert not [*marked.marks, *marked.between, *marked.meanings]
    assert marked.headline == "Bar 1 is even. Go on."
    assert [timing.note_id for timing in marked.timings] == [note.id for note in SCORE.notes]
    assert [level.slurred for level in marked.levels] == [note.attack.is_slur for note in SCORE.notes]


@pytest.mark.parametrize(
    ("verdict", "off_cents", "expected"),
    [
        (BendVerdict.SHORT, -42.4, [(MarkShape.DOWN, "bend 42 cents short")]),
        (BendVerdict.SHARP, 30.0, [(MarkShape.UP, "bend 30 cents sharp")]),
        (BendVerdict.REACHED, 12.0, []),
        (BendVerdict.UNSURE, None, []),
    ],
)
def test_a_bend_that_misses_its_pitch_is_marked_with_how_far(
    verdict: BendVerdict, off_cents: float | None, expected: list[tuple[MarkShape, str]]
) -> None:
    found = hearing(SCORE, {4: {"bend": HeardBend(verdict, 200.0, 160.0, off_cents)}})

    assert [(shape, word) for _, shape, word in told(SCORE, found)] == expected


def test_a_vibrato_that_is_not_there_is_marked_and_what_was_heard_is_kept() -> None:
    still = HeardVibrato(VibratoVerdict.STILL, 5.5, 40.0, None, 4.0)
    bend = HeardBend(BendVerdict.SHORT, 200.0, 158.0, -42.0, 310.0, None, 5.0)
    found = hearing(SCORE, {2: {"vibrato": still}, 3: {"bend": bend}})

    assert told(SCORE, found)[0][1:] == (MarkShape.DOWN, "no vibrato")
    assert hearing_of(json.loads(json.dumps(stored_hearing(found)))) == found


# At 80 beats a minute an eighth lasts 375 ms: 2.5 % are 9.4 ms, 5 % are 18.75 ms.
@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (MISSED, [(MarkShape.RING, "missed")]),
        ({"verdict": Verdict.UNSURE, "timing_ms": 90.0}, [(MarkShape.DIAMOND, "unsure")]),
        ({"verdict": Verdict.WRONG, "heard_midi": 60}, [(MarkShape.CROSS, "C4")]),
        ({"timing_ms": 23.4}, [(MarkShape.RIGHT, "late 23")]),
        ({"timing_ms": -19.0}, [(MarkShape.LEFT, "early 19")]),
        ({"timing_ms": 18.0}, []),
        ({"attack": HeardAttack.UNSURE}, []),
    ],
)
def test_each_fault_has_its_shape_and_word(
    change: dict[str, Any], expected: list[tuple[MarkShape, str]]
) -> None:
    marked = marks_of(SCORE, hearing(SCORE, {4: change}))

    assert [(mark.shape, mark.word) for mark in marked.marks] == expected
    assert all(mark.note_id == SCORE.notes[4].id for mark in marked.marks)
    assert [shape for shape, _ in marked.meanings] == [shape for shape, _ in expected]


def test_a_plucked_slur_and_a_slurred_pluck_are_told() -> None:
    found = hearing(SCORE, {1: {"attack": HeardAttack.PLUCK}, 5: {"attack": HeardAttack.SLUR}})

    assert told(SCORE, found) == [
        (SCORE.notes[1].id, MarkShape.SQUARE, "plucked"),
        (SCORE.notes[5].id, MarkShape.SQUARE, "slurred"),
    ]


def test_the_band_is_what_is_just_heard_at_the_tempo_played() -> None:
    # 6 ms, or 2.5 % of the interval (Friberg & Sundberg 1995)
    slow, fast = hearing(SCORE), hearing(SCORE, tempo_bpm=160.0)

    assert {timing.band_ms for timing in marks_of(SCORE, slow).timings} == {9.4}
    assert {timing.band_ms for timing in marks_of(SCORE, fast).timings} == {6.0}


def test_an_extra_stands_between_its_neighbours_even_where_one_was_missed() -> None:
    onset_s = hearing(SCORE).notes[3].onset_s
    assert onset_s is not None
    found = hearing(SCORE, {4: MISSED}, extras=(HeardExtra(onset_s + 0.1, 60), HeardExtra(0.2, 62)))

    first, second = marks_of(SCORE, found).between
    assert (first.after_id, first.before_id, first.word) == (SCORE.notes[3].id, SCORE.notes[4].id, "C4")
    assert (second.after_id, second.before_id) == (None, SCORE.notes[0].id)


def test_where_no_written_note_was_heard_an_extra_has_no_place() -> None:
    found = hearing(SCORE, dict.fromkeys(range(8), MISSED), extras=(HeardExtra(1.0, 60),))

    marked = marks_of(SCORE, found)

    assert [mark.word for mark in marked.marks] == ["missed"] * 8
    assert not [*marked.between, *marked.timings, *marked.levels]


def test_a_forgotten_capo_is_told_once_and_not_at_every_wrong_note() -> None:
    found = hearing(SCORE, {4: {"verdict": Verdict.WRONG, "heard_midi": 62}}, shift=2)

    assert told(SCORE, found) == [(SCORE.notes[4].id, MarkShape.CROSS, "C4")]


@pytest.mark.parametrize(("key", "name"), [("E major", "C♯4"), ("Ab major", "D♭4")])
def test_a_wrong_note_is_spelled_as_its_key_spells_it(key: str, name: str) -> None:
    score = written("q4/6 q4/8 q3/5 q3/7", key=key)
    found = hearing(score, {2: {"verdict": Verdict.WRONG, "heard_midi": 61}})

    assert told(score, found) == [(score.notes[2].id, MarkShape.CROSS, name)]


def test_the_second_time_through_a_repeat_says_so() -> None:
    score = written("q6/5 q6/8 q5/5 q5/7", bars={0: {"closes_repeat": 2}})
    found = hearing(score, {1: MISSED, 5: MISSED})

    assert len(found.notes) == 8
    assert [word for _, _, word in told(score, found)] == ["missed", "missed (2)"]


def test_a_hearing_of_another_exercise_is_refused() -> None:
    with pytest.raises(RenderError, match="another exercise"):
        marks_of(line("6/5 6/8"), hearing(SCORE))


def test_the_picture_says_in_words_what_it_shows(demo: Checked, exercise: Exercise) -> None:
    score = demo.fingered[exercise.name].score
    found = hearing(score, {0: MISSED}, extras=(HeardExtra(0.2, 62),))

    picture = hearing_picture(demo, exercise.name, found)

    assert f'<title id="heard-title">{exercise.title}: what was heard</title>' in picture.svg
    assert f"{score.notes[0].id}: not heard, missed; before the first note: one note too many, D4." in (
        picture.svg
    )
