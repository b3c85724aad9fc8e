"""Each command as a teacher types it, in a process of its own."""

import json
import shutil
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import jsonschema
import pytest

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo"
SCHEMAS = ROOT / "docs" / "schemas"

LESSON = """\
---
title: One lesson
goal: Play two bars.
---

Slowly.

```exercise short
scale: A minor pentatonic
position: 5
strings: 2 to 1
path: up
notes: quarters
tempo: 100
```
"""


def fretwright(*words: str | Path, timeout: float = 300) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "fretwright", *map(str, words)]
    return subprocess.run(
        command, capture_output=True, text=True, timeout=timeout, check=False, encoding="utf-8"
    )


def data_of(result: subprocess.CompletedProcess[str], schema: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(result.stdout)
    jsonschema.validate(data, json.loads((SCHEMAS / f"{schema}.schema.json").read_text(encoding="utf-8")))
    return data


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A course of one short exercise: quick to build."""
    folder = tmp_path / "small"
    (folder / "lessons").mkdir(parents=True)
    (folder / "course.yaml").write_text("title: Small\nteacher: Nobody\n", encoding="utf-8")
    (folder / "lessons" / "01-one.md").write_text(LESSON, encoding="utf-8")
    return folder


def files_in(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }


# -- new, check, inspect, shape ----------------------------------------------------------------------------


def test_a_new_course_has_nothing_to_mend(tmp_path: Path) -> None:
    made = fretwright("new", tmp_path / "mine")
    checked = fretwright("check", tmp_path / "mine", "--json")

    assert made.returncode == 0
    assert checked.returncode == 0
    assert data_of(checked, "check") == {"findings": []}


def test_new_never_writes_over_what_is_there(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")

    refused = fretwright("new", tmp_path)

    assert refused.returncode == 2
    assert "fretwright: " in refused.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_the_demo_course_has_nothing_to_mend() -> None:
    checked = fretwright("check", DEMO, "--json")

    assert (checked.returncode, checked.stderr) == (0, "")
    assert data_of(checked, "check") == {"findings": []}


def test_check_says_where_what_and_how_to_mend_it(small: Path) -> None:
    lesson = small / "lessons" / "01-one.md"
    lesson.write_text(LESSON.replace("position: 5", "positoin: 5"), encoding="utf-8")

    checked = fretwright("check", small, "--json")
    shown = fretwright("check", small)

    assert checked.returncode == shown.returncode == 1
    errors = [finding for finding in data_of(checked, "check")["findings"] if finding["severity"] == "error"]
    assert (errors[0]["file"], errors[0]["line"], errors[0]["column"]) == ("lessons/01-one.md", 10, 1)
    assert "position" in errors[0]["mend"]
    assert "lessons/01-one.md:10:1" in shown.stderr
    assert shown.stdout == ""


def test_inspect_lists_what_the_lesson_teaches() -> None:
    inspected = fretwright("inspect", DEMO, "04-hammer-ons/hammered", "--json", "--tempo", "90")

    data = data_of(inspected, "inspect")
    notes = data["notes"]
    assert data["tempo_bpm"] == 90
    # The first minor pentatonic box on C, fingers 1-4 and 1-3 (common practice, no source): one pluck and one
    # hammer-on to each string.
    assert [(note["string"], note["fret"], note["finger"]) for note in notes] == [
        (string, fret, finger)
        for string, upper in ((6, 11), (5, 10), (4, 10), (3, 10), (2, 11), (1, 11))
        for fret, finger in ((8, 1), (upper, 4 if upper == 11 else 3))
    ]
    assert [note["attack"] for note in notes] == ["pluck", "hammer-on"] * 6
    assert [note["stroke"] for note in notes[1::2]] == [None] * 6
    # Eighths at 90 beats a minute last a third of a second.
    assert [note["onset_s"] for note in notes] == pytest.approx([index / 3 for index in range(12)], abs=1e-6)
    # C3 to Eb5: C Eb F G Bb in MIDI numbers (ISO 16 pitches, C4 = 60).
    assert [note["midi"] for note in notes] == [48, 51, 53, 55, 58, 60, 63, 65, 67, 70, 72, 75]


def test_inspect_knows_exercises_by_name_only() -> None:
    unknown = fretwright("inspect", DEMO, "04-hammer-ons/nothing", "--json")

    assert unknown.returncode == 2
    assert "04-hammer-ons/hammered" in unknown.stderr


def test_inspect_of_a_broken_exercise_says_what_is_broken(small: Path) -> None:
    lesson = small / "lessons" / "01-one.md"
    lesson.write_text(LESSON.replace("tempo: 100", "tempo: quick"), encoding="utf-8")

    broken = fretwright("inspect", small, "01-one/short", "--json")

    assert (broken.returncode, broken.stdout) == (1, "")
    assert "quick" in broken.stderr


def test_shape_lays_a_scale_on_the_neck() -> None:
    data = data_of(fretwright("shape", "A minor pentatonic", "--position", "5", "--json"), "shape")

    (shape,) = data["shapes"]
    # Common practice, no source; MIDI numbers computed from the open strings.
    assert [note["fret"] for note in shape["notes"]] == [5, 8, 5, 7, 5, 7, 5, 7, 5, 8, 5, 8]
    assert [note["midi"] for note in shape["notes"]] == [45, 48, 50, 52, 55, 57, 60, 62, 64, 67, 69, 72]
    assert shape["tuning"] == ["E2", "A2", "D3", "G3", "B3", "E4"]


def test_shape_takes_other_tunings_and_draws(tmp_path: Path) -> None:
    picture = tmp_path / "shape.svg"
    shown = fretwright("shape", "D major", "--position", "2", "--tuning", "DADGAD", "--svg", picture)

    assert shown.returncode == 0, shown.stderr
    assert "D major, position 2" in shown.stdout
    assert picture.read_text(encoding="utf-8").startswith("<svg")


@pytest.mark.parametrize(
    "words", [["shape", "H minor"], ["shape", "A minor", "--tuning", "Q"], ["check"], ["bild"]]
)
def test_wrong_use_is_exit_code_two_and_one_sentence(words: list[str]) -> None:
    refused = fretwright(*words)

    assert refused.returncode == 2
    assert "Traceback" not in refused.stderr
    assert refused.stderr


@pytest.mark.parametrize("command", ["check", "inspect", "build"])
def test_a_folder_that_is_no_course_is_wrong_use(tmp_path: Path, command: str) -> None:
    more: dict[str, list[str]] = {"check": [], "inspect": ["a/b"], "build": ["--out", str(tmp_path / "out")]}

    refused = fretwright(command, tmp_path / "nowhere", *more[command])

    assert refused.returncode == 2
    assert "nowhere" in refused.stderr
    assert "Traceback" not in refused.stderr


# -- build -------------------------------------------------------------------------------------------------


def test_a_build_twice_gives_the_same_bytes_and_the_second_makes_nothing(small: Path, tmp_path: Path) -> None:
    first = fretwright("build", small, "--out", tmp_path / "a")
    other = fretwright("build", small, "--out", tmp_path / "b")
    again = fretwright("build", small, "--out", tmp_path / "a")

    assert (first.returncode, other.returncode, again.returncode) == (0, 0, 0)
    assert files_in(tmp_path / "a") == files_in(tmp_path / "b")
    assert "Nothing had changed" in again.stderr
    assert again.stdout == ""


def test_only_what_changed_is_made_again(small: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    fretwright("build", small, "--out", out)
    before = {path: (out / path).stat().st_mtime_ns for path in files_in(out)}

    lesson = small / "lessons" / "01-one.md"
    lesson.write_text(LESSON.replace("Slowly.", "Slowly, please."), encoding="utf-8")
    fretwright("build", small, "--out", out)

    changed = {path for path in files_in(out) if (out / path).stat().st_mtime_ns != before.get(path)}
    assert changed == {"lessons/01-one.html", "handouts/lesson-01-one.pdf", "handouts/course.pdf"}


def test_what_is_gone_from_the_course_goes_from_the_site(small: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    fretwright("build", small, "--out", out)
    lesson = small / "lessons" / "01-one.md"
    lesson.write_text(LESSON.replace("tempo: 100", "tempo: 90"), encoding="utf-8")
    fretwright("build", small, "--out", out)

    sounds = {path.name for path in (out / "sounds" / "01-one").iterdir()}
    assert sounds == {"short-90.js", "short-90.m4a"}


def test_a_broken_exercise_is_left_out_and_the_rest_is_built(small: Path, tmp_path: Path) -> None:
    lesson = small / "lessons" / "01-one.md"
    broken = LESSON.split("```exercise")[1].replace("short", "broken").replace("tempo: 100", "tempo: quick")
    lesson.write_text(LESSON + "\n```exercise" + broken, encoding="utf-8")

    built = fretwright("build", small, "--out", tmp_path / "out")

    assert built.returncode == 1
    assert "quick" in built.stderr
    assert {path.name for path in (tmp_path / "out" / "plates" / "01-one").glob("*.svg")} == {
        "short.svg",
        "short-narrow.svg",
        "short-fretboard.svg",
        "short-fretboard-mirrored.svg",
    }


def test_one_lesson_can_be_built_alone(small: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    shutil.copy(small / "lessons" / "01-one.md", small / "lessons" / "02-two.md")
    fretwright("build", small, "--out", out)
    before = {path: content for path, content in files_in(out).items() if "01-one" in path}
    for slug in ("01-one", "02-two"):
        lesson = small / "lessons" / f"{slug}.md"
        lesson.write_text(lesson.read_text(encoding="utf-8").replace("Slowly", "Gently"), encoding="utf-8")

    only = fretwright("build", small, "--out", out, "--only", "02-two")

    assert only.returncode == 0
    after = files_in(out)
    assert {path: content for path, content in after.items() if "01-one" in path} == before
    assert b"Gently" in after["lessons/02-two.html"]
    assert fretwright("build", small, "--out", out, "--only", "03").returncode == 2


def test_a_build_never_writes_into_somebodys_own_folder(small: Path, tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (own / "thesis.txt").write_text("mine", encoding="utf-8")

    refused = fretwright("build", small, "--out", own)

    assert refused.returncode == 2
    assert [path.name for path in own.iterdir()] == ["thesis.txt"]


def test_a_killed_build_leaves_whole_files_and_the_next_one_finishes(small: Path, tmp_path: Path) -> None:
    lesson = small / "lessons" / "01-one.md"
    lesson.write_text(LESSON.replace("tempo: 100", "tempo: 60 to 140"), encoding="utf-8")
    whole = tmp_path / "whole"
    fretwright("build", small, "--out", whole)

    out = tmp_path / "killed"
    command = [sys.executable, "-m", "fretwright", "build", str(small), "--out", str(out)]
    process = subprocess.Popen(command, stderr=subprocess.DEVNULL)
    deadline = time.monotonic() + 120
    while not list(out.glob("sounds/*/*.js")) and process.poll() is None and time.monotonic() < deadline:
        time.sleep(0.01)
    process.kill()
    process.wait()

    expected = files_in(whole)
    assert process.returncode != 0
    left = {path: data for path, data in files_in(out).items() if not path.endswith(".part")}
    assert 0 < len(left) < len(expected)
    assert all(data == expected[path] for path, data in left.items())
    assert fretwright("build", small, "--out", out).returncode == 0
    assert files_in(out) == expected
