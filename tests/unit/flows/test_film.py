from collections.abc import Iterator
from pathlib import Path

import av
import pytest

from fretwright.base.errors import RenderError, UsageError
from fretwright.check.check import Checked
from fretwright.film.size import FilmSize
from fretwright.flows.film import FilmOrder, film, film_lesson, still
from fretwright.flows.reading import check_course
from small_course import small_course

SIZE = FilmSize(160, 120, 25)


@pytest.fixture(scope="module")
def checked(tmp_path_factory: pytest.TempPathFactory) -> Checked:
    folder = tmp_path_factory.mktemp("course")
    small_course(folder)
    return check_course(folder)


def kinds(path: Path) -> Iterator[str]:
    with av.open(str(path)) as file:
        yield from (stream.type for stream in file.streams)


def length_s(path: Path) -> float:
    with av.open(str(path)) as file:
        return file.streams.video[0].frames / 25


def test_without_a_tempo_the_first_rung_is_filmed(checked: Checked, tmp_path: Path) -> None:
    rung, given, faster = tmp_path / "rung.mp4", tmp_path / "given.mp4", tmp_path / "faster.mp4"
    film(FilmOrder("02-lamp/last-line", rung, SIZE), checked)
    film(FilmOrder("02-lamp/last-line", given, SIZE, bpm=90), checked)
    film(FilmOrder("02-lamp/last-line", faster, SIZE, bpm=180), checked)

    assert rung.read_bytes() == given.read_bytes()
    # Three bars of four beats, one of them counted in.
    assert length_s(rung) - length_s(faster) == pytest.approx(12 * 60 * (1 / 90 - 1 / 180), abs=0.05)


def test_an_overlay_has_no_title_and_no_sound(checked: Checked, tmp_path: Path) -> None:
    out = tmp_path / "a.mov"

    made = film(FilmOrder("02-lamp/last-line", out, SIZE, bpm=240, overlay=True, fretboard=False), checked)

    assert made == (out, tmp_path / "a.vtt")
    assert list(kinds(out)) == ["video"]
    assert length_s(out) == pytest.approx(12 * 60 / 240 + 0.5, abs=0.05)


def test_a_click_is_heard_where_one_is_asked_for(checked: Checked, tmp_path: Path) -> None:
    plain, clicked = tmp_path / "plain.mp4", tmp_path / "clicked.mp4"
    film(FilmOrder("02-lamp/last-line", plain, SIZE, bpm=240), checked)
    film(FilmOrder("02-lamp/last-line", clicked, SIZE, bpm=240, click=True), checked)

    assert plain.read_bytes() != clicked.read_bytes()


@pytest.mark.parametrize("exercise", ["01-stairs/up-and-back", "01-stairs/slurred"])
def test_the_fretboard_is_that_of_the_shape_or_else_of_the_notes(
    checked: Checked, tmp_path: Path, exercise: str
) -> None:
    still(FilmOrder(exercise, tmp_path / "with.png", SIZE), checked)
    still(FilmOrder(exercise, tmp_path / "without.png", SIZE, fretboard=False), checked)

    assert (tmp_path / "with.png").read_bytes() != (tmp_path / "without.png").read_bytes()


def test_a_lesson_is_filmed_whole_and_counted(checked: Checked, tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    order = FilmOrder("", tmp_path / "films", SIZE, bpm=300, overlay=True, fretboard=False)

    made = film_lesson(order, "02-lamp", checked, lambda done, total: told.append((done, total)))

    assert made == (tmp_path / "films" / "last-line.webm",)
    assert made[0].stat().st_size > 0
    assert told == [(0, 1), (1, 1)]


def test_what_is_not_there_is_refused(checked: Checked, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="01-stairs/slurred"):
        film(FilmOrder("01-stairs/nothing", tmp_path / "a.mp4", SIZE), checked)
    with pytest.raises(UsageError, match="01-stairs"):
        film_lesson(FilmOrder("", tmp_path / "films", SIZE), "03-nothing", checked, lambda *_: None)
    (tmp_path / "taken").touch()
    with pytest.raises(RenderError, match="taken"):
        film_lesson(FilmOrder("", tmp_path / "taken", SIZE), "02-lamp", checked, lambda *_: None)
    with pytest.raises(UsageError, match="400"):
        film(FilmOrder("02-lamp/last-line", tmp_path / "a.mp4", SIZE, bpm=1000), checked)
    (tmp_path / "folder.mp4").mkdir()
    with pytest.raises(RenderError, match=r"folder\.mp4"):
        film(FilmOrder("02-lamp/last-line", tmp_path / "folder.mp4", SIZE, bpm=300), checked)
    assert {path.name for path in tmp_path.iterdir()} == {"taken", "folder.mp4"}
