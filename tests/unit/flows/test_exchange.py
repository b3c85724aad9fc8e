"""Exercises leave for other programs, and theirs become exercises that can be read."""

from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest

from exchange_scores import plain
from fretwright.base.errors import ExchangeError, UsageError
from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.course.starter import write_starter
from fretwright.exchange.draft import ReadOptions
from fretwright.exchange.midi_in import read_midi
from fretwright.exchange.midi_out import write_midi
from fretwright.exchange.musicxml_in import read_musicxml
from fretwright.exchange.musicxml_out import write_musicxml
from fretwright.flows.exchange import ExchangeJob, ExportOptions, adopt, export, read_file
from fretwright.flows.reading import check_course
from fretwright.fretboard.neck import Place
from fretwright.score.meter import Meter
from fretwright.score.note import Attack
from fretwright.score.score import Score
from plate_scores import written


def played(score: Score) -> Counter[tuple[Fraction, Fraction, Place, Attack]]:
    return Counter((note.onset, note.duration, note.place, note.attack) for note in score.notes)


def as_course(block: str, folder: Path) -> Checked:
    """A course whose first lesson holds the block alone."""
    write_starter(folder)
    lesson = min((folder / "lessons").iterdir())
    lesson.write_text(f"---\ntitle: One\ngoal: Play it.\n---\n\n{block}", encoding="utf-8")
    return check_course(folder)


def exercise_in(checked: Checked, name: str) -> Exercise:
    return next(exercise for exercise in checked.course.exercises if exercise.id == name)


def test_every_exercise_of_the_demo_course_comes_back_from_both_kinds_of_file(demo: Checked) -> None:
    for exercise in demo.course.exercises:
        score = demo.score_of(exercise)
        name = exercise.name
        by_xml = read_musicxml(export(demo, name, ".musicxml", ExportOptions()), "a.musicxml")
        assert played(by_xml.score) == played(score), name
        assert by_xml.findings == ()
        options = ExportOptions(track_per_string=True)
        by_midi = read_midi(export(demo, name, ".mid", options), "a.mid")
        assert len(by_midi.score.notes) >= len(score.notes), name


def test_the_tempo_can_be_chosen(demo: Checked, exercise: Exercise) -> None:
    data = export(demo, exercise.name, ".xml", ExportOptions(bpm=93.0))
    assert read_musicxml(data, "a.xml").score.tempo.bpm == 93.0


def test_an_unknown_ending_is_wrong_use(demo: Checked, exercise: Exercise) -> None:
    with pytest.raises(UsageError, match="ends in"):
        export(demo, exercise.name, ".doc", ExportOptions())


def test_a_job_makes_the_files_that_it_names(demo: Checked, exercise: Exercise) -> None:
    job = ExchangeJob.of(exercise, demo.score_of(exercise))
    made = job.make()
    assert tuple(made) == job.paths == tuple(download.path for download in job.downloads)
    assert made == job.make()
    assert job.key == ExchangeJob.of(exercise, demo.score_of(exercise)).key


def test_an_adopted_file_is_an_exercise_that_can_be_read(demo: Checked, tmp_path: Path) -> None:
    for number, exercise in enumerate(demo.course.exercises):
        score = demo.score_of(exercise)
        file = tmp_path / "piece.musicxml"
        file.write_bytes(write_musicxml(score))
        adopted = adopt(file)
        again = exercise_in(as_course(adopted.text, tmp_path / str(number)), exercise.id)
        assert played(again.score) == played(score), exercise.name


def test_the_ladder_climbs_to_the_tempo_of_the_file(tmp_path: Path) -> None:
    file = tmp_path / "piece.mid"
    file.write_bytes(write_midi(plain()))
    assert "tempo: 48 to 80\n" in adopt(file).text


def test_a_change_of_meter_is_an_error_and_some_bars_can_be_taken(tmp_path: Path) -> None:
    first, second = written("w6/0 w6/2"), written("h.5/0 h.5/2", meter=Meter(3, 4))
    one, other = (write_musicxml(score).decode() for score in (first, second))
    inside = other[other.index("<measure") : other.index("</part>")]
    inside = inside.replace('number="1"', 'number="3"', 1).replace('number="2"', 'number="4"', 1)
    for name in ("b1t0s5", "b2t0s5"):
        inside = inside.replace(f'id="{name}"', f'id="x{name}"')
    file = tmp_path / "both.musicxml"
    file.write_text(one.replace("</part>", f"{inside}</part>"), encoding="utf-8")
    whole = adopt(file)
    assert whole.text == ""
    assert [finding.code for finding in whole.findings if finding.is_error] == ["text-cannot-hold"]
    part = adopt(file, ReadOptions(bars=(3, 4)))
    assert "meter: 3/4" in part.text


def test_what_a_file_is_decides_and_not_its_name(tmp_path: Path) -> None:
    file = tmp_path / "piece.xml"
    file.write_bytes(write_midi(plain()))
    assert len(read_file(file).score.notes) == 8


def test_a_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(ExchangeError, match="cannot be read"):
        read_file(tmp_path / "nowhere.mid")
