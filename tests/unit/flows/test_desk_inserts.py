"""What the desk writes is read again as what was meant."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import FretwrightError, UsageError
from fretwright.course.model import Exercise, Reading
from fretwright.course.reader import read_course
from fretwright.flows.desk_inserts import (
    NOTE_CHOICES,
    PATHS,
    SLURS,
    RuleChoices,
    chord_block,
    chords_held,
    free_id,
    ids_in,
    readings_of,
    rule_block,
    spot_for,
)
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.shapes import positions_of
from fretwright.fretboard.tuning import Tuning
from fretwright.fretboard.voicing import parse_frets
from fretwright.fretboard.voicings import voicing_of, voicings
from fretwright.theory.chord import Chord
from fretwright.theory.scale import Scale

HEAD = "---\ntitle: A\ngoal: B.\n---\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("course")
    (made / "lessons").mkdir()
    (made / "course.yaml").write_text("title: A\nteacher: B\n", encoding="utf-8")
    (made / "lessons" / "01-a.md").write_text(HEAD, encoding="utf-8")
    return made


def read(folder: Path, *blocks: str, course: str = "title: A\nteacher: B\n") -> Reading:
    text = "\n".join([HEAD, *blocks])
    return read_course(folder, {"lessons/01-a.md": text, "course.yaml": course})


def the_exercise(folder: Path, block: str) -> Exercise:
    reading = read(folder, block)
    assert reading.findings == ()
    (exercise,) = reading.course.exercises
    return exercise


def test_a_block_from_choices_is_the_exercise_that_was_chosen(folder: Path) -> None:
    block = rule_block(RuleChoices("b minor pentatonic", 7, "up", "triplets", 60, 90, "hammer-on"))

    exercise = the_exercise(folder, block)

    assert exercise.id == "b-minor-pentatonic"
    assert exercise.shape is not None
    assert exercise.shape.position == 7
    assert (exercise.ladder.start_bpm, exercise.ladder.goal_bpm) == (60, 90)
    assert any(note.attack.is_slur for note in exercise.score.notes)


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("notes", NOTE_CHOICES)
def test_every_choice_that_is_offered_can_be_read(folder: Path, path: str, notes: str) -> None:
    assert the_exercise(folder, rule_block(RuleChoices("G major", 2, path, notes))).score.notes


@pytest.mark.parametrize("slur", SLURS)
def test_every_slur_that_is_offered_can_be_read(folder: Path, slur: str) -> None:
    exercise = the_exercise(folder, rule_block(RuleChoices("A blues", 5, "up, down", slur=slur)))

    assert {note.attack.value for note in exercise.score.notes} == {"pluck", *slur.split(", ")}


@pytest.mark.parametrize(
    "choices",
    [
        RuleChoices("A minor", 5, "sideways"),
        RuleChoices("A minor", 5, notes="eighths\nremark: x"),
        RuleChoices("A minor", 5, slur="bend"),
        RuleChoices("A minor", 5, slow_bpm=90, goal_bpm=60),
        RuleChoices("A minor", 5, slow_bpm=0),
        RuleChoices("H minor", 5),
        RuleChoices("A minor\ntitle: x", 5),
    ],
)
def test_what_was_not_offered_is_refused(choices: RuleChoices) -> None:
    with pytest.raises(FretwrightError):
        rule_block(choices)


@pytest.mark.parametrize("name", ["A minor pentatonic", "Eb dorian", "E blues"])
def test_the_places_of_a_shape_are_known_for_that_shape(name: str) -> None:
    neck = Neck()
    for shape in positions_of(Scale.parse(name), neck):
        found = readings_of([note.place for note in shape.notes], neck)

        offered = {each.says: each.block for each in found}
        assert f"scale: {name}\nposition: {shape.position}\n" in offered[shape.name]
        if shape.notes[0].degree.semitones == 0:
            assert found[0].scale == name
        assert found[-1].says == f"{len(shape.notes)} notes in a line, of {found[0].scale}"


def test_a_shape_in_another_tuning_is_known_there(folder: Path) -> None:
    neck = Neck(Tuning.parse("DADGAD"), capo=2)
    shape = positions_of(Scale.parse("E minor pentatonic"), neck)[1]

    found = readings_of([note.place for note in shape.notes], neck)

    course = "title: A\nteacher: B\ntuning: DADGAD\ncapo: 2\n"
    shapes = [read(folder, each.block, course=course).course.exercises for each in found]
    assert shape in [exercise.shape for exercises in shapes for exercise in exercises]


def test_a_few_notes_of_a_scale_are_written_out_as_a_line(folder: Path) -> None:
    # A, C, D, E, G over three strings: the notes of the A minor pentatonic, but no whole position.
    places = [Place(4, 7), Place(3, 5), Place(2, 3), Place(2, 5), Place(2, 8)]

    (found,) = readings_of(places, Neck())

    assert found.says == "5 notes in a line, of A minor pentatonic"
    exercise = the_exercise(folder, found.block)
    assert [note.place for note in exercise.score.notes] == sorted(places, key=Neck().midi_at)
    assert exercise.score.scale == Scale.parse("A minor pentatonic")


_PLACES = st.sets(st.builds(Place, st.integers(1, 6), st.integers(0, 14)), min_size=1, max_size=24)


@given(_PLACES)
def test_any_places_come_back_from_what_was_written(folder: Path, places: set[Place]) -> None:
    found = readings_of(places, Neck())[-1]

    exercise = the_exercise(folder, found.block)
    played = {note.place for note in exercise.score.notes}
    assert played == places
    assert exercise.score.bars[-1].length == 1


@pytest.mark.parametrize("places", [[], [Place(7, 1)], [Place(1, 40)], [Place(1, n) for n in range(65)]])
def test_places_that_are_none_are_refused(places: list[Place]) -> None:
    with pytest.raises(FretwrightError):
        readings_of(places, Neck())


@pytest.mark.parametrize("frets", ["x32010", "320003", "x02210", "133211", "xx0232", "x-10-12-12-11-10"])
def test_a_chord_on_the_neck_is_struck_as_it_is_held(folder: Path, frets: str) -> None:
    neck = Neck()
    voicing = voicing_of(Chord.parse("C"), parse_frets(frets), neck)

    exercise = the_exercise(folder, chord_block(voicing))

    assert {note.place for note in exercise.score.notes} == {*voicing.places}
    assert {note.onset for note in exercise.score.notes} == {0}
    held = dict(zip(neck.tuning.strings, voicing.fingers, strict=True))
    assert all(note.finger == held[note.string] for note in exercise.score.notes)


def test_a_grip_has_its_names() -> None:
    held = chords_held("x-3-2-0-1-0", Neck())

    assert str(held[0].chord) == "C"
    assert all(each.text == "x32010" for each in held)
    with pytest.raises(FretwrightError, match="no chord"):
        chords_held("0-1-2-0-0-0", Neck())


@pytest.mark.parametrize("symbol", ["C", "F#m7b5/A", "Bb7#9", "Ebmaj9", "Dsus4", "Cm(maj7)", "A5", "G6"])
def test_every_chord_that_is_found_can_be_written(folder: Path, symbol: str) -> None:
    for voicing in voicings(Chord.parse(symbol), count=4):
        exercise = the_exercise(folder, chord_block(voicing))
        assert [label.text for label in exercise.score.labels] == [str(voicing.chord)]


def test_two_blocks_of_one_kind_have_two_ids(folder: Path) -> None:
    first = rule_block(RuleChoices("A minor pentatonic", 5))
    second = rule_block(RuleChoices("A minor pentatonic", 5), ids_in(HEAD + first))
    third = rule_block(RuleChoices("A minor pentatonic", 5), ids_in(HEAD + first + second))

    reading = read(folder, first, second, third)

    assert reading.findings == ()
    assert [exercise.id for exercise in reading.course.exercises][1:] == [
        "a-minor-pentatonic-2",
        "a-minor-pentatonic-3",
    ]


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("F# blues", "f-sharp-blues"),
        ("Bb major", "b-flat-major"),
        ("chord C#m7b5", "chord-c-sharp-m7b5"),
        ("7 1 b3", "exercise-7-1-b3"),
        ("***", "exercise"),
    ],
)
def test_an_id_is_made_of_words(words: str, name: str) -> None:
    assert free_id(words, ()) == name


BLOCK = "```exercise new\ntempo: 60\n```\n"


@pytest.mark.parametrize(
    ("line", "row"),
    [(1, 4), (4, 4), (5, 5), (6, 6), (7, 9), (8, 9), (9, 9), (10, 10), (99, 11)],
)
def test_a_block_goes_where_the_cursor_is_and_never_into_another(line: int, row: int) -> None:
    text = f"{HEAD}\nProse.\n```exercise old\ntempo: 60\n```\nMore.\n"

    assert spot_for(text, line, BLOCK).row == row


@given(st.integers(-3, 40), st.sampled_from(["", "\n", "Prose", "```exercise a\nx: y", "~~~\n```\n", HEAD]))
def test_a_block_put_in_its_spot_is_a_block_of_the_lesson(line: int, ending: str) -> None:
    text = f"{HEAD}\nProse.\n\n```exercise old\ntempo: 60\n```\n{ending}"
    unclosed = ending.startswith(("```", "~~~"))
    spot = spot_for(text, line, BLOCK)

    lines = text.split("\n")
    written = "\n".join([*lines[: spot.row], *spot.text.removesuffix("\n").split("\n"), *lines[spot.row :]])

    assert unclosed or {"old", "new"} <= ids_in(written)


def test_a_block_goes_into_an_empty_text() -> None:
    assert spot_for("", 1, BLOCK).row == 1


def test_no_spot_is_inside_the_keys_of_the_lesson() -> None:
    assert spot_for(HEAD, 2, BLOCK).row == 4
    with pytest.raises(UsageError):
        rule_block(RuleChoices("A minor", 5, "x"))
