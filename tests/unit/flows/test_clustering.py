"""Jobs on a real cluster of this machine: a scheduler, and a worker in a process of its own."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from distributed import LocalCluster

from filmed_lesson import LESSON, write_lesson
from fretwright.base.errors import RenderError, UsageError
from fretwright.film.size import FilmSize
from fretwright.flows.clustering import client_of, spread
from fretwright.flows.film import FilmOrder, film_lesson
from fretwright.flows.reading import check_course


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with LocalCluster(  # type: ignore[no-untyped-call]  # typed in part
        n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1"
    ) as cluster:
        yield cluster.scheduler_address


def where(job: int) -> tuple[int, int]:
    return job, os.getpid()


def refuse(job: int) -> int:
    raise RenderError(f"Job {job} cannot be done.", "Leave it.")


def test_jobs_are_done_elsewhere_and_all_of_them(address: str) -> None:
    results = dict(spread(where, [1, 2, 3], address))

    assert {job: told for job, (told, _) in results.items()} == {1: 1, 2: 2, 3: 3}
    assert os.getpid() not in {process for _, process in results.values()}


def test_without_a_cluster_jobs_are_done_here() -> None:
    assert list(spread(where, [1])) == [(1, (1, os.getpid()))]


def test_no_jobs_need_no_cluster() -> None:
    assert list(spread(where, [], "tcp://127.0.0.1:9")) == []


def test_a_jobs_own_error_comes_home(address: str) -> None:
    with pytest.raises(RenderError, match="Job 7 cannot be done"):
        list(spread(refuse, [7], address))


def test_a_lesson_is_filmed_on_a_cluster_as_at_home(address: str, tmp_path: Path) -> None:
    checked = check_course(write_lesson(tmp_path / "course"))
    order = FilmOrder("", tmp_path / "far", FilmSize(320, 240, 25), bpm=300)
    counted: list[tuple[int, int]] = []

    far = film_lesson(order, LESSON, checked, lambda *done: counted.append(done), address)
    near = film_lesson(
        FilmOrder("", tmp_path / "near", FilmSize(320, 240, 25), bpm=300), LESSON, checked, lambda *_: None
    )

    assert [path.name for path in far] == ["climb.mp4", "leaps.mp4"]
    assert counted == [(0, 2), (1, 2), (2, 2)]
    for one, other in zip(far, near, strict=True):
        assert one.read_bytes() == other.read_bytes()
        assert one.with_suffix(".vtt").read_bytes() == other.with_suffix(".vtt").read_bytes()


def test_where_no_scheduler_answers_it_is_said() -> None:
    with pytest.raises(UsageError, match="No scheduler"):
        client_of("tcp://127.0.0.1:9", wait_s=0.2)
