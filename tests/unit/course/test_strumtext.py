"""What comes out of held chords is written as chords and strokes, and read back as it was."""

import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from fretwright.course.model import Exercise
from fretwright.course.reader import read_course
from fretwright.course.tabtext import write_exercise
from fretwright.score.score import Score

HEAD = "---\ntitle: A\ngoal: B\n---\n"


def read(block: str) -> Exercise | None:
    """The exercise of a block; None where it has a mistake."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "lessons").mkdir()
        (folder / "course.yaml").write_text("title: A\nteacher: B\n", encoding="utf-8")
        (folder / "lessons" / "01-a.md").write_text(HEAD + block, encoding="utf-8")
        reading = read_course(folder)
    if any(finding.is_error for finding in reading.findings):
        return None
    (exercise,) = reading.course.exercises
    return exercise


def written(exercise: Exercise) -> str:
    return write_exercise(exercise.score, exercise.ladder, is_chart=exercise.is_chart)


def bare(score: Score) -> Score:
    """A score without what hangs on the text that it was read from, or on the search for voicings."""
    labels = tuple(
        replace(label, voicing=None if label.voicing is None else replace(label.voicing, alternatives=()))
        for label in score.labels
    )
    return replace(
        score,
        notes=tuple(replace(note, source=None) for note in score.notes),
        rests=tuple(replace(rest, source=None) for rest in score.rests),
        labels=labels,
    )


CHORDS = st.sampled_from(["G", "C", "D", "Em", "Am7", "F", "E7", "N.C.", "D/F#"])
STROKES = st.sampled_from(["d", "u", "D", "x", "dx", "ds", "u2", "d3", "(d)", "(u)", ".", ".", "r", "b", "o"])
FINGERS = st.sampled_from(["p", "i", "m", "a", "pa", "ima", "P", "i4", ".", "r"])
RHYTHMS = st.sampled_from(["q. e+ e e q", "h e e q", "e3 e3 e3 q h", "s s e rq q. e", "q+ e. s h"])


@st.composite
def charts(draw: st.DrawFn) -> str:
    """Blocks from chords: patterns on grids and over rhythms, with pickups, repeats, sections and verses."""
    cell = st.one_of(CHORDS, st.just("."), st.tuples(CHORDS, CHORDS).map(" ".join))
    bars = [draw(CHORDS.filter(lambda name: name != "N.C.")), *draw(st.lists(cell, min_size=1, max_size=4))]
    kind = draw(st.sampled_from(["exercise", "chart"]))
    keys = ["tempo: 60 to 90", "key: G major"]
    repeats = draw(st.sampled_from(["", "|: {} :|", "|: {} :| x3"]))
    row = repeats.format(" | ".join(bars)) if repeats else " | ".join(bars)
    section = draw(st.sampled_from(["", "Verse: "])) if kind == "chart" else ""
    keys.append(f"chords: |\n  {section}{row}")
    over_rhythm = draw(st.booleans())
    if over_rhythm:
        rhythm = draw(st.lists(RHYTHMS, min_size=1, max_size=2))
        keys.append(f"rhythm: {' | '.join(rhythm)}")
        count = sum(not word.startswith("r") for word in " ".join(rhythm).split())
        count -= sum(word.endswith("+") for word in " ".join(rhythm).split())
    else:
        count = draw(st.sampled_from([4, 8, 12, 16]))
        keys.append(draw(st.sampled_from(["", "pickup: q", "swing: yes"])))
    is_picked = draw(st.booleans())
    entries = draw(st.lists(FINGERS if is_picked else STROKES, min_size=count, max_size=count))
    keys.append(f"{'picking' if is_picked else 'strum'}: {' '.join(entries)}")
    keys.append(
        draw(st.sampled_from(["", "palm mute: bar 1", "roll: first of each bar", "instrument: nylon"]))
    )
    keys.append(
        draw(st.sampled_from(["", "lyrics: |\n  one two- | three\n  2. . uno | due", "written: in full"]))
    )
    return f"```{kind} a\n" + "\n".join(filter(None, keys)) + "\n```\n"


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(charts())
def test_what_comes_from_chords_goes_back_to_chords(block: str) -> None:
    exercise = read(block)
    assume(exercise is not None and exercise.score.notes)
    assert exercise is not None
    text = written(exercise)
    again = read(text)
    assert again is not None
    assert bare(again.score) == bare(exercise.score)
    assert "tab: |" not in text
    assert again.is_chart == exercise.is_chart
    assert again.ladder == exercise.ladder
    assert written(again) == text


@pytest.mark.parametrize(
    ("rows", "kept"),
    [
        ("strum: d . d u (d) u d u", "strum: d . d u (d) u d u"),
        ("strum: D x . us", "strum: D dx . us"),
        ("strum: d3 u2 b o", "strum: d3 u2 b o"),
        ("rhythm: e3 e3 e3 q. e q\nstrum: d u d d u d", "rhythm: e3 e3 e3 q. e q\nstrum: d u d d u d"),
        ("picking: p i m a P5 i pa r", "picking: p i m a P i pa r"),
    ],
)
def test_a_pattern_is_written_as_short_as_it_may_be(rows: str, kept: str) -> None:
    exercise = read(f"```exercise a\ntempo: 72\nchords: C | C | C\nvoicings: C x32010\n{rows}\n```\n")
    assert exercise is not None
    text = written(exercise)
    assert kept in text
    assert "voicings: C x32010 (x32010)" in text


def test_what_no_pattern_says_is_written_as_a_tab() -> None:
    exercise = read("```exercise a\ntempo: 72\nchords: C | F\nstrum: d d d d\n```\n")
    assert exercise is not None
    first, *others = exercise.score.notes
    bent = exercise.score.with_notes((replace(first, finger=None), *others))
    text = write_exercise(bent, exercise.ladder)
    assert "tab: |" in text
    assert "strum" not in text
