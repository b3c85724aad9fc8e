"""Filming as a teacher asks for it, in a process of its own."""

import signal
import subprocess
import sys
import time
from pathlib import Path

import av
import pytest

DEMO = Path(__file__).parents[2] / "demo"
EXERCISE = "04-hammer-ons/hammered"


def command(*words: str | Path) -> list[str]:
    return [sys.executable, "-m", "fretwright", "film", *map(str, words)]


def film(*words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command(*words), capture_output=True, text=True, timeout=300, check=False, encoding="utf-8"
    )


def write_course(course: Path, tempo: str) -> None:
    """A course of one short exercise."""
    (course / "lessons").mkdir(parents=True)
    (course / "course.yaml").write_text("title: Small\nteacher: Nobody\n", encoding="utf-8")
    (course / "lessons" / "01-one.md").write_text(
        "---\ntitle: One\ngoal: Play.\n---\n\n```exercise short\nscale: A minor pentatonic\nposition: 5\n"
        f"strings: 2 to 1\npath: up\nnotes: quarters\ntempo: {tempo}\n```\n",
        encoding="utf-8",
    )


def test_a_complete_film_of_the_demo_can_be_watched(tmp_path: Path) -> None:
    out = tmp_path / "hammered.mp4"

    made = film(DEMO, EXERCISE, "--out", out, "--tempo", "200", "--size", "720p", "--fps", "25")

    assert made.returncode == 0, made.stderr
    assert made.stdout == ""
    assert "hammered.mp4" in made.stderr
    assert {path.name for path in tmp_path.iterdir()} == {"hammered.mp4", "hammered.vtt"}
    with av.open(str(out)) as file:
        kinds = [stream.type for stream in file.streams]
        video = file.streams.video[0]
        # A title of three seconds, a bar of count-in and two bars of music at 200 beats a minute.
        assert float(video.frames / 25) == pytest.approx(3 + 12 * 60 / 200 + 0.5, abs=0.1)
        assert (video.width, video.height) == (1280, 720)
        assert [mark["metadata"]["title"] for mark in file.chapters()][1] == "Count-in"
    assert {"video", "audio", "subtitle"} <= set(kinds)
    captions = out.with_suffix(".vtt").read_text(encoding="utf-8")
    assert "Bars 1 and 2: strings 6 to 1, frets 8 to 11" in captions.replace("\n", " ")


def test_an_overlay_has_alpha_and_no_sound(tmp_path: Path) -> None:
    out = tmp_path / "hammered.mov"

    made = film(
        DEMO,
        EXERCISE,
        "--overlay",
        "--out",
        out,
        "--tempo",
        "300",
        "--size",
        "720p",
        "--fps",
        "25",
        "--fretboard",
    )

    assert made.returncode == 0, made.stderr
    with av.open(str(out)) as file:
        assert [stream.type for stream in file.streams] == ["video"]
        picture = next(file.decode(video=0)).to_ndarray(format="rgba")
    assert picture[..., 3].min() == 0
    assert picture[..., 3].max() == 255


@pytest.mark.parametrize("shape", ["16:9", "1:1", "9:16"])
def test_a_still_comes_in_every_shape(tmp_path: Path, shape: str) -> None:
    out = tmp_path / "still.png"

    made = film(
        DEMO, "07-first-lick/night-watch", "--still", "--shape", shape, "--size", "720p", "--out", out
    )

    assert made.returncode == 0, made.stderr
    wide, high = (int(part) for part in shape.split(":"))
    with av.open(str(out)) as file:
        video = file.streams.video[0]
        assert video.width * high == video.height * wide
        assert min(video.width, video.height) == 720


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--out", "film.avi"], ".mp4"),
        (["--out", "film.mp4", "--overlay"], ".webm"),
        (["--out", "film.jpg", "--still"], ".png"),
        (["--out", "film.mp4", "--size", "1000p"], "even"),
        (["--out", "film.mp4", "--size", "144p"], "720p"),
        (["--out", "film.mp4", "--fps", "24"], "30"),
        (["--out", "film.mp4", "--shape", "4:3"], "16:9"),
        (["--out", "film.mp4", "--tempo", "1000"], "400"),
        (["--out", "nowhere/film.mp4"], "nowhere"),
        (["--out", "film.mp4", "--prores"], "--overlay"),
    ],
)
def test_what_cannot_be_filmed_is_wrong_use(tmp_path: Path, words: list[str], said: str) -> None:
    out = words.index("--out") + 1
    placed = [*words[:out], str(tmp_path / words[out]), *words[out + 1 :]]

    refused = film(DEMO, EXERCISE, *placed)

    assert refused.returncode == 2
    assert said in refused.stderr
    assert "Traceback" not in refused.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_lesson_is_filmed_exercise_by_exercise(tmp_path: Path) -> None:
    course = tmp_path / "course"
    write_course(course, tempo="300")
    lesson = course / "lessons" / "01-one.md"
    lesson.write_text(
        lesson.read_text(encoding="utf-8")
        + "\n```exercise back\nfrom: short\npath: down\n```\n\n```exercise broken\nfrom: nothing\n```\n",
        encoding="utf-8",
    )

    made = film(course, "01-one", "--out", tmp_path / "films", "--size", "720p", "--fps", "25")

    assert made.returncode == 1, made.stderr
    assert "nothing" in made.stderr
    assert {path.name for path in (tmp_path / "films").iterdir()} == {
        "short.mp4", "short.vtt", "back.mp4", "back.vtt"
    }  # fmt: skip


def test_an_unknown_lesson_is_wrong_use(tmp_path: Path) -> None:
    refused = film(DEMO, "99-nothing", "--out", tmp_path / "films")

    assert refused.returncode == 2
    assert "04-hammer-ons" in refused.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_film_of_nothing_names_what_there_is(tmp_path: Path) -> None:
    refused = film(DEMO, "04-hammer-ons/nothing", "--out", tmp_path / "film.mp4")

    assert refused.returncode == 2
    assert EXERCISE in refused.stderr


def test_a_broken_exercise_is_not_filmed(tmp_path: Path) -> None:
    course = tmp_path / "course"
    write_course(course, tempo="quick")

    refused = film(course, "01-one/short", "--out", tmp_path / "film.mp4")

    assert (refused.returncode, refused.stdout) == (1, "")
    assert "quick" in refused.stderr
    assert not (tmp_path / "film.mp4").exists()


@pytest.mark.parametrize("killed", [False, True])
def test_a_film_that_is_ended_has_no_name(tmp_path: Path, killed: bool) -> None:
    out = tmp_path / "film.mp4"
    process = subprocess.Popen(
        command(DEMO, EXERCISE, "--out", out, "--size", "720p"), stderr=subprocess.DEVNULL
    )
    deadline = time.monotonic() + 120
    while not any(path.stat().st_size > 30_000 for path in tmp_path.glob(".film.mp4.*")):
        assert process.poll() is None, "the film was done before it could be ended"
        assert time.monotonic() < deadline
        time.sleep(0.01)
    if killed:
        process.kill()
    else:
        process.send_signal(signal.SIGINT)
    process.wait(timeout=60)

    assert process.returncode != 0
    assert not out.exists()
    assert not out.with_suffix(".vtt").exists()
    if not killed:
        assert list(tmp_path.iterdir()) == []
