"""A student's take judged from the command line, in processes of its own.

The takes are the teacher's own sound of the exercise: enough to hold the command to its contract. How
well the ear hears is measured on recorded guitars (``evaluation/ear``).
"""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import soundfile
from lxml import etree

from fretwright.flows.reading import check_course
from fretwright.sound.files import write_audio
from fretwright.sound.render import Sound, render

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo"
EXERCISE = "04-hammer-ons/hammered"
SCHEMA = json.loads((ROOT / "docs" / "schemas" / "hear.schema.json").read_text(encoding="utf-8"))


def hear(take: Path, *more: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "fretwright", "hear", str(DEMO), EXERCISE, str(take), *more]
    return subprocess.run(command, capture_output=True, text=True, timeout=300, check=False, encoding="utf-8")


def data_of(result: subprocess.CompletedProcess[str]) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(result.stdout)
    jsonschema.validate(data, SCHEMA)
    return data


@pytest.fixture(scope="module")
def sound() -> Sound:
    checked = check_course(DEMO)
    return render(checked.fingered[EXERCISE].score)


@pytest.fixture(scope="module")
def takes(sound: Sound, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("takes")
    for suffix in (".wav", ".m4a", ".webm"):
        write_audio(sound, folder / f"take{suffix}")
    soundfile.write(folder / "silence.wav", np.zeros(48_000), 16_000)
    (folder / "letter.mp3").write_text("Dear teacher, I could not practise this week.", encoding="utf-8")
    return folder


@pytest.mark.parametrize("suffix", [".wav", ".m4a", ".webm"])
def test_the_teachers_own_sound_is_heard_note_by_note(takes: Path, sound: Sound, suffix: str) -> None:
    result = hear(takes / f"take{suffix}", "--json")

    assert result.returncode == 0, result.stderr
    data = data_of(result)
    assert data["exercise"] == EXERCISE
    assert [note["id"] for note in data["notes"]] == [timed.note_id for timed in sound.time_map]
    assert [note["verdict"] for note in data["notes"]].count("played") >= len(data["notes"]) - 1
    away = [
        abs(note["onset_s"] - timed.onset_s)
        for note, timed in zip(data["notes"], sound.time_map, strict=True)
        if note["onset_s"] is not None
    ]
    assert float(np.median(away)) < 0.01
    assert abs(data["tuning_cents"]) < 3
    assert data["passes"][-1]["complete"]


def test_without_json_the_first_line_is_what_to_do(takes: Path) -> None:
    result = hear(takes / "take.wav")

    assert result.returncode == 0, result.stderr
    headline = result.stdout.splitlines()[0]
    assert headline == data_of(hear(takes / "take.wav", "--json"))["summary"]["headline"]
    assert "beats a minute" in result.stdout


@pytest.mark.parametrize(("name", "word"), [("silence.wav", "silent"), ("letter.mp3", "cannot be read")])
def test_a_take_that_cannot_be_judged_is_refused_with_its_mend(takes: Path, name: str, word: str) -> None:
    result = hear(takes / name, "--json")

    assert result.returncode == 1
    refused = data_of(result)["refused"]
    assert word in refused["reason"]
    assert refused["mend"]

    in_words = hear(takes / name)
    assert in_words.returncode == 1
    assert refused["reason"] in in_words.stderr


def test_a_file_that_is_not_there_is_wrong_use(takes: Path) -> None:
    result = hear(takes / "nothing.wav", "--json")

    assert result.returncode == 2
    assert "nothing.wav" in result.stderr
    assert "Traceback" not in result.stderr


def test_the_picture_holds_the_plate_and_a_place_for_every_note_heard(takes: Path, tmp_path: Path) -> None:
    picture = tmp_path / "heard.svg"

    data = data_of(hear(takes / "take.wav", "--json", "--picture", str(picture)))

    groups = [
        (group.get("class"), group.get("data-note"))
        for group in etree.parse(picture).getroot().iter("{http://www.w3.org/2000/svg}g")
    ]
    for note in data["notes"]:
        assert ("note", note["id"]) in groups
        heard = note["verdict"] in {"played", "wrong"}
        # once on the strip of timing, once on that of levels
        assert groups.count(("dot", note["id"])) == (2 if heard else 0)
    again = tmp_path / "again.svg"
    hear(takes / "take.wav", "--picture", str(again))
    assert again.read_bytes() == picture.read_bytes()


def test_a_refused_take_leaves_no_picture(takes: Path, tmp_path: Path) -> None:
    picture = tmp_path / "heard.svg"

    assert hear(takes / "silence.wav", "--picture", str(picture)).returncode == 1
    assert not picture.exists()


def test_a_picture_that_cannot_be_written_is_told(takes: Path, tmp_path: Path) -> None:
    result = hear(takes / "take.wav", "--picture", str(tmp_path / "nowhere" / "heard.svg"))

    assert result.returncode == 2
    assert "cannot be written" in result.stderr


def test_what_the_ear_went_by_is_drawn_with_every_note(takes: Path, tmp_path: Path) -> None:
    drawn = tmp_path / "why.svg"

    data = data_of(hear(takes / "take.wav", "--json", "--explain", str(drawn)))

    notes = [
        group.get("data-note")
        for group in etree.parse(drawn).getroot().iter()
        if group.get("class") == "note"
    ]
    assert notes == [note["id"] for note in data["notes"]]
