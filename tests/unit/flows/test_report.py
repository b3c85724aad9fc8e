"""A build that has nothing to do says again what the last one said."""

from pathlib import Path

import pytest

from fretwright.base.findings import Finding, Severity
from fretwright.base.spans import Span
from fretwright.check.check import Checked
from fretwright.flows import teach
from fretwright.flows.reading import check_course
from fretwright.flows.report import BuildOrder, BuildReport, inputs_digest, recall, remember
from fretwright.flows.shelf import Shelf

FINDING = Finding(
    "speed-jump", Severity.ADVICE, Span("lessons/01.md", 3, 7, "60 to 90"), "Too fast.", "Slow down.", "01/a"
)


@pytest.fixture
def order(tmp_path: Path) -> BuildOrder:
    course = tmp_path / "course"
    course.mkdir()
    (course / "course.yaml").write_text("title: A", encoding="utf-8")
    return BuildOrder(course, tmp_path / "out")


@pytest.fixture
def built(order: BuildOrder) -> BuildReport:
    shelf = Shelf(order.out)
    shelf.put({"index.html": b"page", "a.css": b"style"}, "key")
    report = BuildReport((FINDING,), made=2, kept=0, start_page=order.out / "index.html")
    shelf.finish(remember(inputs_digest(order), report))
    return report


def test_findings_are_said_again(order: BuildOrder, built: BuildReport) -> None:
    again = recall(order, Shelf(order.out))

    assert again == BuildReport(built.findings, made=0, kept=2, start_page=built.start_page)


def test_a_changed_course_is_built_again(order: BuildOrder, built: BuildReport) -> None:
    assert built.made == 2
    (order.course / "course.yaml").write_text("title: B", encoding="utf-8")

    assert recall(order, Shelf(order.out)) is None


def test_a_new_file_in_the_course_is_a_change(order: BuildOrder, built: BuildReport) -> None:
    assert built.made == 2
    (order.course / "picture.png").write_bytes(b"png")

    assert recall(order, Shelf(order.out)) is None


def test_a_missing_output_is_a_change(order: BuildOrder, built: BuildReport) -> None:
    assert built.made == 2
    (order.out / "a.css").unlink()

    assert recall(order, Shelf(order.out)) is None


def test_other_options_are_a_change(order: BuildOrder, built: BuildReport) -> None:
    assert built.made == 2
    letter = BuildOrder(order.course, order.out, paper="us-letter")

    assert recall(letter, Shelf(order.out)) is None


def test_the_output_inside_the_course_is_not_an_input(tmp_path: Path) -> None:
    course = tmp_path / "course"
    course.mkdir()
    (course / "course.yaml").write_text("title: A", encoding="utf-8")
    order = BuildOrder(course, course / "site")
    shelf = Shelf(order.out)
    shelf.put({"index.html": b"page"}, "key")
    shelf.finish(remember(inputs_digest(order), BuildReport((), 1, 0, order.out / "index.html")))

    assert recall(order, Shelf(order.out)) is not None


def test_a_folder_that_was_never_finished_recalls_nothing(order: BuildOrder) -> None:
    Shelf(order.out).put({"index.html": b"page"}, "key")

    assert recall(order, Shelf(order.out)) is None


def test_what_is_written_while_a_build_runs_is_for_the_next_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    course = tmp_path / "course"
    (course / "lessons").mkdir(parents=True)
    (course / "course.yaml").write_text("title: Tides\nteacher: Ottoline Quay\nlessons:\n  - 01-ebb\n")
    lesson = course / "lessons" / "01-ebb.md"
    lesson.write_text("---\ntitle: Ebb\ngoal: Wait.\n---\n\nWait.\n")
    order = BuildOrder(course, tmp_path / "out")

    def read_and_then_saved_over(folder: Path, *, left_handed: bool | None) -> Checked:
        checked = check_course(folder, left_handed=left_handed)
        lesson.write_text("---\ntitle: Ebb\ngoal: Wait.\n---\n\nWait no longer.\n")
        return checked

    monkeypatch.setattr(teach, "check_course", read_and_then_saved_over)
    teach.build(order, Shelf(order.out))
    assert recall(order, Shelf(order.out)) is None

    monkeypatch.undo()
    teach.build(order, Shelf(order.out))
    assert "Wait no longer." in (order.out / "lessons" / "01-ebb.html").read_text(encoding="utf-8")
    assert recall(order, Shelf(order.out)) is not None
