"""A teacher films a lesson with a phone and has the tab laid over it, in a process of its own."""

import hashlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import av
import jsonschema
import numpy as np
import pytest

from filmed_lesson import LESSON, track_of, write_lesson
from lesson_tracks import LessonTrack
from recordings import Camera, record, silence

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "docs" / "schemas" / "cues.schema.json").read_text(encoding="utf-8"))
LIMITED = """\
import resource, sys
resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))
from fretwright.cli.main import main
sys.argv[0] = "fretwright"
main()
"""


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_lesson(tmp_path_factory.mktemp("course"))


@pytest.fixture(scope="module")
def track(course: Path) -> LessonTrack:
    return track_of(course)


@pytest.fixture(scope="module")
def recording(track: LessonTrack, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return record(tmp_path_factory.mktemp("phone") / "lesson.mp4", track.samples)


def film(
    course: Path, *words: str | Path, program: Sequence[str] = ("-m", "fretwright")
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *program, "film", str(course), LESSON, *map(str, words)],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
        encoding="utf-8",
    )


def seen_cards(path: Path) -> list[tuple[float, bool]]:
    """Of each picture its time and whether a card is on it: paper in the middle of the lower third."""
    with av.open(str(path)) as file:
        pictures = [
            (float(frame.time or 0), frame.to_ndarray(format="gray")) for frame in file.decode(video=0)
        ]
    return [
        (
            time_s,
            float(np.median(grey[int(0.7 * len(grey)) : int(0.95 * len(grey)), len(grey[0]) // 3 :])) > 200,
        )
        for time_s, grey in pictures
    ]


def test_a_lesson_gets_its_tab_where_it_is_played(
    course: Path, recording: Path, track: LessonTrack, tmp_path: Path
) -> None:
    before = (hashlib.sha256(recording.read_bytes()).digest(), recording.stat().st_mtime_ns)
    out = tmp_path / "film.mp4"

    made = film(course, "--over", recording, "--out", out)

    assert (made.returncode, made.stdout) == (0, ""), made.stderr
    assert "2 demonstrations" in made.stderr
    assert {path.name for path in tmp_path.iterdir()} == {"film.mp4", "film.vtt", "film.json", "film.txt"}
    assert (hashlib.sha256(recording.read_bytes()).digest(), recording.stat().st_mtime_ns) == before

    sheet = json.loads((tmp_path / "film.json").read_text(encoding="utf-8"))
    jsonschema.validate(sheet, SCHEMA)
    told = [[note["onset_s"] for note in one["notes"]] for one in sheet["demonstrations"]]
    for onsets, truth in zip(told, track.played, strict=True):
        assert onsets == pytest.approx(truth.onsets_s, abs=0.02)
    for time_s, is_card in seen_cards(out):
        speaks = any(begin_s <= time_s <= end_s for begin_s, end_s in track.spoken)
        plays = any(one.onsets_s[0] <= time_s <= one.onsets_s[-1] for one in track.played)
        assert not (speaks and is_card), time_s
        assert is_card or not plays, time_s
    report = (tmp_path / "film.txt").read_text(encoding="utf-8")
    assert report.count("as written") == 2
    captions = (tmp_path / "film.vtt").read_text(encoding="utf-8")
    first_cue_s = float(captions.split("\n")[2].split(" --> ")[0].split(":")[-1])
    assert first_cue_s == pytest.approx(track.played[0].onsets_s[0], abs=0.02)
    with av.open(str(out)) as file:
        titles = [mark["metadata"]["title"] for mark in file.chapters()]
    assert [title.split(",")[0] for title in titles] == ["Opening", "Climb", "Leaps"]


def test_the_overlay_alone_is_as_long_as_the_recording(course: Path, recording: Path, tmp_path: Path) -> None:
    made = film(course, "--over", recording, "--overlay", "--out", tmp_path / "a.mov", "--size", "720p")

    assert made.returncode == 0, made.stderr
    with av.open(str(recording)) as file:
        length_s = file.streams.video[0].frames / 25
    with av.open(str(tmp_path / "a.mov")) as file:
        video = file.streams.video[0]
        assert (video.width, video.height) == (1280, 720)
        assert video.frames / 25 == pytest.approx(length_s, abs=0.1)


def test_a_turned_phone_with_an_uneven_rate(course: Path, track: LessonTrack, tmp_path: Path) -> None:
    phone = record(tmp_path / "phone.mp4", track.samples, Camera(rate=30, uneven=True, turned=90))

    made = film(course, "--over", phone, "--out", tmp_path / "film.mp4")

    assert made.returncode == 0, made.stderr
    with av.open(str(tmp_path / "film.mp4")) as file:
        video = file.streams.video[0]
        assert (video.width, video.height) == (360, 640)
        times = [float(frame.time or 0) for frame in file.decode(video=0)]
    assert np.ptp(np.diff(times)) < 0.002


def test_what_is_not_the_lesson_is_refused_and_nothing_written(course: Path, tmp_path: Path) -> None:
    talk = record(tmp_path / "talk.mp4", LessonTrack().talk(5.0).samples)
    quiet = record(tmp_path / "quiet.mp4", silence(3.0))

    for path, said in ((talk, "None of the lesson's exercises"), (quiet, "silent")):
        refused = film(course, "--over", path, "--out", tmp_path / "film.mp4")
        assert (refused.returncode, refused.stdout) == (1, "")
        assert said in refused.stderr
    assert {path.name for path in tmp_path.iterdir()} == {"talk.mp4", "quiet.mp4"}


def test_a_full_disk_leaves_nothing_half_written(course: Path, recording: Path, tmp_path: Path) -> None:
    """A limit on the size of files stands in for a disk: both refuse the write in the middle of the film."""
    full = film(course, "--over", recording, "--out", tmp_path / "film.mp4", program=("-c", LIMITED))

    assert full.returncode == 2, full.stderr
    assert "cannot be written" in full.stderr
    assert "Traceback" not in full.stderr
    assert list(tmp_path.iterdir()) == []


def state_of(path: Path) -> tuple[bytes, int]:
    return hashlib.sha256(path.read_bytes()).digest(), path.stat().st_mtime_ns


@pytest.mark.parametrize("until", ["heard", "filmed"])
@pytest.mark.parametrize("killed", [False, True])
def test_work_that_is_ended_leaves_no_name_and_the_recording_as_it_was(
    course: Path, recording: Path, tmp_path: Path, until: str, killed: bool
) -> None:
    before = state_of(recording)
    words = ["-m", "fretwright", "film", str(course), LESSON, "--over", str(recording), "--out"]
    with subprocess.Popen(
        [sys.executable, *words, str(tmp_path / "film.mp4")],
        stderr=subprocess.PIPE,
        text=True,
        # a group of its own, as a shell gives one: Ctrl-C goes to the process and to all that it has started
        start_new_session=True,
    ) as process:
        deadline = time.monotonic() + 120
        while not is_reached(until, process.pid, tmp_path):
            assert process.poll() is None, "it was done before it could be ended"
            assert time.monotonic() < deadline
            time.sleep(0.005)
        if killed:
            process.kill()
        else:
            os.killpg(process.pid, signal.SIGINT)
        said = process.communicate(timeout=60)[1]

    assert process.returncode != 0
    assert "Traceback" not in said
    assert not any(path.name.startswith("film") for path in tmp_path.iterdir())
    if not killed:
        assert list(tmp_path.iterdir()) == []
    assert state_of(recording) == before


def is_reached(until: str, pid: int, folder: Path) -> bool:
    """Whether the sound is being decoded, or the film has been begun."""
    if until == "heard":
        children = Path(f"/proc/{pid}/task/{pid}/children")
        return not children.exists() or children.read_text(encoding="ascii") != ""
    return any(path.stat().st_size > 0 for path in folder.glob(".film.mp4.*"))
