"""Writing at the desk: the course's own files through the API and by form."""

import base64
import re
from pathlib import Path

import pytest

from school import Class

HTML = {"Accept": "text/html"}
LESSON = "lessons/01-stairs.md"


@pytest.fixture(autouse=True)
def _nothing_is_printed(school_class: Class, monkeypatch: pytest.MonkeyPatch) -> None:
    """A changed course is read and not built."""
    monkeypatch.setattr(school_class.school.press, "ask", lambda: None)


@pytest.fixture
def file(school_class: Class) -> Path:
    return school_class.school.settings.course / LESSON


def version_in(page: str) -> str:
    found = re.search(r'name="version" value="([0-9a-f]*)"', page)
    assert found is not None
    return found[1]


def test_a_lesson_is_opened_and_saved_over_its_version(school_class: Class, file: Path) -> None:
    teacher = school_class.client(school_class.teacher)
    version = version_in(teacher.get(f"/desk/write/{LESSON}", headers=HTML).text)
    text = file.read_text(encoding="utf-8").replace("title: The stairs", "title: The ladder")

    saved = teacher.post("/api/desk/save", json={"file": LESSON, "text": text, "version": version})

    assert saved.status_code == 200
    assert file.read_text(encoding="utf-8") == text
    assert version_in(teacher.get(f"/desk/write/{LESSON}", headers=HTML).text) == saved.json()["version"]
    lessons = school_class.school.classroom.now.checked.course.lessons
    assert lessons[0].title == "The ladder"  # the school reads it at once


def test_a_conflict_has_the_one_error_shape_and_both_texts(school_class: Class, file: Path) -> None:
    teacher = school_class.client(school_class.teacher)
    version = version_in(teacher.get(f"/desk/write/{LESSON}", headers=HTML).text)
    file.write_text("theirs\n", encoding="utf-8")

    answer = teacher.post("/api/desk/save", json={"file": LESSON, "text": "mine\n", "version": version})

    found = answer.json()
    assert (answer.status_code, found["error"]["code"]) == (409, "conflict")
    assert found["conflict"]["theirs"] == "theirs\n"
    assert [(line["side"], line["text"]) for line in found["conflict"]["lines"]] == [
        ("mine", "mine"),
        ("theirs", "theirs"),
        ("both", ""),
    ]
    assert file.read_text(encoding="utf-8") == "theirs\n"


def test_by_form_a_conflict_is_a_page_that_holds_the_teachers_text(school_class: Class, file: Path) -> None:
    teacher = school_class.client(school_class.teacher)
    version = version_in(teacher.get(f"/desk/write/{LESSON}", headers=HTML).text)
    file.write_text("theirs\n", encoding="utf-8")
    mine = "</textarea><script>alert(1)</script>\n"

    page = teacher.post(f"/desk/write/{LESSON}", data={"text": mine, "version": version}, headers=HTML)

    assert page.status_code == 409
    assert "&lt;/textarea&gt;&lt;script&gt;" in page.text
    assert "<script>alert" not in page.text
    saved = teacher.post(
        f"/desk/write/{LESSON}", data={"text": mine, "version": version_in(page.text)}, headers=HTML
    )
    assert saved.status_code == 200
    assert file.read_text(encoding="utf-8") == mine


@pytest.mark.parametrize(
    "name",
    ["../secret.key", "secret.key", "lessons/../../x.md", "lessons/.x.md", "lessons/99-none.md", "%2e%2e/x"],
)
def test_no_other_file_is_opened(school_class: Class, name: str) -> None:
    teacher = school_class.client(school_class.teacher)

    assert teacher.get(f"/desk/write/{name}", headers=HTML).status_code == 404
    sent = {"file": name, "text": "x", "version": "0"}
    assert teacher.post("/api/desk/save", json=sent).status_code in {404, 409}


def test_a_text_that_is_too_long_is_refused(school_class: Class) -> None:
    teacher = school_class.client(school_class.teacher)

    answer = teacher.post("/api/desk/save", json={"file": LESSON, "text": "x" * 1_048_577, "version": ""})

    assert (answer.status_code, answer.json()["error"]["code"]) == (422, "malformed")


def test_a_new_lesson_is_made_entered_and_opened(school_class: Class) -> None:
    teacher = school_class.client(school_class.teacher)

    made = teacher.post("/desk/write", data={"name": "03-harbour", "title": "The harbour"})

    assert made.headers["location"] == "/desk/write/lessons/03-harbour.md"
    assert "The harbour" in teacher.get(made.headers["location"], headers=HTML).text
    again = teacher.post("/desk/write", data={"name": "03-harbour", "title": "Again"}, headers=HTML)
    assert again.status_code == 400
    assert "already" in again.text
    strange = teacher.post("/desk/write", data={"name": "../x", "title": "Again"}, headers=HTML)
    assert strange.status_code == 400


def test_the_list_of_files_says_what_the_check_says(school_class: Class, file: Path) -> None:
    teacher = school_class.client(school_class.teacher)
    file.write_text(file.read_text(encoding="utf-8").replace("position: 8", "position: 88"), encoding="utf-8")
    school_class.school.course_changed()

    assert "1 mistake" in teacher.get("/desk/write", headers=HTML).text


def test_a_look_answers_with_findings_and_the_exercise(school_class: Class, file: Path) -> None:
    teacher = school_class.client(school_class.teacher)
    text = file.read_text(encoding="utf-8")

    seen = teacher.post("/api/desk/look", json={"file": LESSON, "text": text, "line": 20}).json()
    typo = text.replace("position: 8", "position: x")
    wrong = teacher.post("/api/desk/look", json={"file": LESSON, "text": typo, "line": 20}).json()
    whole = teacher.post("/api/desk/look-whole", json={"file": LESSON, "text": typo}).json()

    assert (seen["findings"], seen["block"], seen["shown"]["title"]) == ([], "up-and-back", "Up and back")
    assert seen["shown"]["plate"].startswith("<svg")
    assert wrong["shown"] is None
    assert (wrong["findings"][0]["text"], wrong["findings"][0]["severity"]) == ("x", "error")
    assert wrong["findings"][0] in whole["findings"]
    assert file.read_text(encoding="utf-8") == text


def test_the_sound_of_an_unsaved_exercise_comes_with_its_notes(school_class: Class, file: Path) -> None:
    teacher = school_class.client(school_class.teacher)
    sent = {
        "file": LESSON,
        "text": file.read_text(encoding="utf-8"),
        "exercise": "01-stairs/slurred",
        "bpm": 140,
    }

    sound = teacher.post("/api/desk/sound", json=sent).json()

    assert base64.b64decode(sound["audio"])[4:8] == b"ftyp"
    assert sound["notes"][0][0].startswith("b1")
    missing = teacher.post("/api/desk/sound", json={**sent, "exercise": "01-stairs/none"})
    assert (missing.status_code, missing.json()["error"]["code"]) == (404, "not-found")


def test_the_helpers_offer_text_for_the_cursors_place(school_class: Class, file: Path) -> None:
    teacher = school_class.client(school_class.teacher)
    text = file.read_text(encoding="utf-8")
    cursor = {"text": text, "line": text[: text.index("position: 8")].count("\n") + 1}
    after = text[: text.index("```\n\nIt's worth")].count("\n") + 1

    choices = {
        "tonic": "F#", "kind": "blues", "position": 2, "path": "up", "notes": "triplets", "slur": "",
        "slow_bpm": 60, "goal_bpm": 80,
    }  # fmt: skip
    rule = teacher.post("/api/desk/rule", json={**cursor, "choices": choices}).json()["offers"]
    neck = teacher.post("/api/desk/neck", json={**cursor, "places": [[6, 3], [5, 2]]}).json()["offers"]
    chord = teacher.post("/api/desk/chord", json={**cursor, "frets": "3-2-0-0-0-3"}).json()

    assert [(each["says"], each["row"]) for each in rule] == [("F# blues", after)]
    assert "```exercise f-sharp-blues\n" in rule[0]["text"]
    assert [each["says"] for each in neck] == ["2 notes in a line"]
    assert chord["offers"][0]["says"] == "G"
    assert chord["diagram"].startswith("<svg")
    odd = teacher.post("/api/desk/chord", json={**cursor, "frets": "0-1-2-0-0-0"})
    assert odd.status_code == 400
    assert "no chord" in odd.json()["error"]["message"]
