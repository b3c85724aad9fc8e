"""One block that stands for several exercises."""

import itertools
import tempfile
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from fretwright.course.model import Exercise, Reading
from fretwright.course.reader import read_course

SCALES = ("minor pentatonic", "blues", "major", "dorian", "harmonic minor", "1 b2 3 5 b7")
FOURTHS = "A D G C F Bb Eb Ab Db Gb B E"
"""The circle of fourths from A, as it is printed over major keys (common practice, no source)."""


def read(*blocks: str) -> Reading:
    lesson = "---\ntitle: A\ngoal: B\n---\n" + "\n".join(f"```exercise {block}\n```\n" for block in blocks)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "lessons").mkdir()
        (folder / "course.yaml").write_text("title: A\nteacher: B\n", encoding="utf-8")
        (folder / "lessons" / "01-a.md").write_text(lesson, encoding="utf-8")
        return read_course(folder)


def exercises(block: str) -> tuple[Exercise, ...]:
    reading = read(block)
    assert reading.findings == ()
    return tuple(reading.course.exercises)


def rule(scale: str, more: str, position: int | None = 5) -> str:
    where = f"position: {position}\n" if position is not None else ""
    return f"a\nscale: {scale}\n{where}notes: eighths\ntempo: 60\n{more}"


@given(st.sampled_from(["A", "C", "F#", "Bb"]), st.sampled_from(SCALES), st.integers(1, 12), st.booleans())
def test_twelve_keys_each_with_its_own_notes_and_id(
    tonic: str, kind: str, position: int, stays: bool
) -> None:
    more = "keys: circle of fourths" + (", same position" if stays else "")
    around = exercises(rule(f"{tonic} {kind}", more, position))

    assert len({exercise.id for exercise in around}) == len({exercise.title for exercise in around}) == 12
    scales = [exercise.score.scale for exercise in around]
    tonics = [scale.tonic.pitch_class for scale in scales if scale is not None]
    assert {(after - before) % 12 for before, after in itertools.pairwise(tonics)} == {5}
    for exercise in around:
        scale = exercise.score.scale
        assert scale is not None
        assert all(scale.contains(note.midi) for note in exercise.score.notes)
        assert exercise.score.name == exercise.id


@given(st.sampled_from(SCALES), st.integers(2, 12))
def test_a_shape_that_moves_is_the_same_shape(kind: str, position: int) -> None:
    around = exercises(rule(f"A {kind}", "keys: circle of fifths", position))

    closed = [exercise for exercise in around if all(note.fret for note in exercise.score.notes)]
    layouts = {
        tuple((note.string, note.fret - exercise.score.notes[0].fret) for note in exercise.score.notes)
        for exercise in closed
        if exercise.score.position is not None and exercise.score.position > 1
    }
    assert len(layouts) == 1


def test_keys_are_spelled_as_the_circle_is_printed() -> None:
    around = exercises(rule("A major", "keys: circle of fourths"))

    assert " ".join(str(exercise.score.key.tonic) for exercise in around) == FOURTHS
    assert [exercise.id for exercise in around][4:6] == ["a-in-f", "a-in-b-flat"]
    assert [exercise.title for exercise in around][4:6] == ["A in F", "A in B flat"]


def test_a_signature_of_its_own_goes_round_with_the_scale() -> None:
    around = exercises(rule("A mixolydian", "key: A major\nkeys: A, D, G"))

    assert [exercise.score.key.name for exercise in around] == ["A major", "D major", "G major"]


@given(st.sampled_from(["A", "C", "F#", "Bb"]), st.sampled_from(SCALES))
def test_all_positions_hold_the_scale_and_no_two_are_alike(tonic: str, kind: str) -> None:
    found = exercises(rule(f"{tonic} {kind}", "positions: all", None))

    assert len(found) >= 3
    assert len({exercise.id for exercise in found}) == len(found)
    assert len({exercise.score.position for exercise in found}) == len(found)
    for exercise in found:
        scale = exercise.score.scale
        assert scale is not None
        assert {note.midi % 12 for note in exercise.score.notes} == {note.pitch_class for note in scale.notes}


def test_five_pentatonic_positions_and_seven_with_three_notes_a_string() -> None:
    """The counts that the trade teaches (common practice, no source)."""
    assert len(exercises(rule("A minor pentatonic", "positions: all", None))) == 5
    three = "shape: three notes per string\npositions: all"
    assert len(exercises(rule("A major", three, None))) == 7


def test_a_lesson_has_no_more_exercises_for_being_written_short() -> None:
    blocks = [
        rule("A minor pentatonic", "strings: 1\nkeys: circle of fourths").replace("a\n", f"a{nth}\n", 1)
        for nth in range(18)
    ]
    reading = read(*blocks)

    assert {finding.code for finding in reading.findings} == {"too-many-exercises"}
    assert len(reading.findings) == 2
    assert sum(1 for _ in reading.course.exercises) == 192


def test_what_goes_wrong_in_one_key_is_said_of_that_key() -> None:
    """The lowest A is on the sixth string, and no root of D lies on it in this position."""
    (finding,) = read(
        rule("A minor pentatonic", "strings: 6\nlowest: root\nkeys: A, D, same position")
    ).findings

    assert finding.message.startswith("In D: ")
    assert finding.span.text == "root"
