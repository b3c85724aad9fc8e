"""What must hold for every drill, whatever the scale and the way through it."""

import tempfile
from itertools import pairwise
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from fretwright.course.model import Exercise
from fretwright.course.reader import read_course
from fretwright.score.note import Attack

SCALES = ("G major", "D dorian", "A harmonic minor", "F# natural minor", "Bb mixolydian")
NAMED = {"thirds": 3, "fourths": 4, "fifths": 5, "sixths": 6, "groups of 3": 3, "groups of 4": 4}


def built(**keys: str) -> Exercise:
    """The one exercise of these keys, which has to be without a finding."""
    block = "\n".join(f"{name.replace('_', ' ')}: {value}" for name, value in keys.items())
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "lessons").mkdir()
        (folder / "course.yaml").write_text("title: A\nteacher: B\n", encoding="utf-8")
        lesson = f"---\ntitle: A\ngoal: B\n---\n```exercise a\n{block}\ntempo: 60\nnotes: eighths\n```\n"
        (folder / "lessons" / "01-a.md").write_text(lesson, encoding="utf-8")
        reading = read_course(folder)
    assert reading.findings == ()
    (exercise,) = reading.course.exercises
    return exercise


def played(**keys: str) -> list[int]:
    return [note.midi for note in built(**keys).score.notes]


@given(st.sampled_from(SCALES), st.sampled_from(sorted(NAMED)), st.integers(1, 12))
def test_a_pattern_starts_from_every_note_that_leaves_it_room(
    scale: str, pattern: str, position: int
) -> None:
    run = played(scale=scale, position=str(position))
    reach = NAMED[pattern]

    drill = played(scale=scale, position=str(position), pattern=pattern)

    size = reach if pattern.startswith("groups") else 2
    groups = [tuple(drill[at : at + size]) for at in range(0, len(drill), size)]
    wanted = (
        [tuple(run[at : at + reach]) for at in range(len(run) - reach + 1)]
        if pattern.startswith("groups")
        else list(zip(run, run[reach - 1 :], strict=False))
    )
    assert groups == wanted


@given(st.sampled_from(SCALES), st.integers(1, 6), st.integers(0, 12))
def test_along_a_string_are_all_notes_of_the_scale_within_an_octave(
    scale: str, string: int, position: int
) -> None:
    exercise = built(scale=scale, position=str(position), shape=f"along string {string}")
    notes = exercise.score.notes

    assert exercise.score.scale is not None
    in_scale = {
        fret
        for fret in range(position, min(position + 12, 22) + 1)
        if exercise.score.scale.contains(exercise.score.neck.tuning.open_pitches[string - 1].midi + fret)
    }
    assert [note.fret for note in notes] == sorted(in_scale)
    assert {note.string for note in notes} == {string}
    assert exercise.shape is None


@given(st.integers(2, 8), st.sampled_from(["up, down", "up", "down, up"]))
def test_the_first_of_every_group_is_plucked_and_others_only_where_the_string_changes(
    size: int, path: str
) -> None:
    notes = built(
        scale="G major",
        shape="three notes per string",
        position="3",
        path=path,
        slur="hammer-on, pull-off",
        pluck=f"first of {size}",
    ).score.notes

    for nth, (before, note) in enumerate(pairwise(notes), start=1):
        is_plucked = nth % size == 0 or before.string != note.string
        assert (note.attack is Attack.PLUCK) == is_plucked


@given(st.integers(2, 20), st.sampled_from(["up", "up, down", "down"]))
def test_a_loop_is_the_path_written_so_often(loops: int, path: str) -> None:
    keys = {"scale": "A minor pentatonic", "position": "5", "strings": "4 to 3"}

    assert played(**keys, path=path, loop=str(loops)) == played(**keys, path=", ".join([path] * loops))


@given(st.sampled_from(["e", "q", "q e", "h", "s", "rq."]))
def test_late_moves_every_onset_by_the_same(late: str) -> None:
    keys = {"scale": "A minor pentatonic", "position": "5"}
    lengths = {"w": 32, "h": 16, "q": 8, "e": 4, "s": 2}
    dotted = 12 if late == "rq." else sum(lengths[letter] for letter in late.split())

    moved = [note.onset for note in built(**keys, late=late).score.notes]

    straight = [note.onset for note in built(**keys).score.notes]
    assert {after - before for after, before in zip(moved, straight, strict=True)} == {
        straight[1] * dotted / 4
    }
