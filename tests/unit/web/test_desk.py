"""The desk: who may see it, what it shows of the class, and what a teacher does with a take."""

from dataclasses import replace
from typing import Any

import pytest
from starlette.testclient import TestClient

from fretwright.ear.verdicts import Hearing, Verdict
from fretwright.sound.files import encode_audio
from fretwright.sound.render import render
from fretwright.store import hearings, remarks
from fretwright.store.records import Person
from school import Class, FakeBench, add_student, heard_well, judge_all, send_take

EXERCISE = "01-stairs/slurred"


@pytest.fixture(autouse=True)
def _nothing_is_printed(school_class: Class, monkeypatch: pytest.MonkeyPatch) -> None:
    """A changed course is read and not built."""
    monkeypatch.setattr(school_class.school.press, "ask", lambda: None)


PAGES = (
    "/desk",
    "/desk/write",
    "/desk/write/course.yaml",
    "/desk/write/lessons/01-stairs.md",
    "/desk/exercises",
    f"/desk/exercises/{EXERCISE}",
    "/desk/enrol",
    "/desk/letters",
    "/desk/ear",
)
HTML = {"Accept": "text/html"}


def hearing(made: Class, *, missed: int = 0, wrong: int = 0) -> Hearing:
    """A hearing in which the first notes of bar 2 were missed, and then some were wrong."""
    score = made.school.classroom.now.checked.fingered[EXERCISE].score
    second = [note.id for note in score.notes if note.id.startswith("b2")]
    heard = heard_well(score, 120, missed=frozenset(second[:missed]))
    slips = {*second[missed : missed + wrong]}
    notes = tuple(
        replace(note, verdict=Verdict.WRONG, heard_midi=60) if note.id in slips else note
        for note in heard.notes
    )
    return replace(heard, notes=notes)


def recorded(made: Class, student: Person, number: int, heard: Hearing, sound: bytes = b"sound") -> int:
    """A take of that student that was judged so."""
    sent = send_take(made.client(student), EXERCISE, sound, client_id=f"take-{number:04}", bpm=120)
    judge_all(made.school, FakeBench(heard))
    take_id: int = sent["id"]
    return take_id


def read(client: TestClient, path: str) -> str:
    """A page as a browser asks for it."""
    answer = client.get(path, headers=HTML)
    assert answer.status_code == 200, answer.text
    return answer.text


def test_the_desk_is_the_teachers(school_class: Class) -> None:
    take_id = recorded(school_class, school_class.student, 1, hearing(school_class))
    teacher, student = school_class.client(school_class.teacher), school_class.client(school_class.student)
    nobody = school_class.client()
    pages = (*PAGES, f"/desk/students/{school_class.student.id}", f"/desk/takes/{take_id}")

    for path in pages:
        assert teacher.get(path, headers=HTML).status_code == 200, path
        assert student.get(path, headers=HTML).status_code == 403, path
        assert nobody.get(path, headers=HTML).headers["location"] == "/sign-in", path


WRITES: tuple[tuple[str, dict[str, Any]], ...] = (
    ("/desk/write", {"data": {"name": "03-x", "title": "X"}}),
    ("/desk/write/course.yaml", {"data": {"text": "title: X", "version": ""}}),
    ("/desk/links", {"data": {"places": "3"}}),
    ("/desk/invite", {"data": {"addresses": "a@b.example"}}),
    ("/desk/open", {"data": {"lesson": "02-lamp"}}),
    ("/desk/takes/1/verdicts", {"data": {"note-0": "missed"}}),
    ("/desk/takes/1/remarks", {"data": {"words": "x"}}),
    ("/desk/students/2/leave", {}),
    ("/desk/remarks/1/delete", {}),
    ("/api/desk/takes/1/verdicts", {"json": {"agree": True}}),
    ("/api/desk/takes/1/remarks", {"json": {"words": "x"}}),
    ("/api/desk/save", {"json": {"file": "course.yaml", "text": "x", "version": ""}}),
    ("/api/desk/look", {"json": {"file": "course.yaml", "text": "x", "line": 1}}),
    ("/api/desk/look-whole", {"json": {"file": "course.yaml", "text": "x"}}),
    ("/api/desk/sound", {"json": {"file": "x", "text": "x", "exercise": "x", "bpm": 60}}),
    ("/api/desk/rule", {"json": {}}),
    ("/api/desk/neck", {"json": {"text": "", "line": 1, "places": [[1, 1]]}}),
    ("/api/desk/chord", {"json": {"text": "", "line": 1, "frets": "x32010"}}),
)


def test_no_student_and_no_stranger_does_anything_at_the_desk(school_class: Class) -> None:
    recorded(school_class, school_class.student, 1, hearing(school_class))
    before = (school_class.school.settings.course / "course.yaml").read_bytes()
    student, nobody = school_class.client(school_class.student), school_class.client()
    elsewhere = school_class.client(school_class.teacher)

    for path, sent in WRITES:
        assert student.post(path, **sent).status_code == 403, path
        assert nobody.post(path, **sent).status_code in {303, 401}, path
        answer = elsewhere.post(path, headers={"Origin": "https://elsewhere.example"}, **sent)
        assert (answer.status_code, answer.json()["error"]["code"]) == (403, "origin"), path

    assert (school_class.school.settings.course / "course.yaml").read_bytes() == before
    with school_class.school.database.reading() as transaction:
        assert not hearings.overrules_of(transaction, 1)
        assert not remarks.remarks_of(transaction, 1)


def test_the_class_page_says_who_is_stuck_where_and_who_has_gone_quiet(school_class: Class) -> None:
    add_student(school_class.school, "<b>Otto</b> & Co", "otto@example.org")
    teacher = school_class.client(school_class.teacher)
    for number in range(5):
        recorded(school_class, school_class.student, number, hearing(school_class, missed=2))

    page = read(teacher, "/desk")

    assert "1 of 3 recorded something in the last seven days, 1 is stuck." in page
    assert "Slurred &amp; sung at 120, bar 2: 5 takes in a row not clean" in page
    assert "&lt;b&gt;Otto&lt;/b&gt; &amp; Co" in page
    assert "<b>Otto" not in page
    assert "and 4 before it" in page
    school_class.clock.forward(days=8)
    page = read(teacher, "/desk")
    assert "0 of 3 recorded something in the last seven days, 1 is stuck, 2 have gone quiet." in page


def test_a_take_waits_until_the_teacher_has_said_something(school_class: Class) -> None:
    teacher = school_class.client(school_class.teacher)
    for number in range(2):
        recorded(school_class, school_class.student, number, hearing(school_class))
    third = recorded(school_class, school_class.other, 3, hearing(school_class))
    assert "/desk/takes/2" in read(teacher, "/desk")

    teacher.post("/desk/takes/2/remarks", data={"words": "Good."})

    page = read(teacher, "/desk")
    assert "/desk/takes/2" not in page
    assert "/desk/takes/1" not in page  # what is said of the second answers the first as well
    assert f"/desk/takes/{third}" in page
    school_class.clock.forward(days=29)
    assert "None of the last 28 days" in read(teacher, "/desk")


def test_an_overrule_is_kept_shown_to_the_student_and_counted(school_class: Class) -> None:
    take_id = recorded(school_class, school_class.student, 1, hearing(school_class, missed=1))
    teacher = school_class.client(school_class.teacher)
    score = school_class.school.classroom.now.checked.fingered[EXERCISE].score
    place = next(at for at, note in enumerate(score.notes) if note.id.startswith("b2"))

    answer = teacher.post(f"/desk/takes/{take_id}/verdicts", data={f"note-{place}": "played"})

    assert answer.status_code == 303
    with school_class.school.database.reading() as transaction:
        (kept,) = hearings.overrules_of(transaction, take_id)
    assert (kept.place, kept.heard, kept.meant) == (place, "missed", "played")
    assert (
        "not heard"
        not in school_class.client(school_class.student).get(f"/practice/takes/{take_id}", headers=HTML).text
    )
    assert "you let stand 0 of 1" in read(teacher, "/desk/ear")


def test_the_ear_is_right_on_all_the_others(school_class: Class) -> None:
    take_id = recorded(school_class, school_class.student, 1, hearing(school_class, missed=1, wrong=1))
    teacher = school_class.client(school_class.teacher)
    score = school_class.school.classroom.now.checked.fingered[EXERCISE].score
    count = len(score.notes)

    teacher.post(f"/desk/takes/{take_id}/verdicts", data={"note-0": "wrong", "action": "agree"})
    teacher.post(f"/desk/takes/{take_id}/verdicts", data={"note-0": "wrong", "action": "agree"})

    page = read(teacher, "/desk/ear")
    assert f"you let stand {count - 1} of {count}" in page
    with school_class.school.database.reading() as transaction:
        assert len(hearings.overrules_of(transaction, take_id)) == count


@pytest.mark.parametrize("sent", [{"note-0": "splendid"}, {"note-0": "played'--"}])
def test_what_is_no_verdict_is_not_kept(school_class: Class, sent: dict[str, str]) -> None:
    take_id = recorded(school_class, school_class.student, 1, hearing(school_class))
    teacher = school_class.client(school_class.teacher)

    assert teacher.post(f"/desk/takes/{take_id}/verdicts", data=sent).status_code == 422
    assert teacher.post(f"/desk/takes/{take_id}/verdicts", data={"note-9999": "played"}).status_code == 303
    assert teacher.post("/desk/takes/99/verdicts", data={"note-0": "played"}).status_code == 404
    with school_class.school.database.reading() as transaction:
        assert not hearings.overrules_of(transaction, take_id)


def test_a_remark_in_words_and_by_playing_reaches_its_student_alone(school_class: Class) -> None:
    take_id = recorded(school_class, school_class.student, 1, hearing(school_class))
    teacher, student = school_class.client(school_class.teacher), school_class.client(school_class.student)
    score = school_class.school.classroom.now.checked.fingered[EXERCISE].score
    sound = encode_audio(render(score, 120), ".wav")

    answer = teacher.post(
        f"/desk/takes/{take_id}/remarks",
        data={"words": "Hear <script>alert(1)</script> bar 2.", "bar": "2"},
        files={"recording": ("answer.wav", sound, "audio/wav")},
    )

    assert answer.status_code == 303
    with school_class.school.database.reading() as transaction:
        (remark,) = remarks.remarks_of(transaction, take_id)
    assert (remark.bar, remark.media_type) == (2, "audio/wav")
    page = read(teacher, f"/desk/takes/{take_id}")
    assert "<script>alert" not in page
    assert "on bar 2" in page
    heard = student.get(f"/api/remarks/{remark.id}/recording")
    assert (heard.status_code, heard.content) == (200, sound)
    assert (
        school_class.client(school_class.other).get(f"/api/remarks/{remark.id}/recording").status_code == 404
    )
    assert school_class.client().get(f"/api/remarks/{remark.id}/recording").status_code == 401

    assert teacher.post(f"/desk/remarks/{remark.id}/delete").status_code == 303
    assert student.get(f"/api/remarks/{remark.id}/recording").status_code == 404
    assert remark.file is not None
    assert not school_class.school.take_files.path(remark.file).exists()


@pytest.mark.parametrize(
    ("data", "file", "status"),
    [
        ({"words": "  "}, None, 422),
        ({"words": "x", "bar": "two"}, None, 422),
        ({"words": "x"}, ("a.html", b"<script>", "text/html"), 422),
        ({"words": "x"}, ("a.wav", b"no sound at all", "audio/wav"), 422),
        ({"words": "x" * 4001}, None, 422),
    ],
)
def test_a_remark_that_cannot_be_is_refused_and_nothing_is_left(
    school_class: Class, data: dict[str, str], file: tuple[str, bytes, str] | None, status: int
) -> None:
    take_id = recorded(school_class, school_class.student, 1, hearing(school_class))
    files = school_class.school.take_files
    before = files.names()
    teacher = school_class.client(school_class.teacher)

    answer = teacher.post(
        f"/desk/takes/{take_id}/remarks", data=data, files=None if file is None else {"recording": file}
    )

    assert answer.status_code == status
    assert files.names() == before
    with school_class.school.database.reading() as transaction:
        assert not remarks.remarks_of(transaction, take_id)


def test_the_waveform_of_a_take_carries_its_notes(school_class: Class) -> None:
    score = school_class.school.classroom.now.checked.fingered[EXERCISE].score
    sound = encode_audio(render(score, 120), ".wav")
    take_id = recorded(school_class, school_class.student, 1, hearing(school_class, missed=1), sound)
    broken = recorded(school_class, school_class.student, 2, hearing(school_class))
    teacher = school_class.client(school_class.teacher)

    wave = teacher.get(f"/desk/takes/{take_id}/waveform")

    assert wave.headers["content-type"].startswith("image/svg+xml")
    assert wave.text.count('class="onset"') == len(score.notes) - 1
    assert teacher.get(f"/desk/takes/{broken}/waveform").status_code == 422
    assert school_class.client(school_class.student).get(f"/desk/takes/{take_id}/waveform").status_code == 403


def test_a_take_of_an_exercise_that_was_written_anew_keeps_its_words(school_class: Class) -> None:
    take_id = recorded(school_class, school_class.student, 1, hearing(school_class, missed=1))
    file = school_class.school.settings.course / "lessons" / "01-stairs.md"
    file.write_text(file.read_text(encoding="utf-8").replace("8h11-8", "8h10-8"), encoding="utf-8")
    school_class.school.course_changed()

    page = read(school_class.client(school_class.teacher), f"/desk/takes/{take_id}")

    assert "written anew since this take" in page
    assert "Note by note" not in page


def test_the_class_picture_names_the_bar_that_stops_people(school_class: Class) -> None:
    recorded(school_class, school_class.student, 1, hearing(school_class, missed=2))
    take_id = recorded(school_class, school_class.other, 2, hearing(school_class, wrong=1))
    teacher = school_class.client(school_class.teacher)

    page = read(teacher, f"/desk/exercises/{EXERCISE}")
    assert "Bar 2 stops 2 of 2 students." in page
    assert page.count('class="plate heard"') == 2
    assert "Bar 2 stops 2 of 2 students." in read(teacher, "/desk/exercises")

    score = school_class.school.classroom.now.checked.fingered[EXERCISE].score
    place = next(at for at, note in enumerate(score.notes) if note.id.startswith("b2"))
    teacher.post(f"/desk/takes/{take_id}/verdicts", data={f"note-{place}": "played"})
    assert "Bar 2 stops 1 of 2 students." in read(teacher, f"/desk/exercises/{EXERCISE}")
    assert teacher.get("/desk/exercises/01-stairs/nothing", headers=HTML).status_code == 404


def test_who_has_left_is_no_longer_in_the_picture_and_their_takes_wait_for_nobody(
    school_class: Class,
) -> None:
    recorded(school_class, school_class.student, 1, hearing(school_class, missed=2))
    teacher = school_class.client(school_class.teacher)

    assert teacher.post(f"/desk/students/{school_class.student.id}/leave").status_code == 303

    assert "/desk/takes/1" not in read(teacher, "/desk")
    assert "Nobody has recorded" in read(teacher, f"/desk/exercises/{EXERCISE}")
    path = f"/desk/students/{school_class.student.id}"
    assert teacher.get(path, headers=HTML).status_code == 404
    assert teacher.post(f"{path}/leave").status_code == 404


def test_a_students_page_shows_their_lessons_and_opens_one(school_class: Class) -> None:
    teacher = school_class.client(school_class.teacher)
    path = f"/desk/students/{school_class.student.id}"
    assert "Open lesson 2" in read(teacher, path)

    teacher.post("/desk/open", data={"lesson": "02-lamp", "person_id": school_class.student.id})

    assert "opened by hand" in read(teacher, path)
    assert "opened by hand" not in read(teacher, f"/desk/students/{school_class.other.id}")
    assert teacher.post("/desk/open", data={"lesson": "99-none"}).status_code == 404
    assert teacher.post("/desk/open", data={"lesson": "02-lamp", "person_id": 999}).status_code == 404
    assert teacher.get("/desk/students/999", headers=HTML).status_code == 404


def test_programs_do_at_the_desk_what_people_do(school_class: Class) -> None:
    take_id = recorded(school_class, school_class.student, 1, hearing(school_class, missed=2))
    teacher = school_class.client(school_class.teacher)
    score = school_class.school.classroom.now.checked.fingered[EXERCISE].score
    count = len(score.notes)
    place = next(at for at, note in enumerate(score.notes) if note.id.startswith("b2"))

    found = teacher.get("/api/desk/class").json()
    assert [each["name"] for each in found["students"]] == ["Tam Orrin", "Isolde Fenn"]
    assert [each["id"] for each in found["waiting"]] == [take_id]
    picture = teacher.get(f"/api/desk/exercises/{EXERCISE}").json()
    assert (picture["headline"], picture["bars"][1]["stopped"]["hits"]) == ("Bar 2 stops 1 of 1 student.", 1)

    order = {"verdicts": [{"place": place, "meant": "played"}], "agree": True}
    assert teacher.post(f"/api/desk/takes/{take_id}/verdicts", json=order).status_code == 204
    said = {"words": "Well done.", "bar": 2}
    assert teacher.post(f"/api/desk/takes/{take_id}/remarks", json=said).status_code == 204

    overall = teacher.get("/api/desk/ear").json()["overall"]
    assert (overall["hits"], overall["cases"]) == (count - 1, count)
    assert teacher.get("/api/desk/class").json()["waiting"] == []
    for path in ("class", "ear", f"exercises/{EXERCISE}"):
        assert school_class.client(school_class.student).get(f"/api/desk/{path}").status_code == 403
    wrong = {"verdicts": [{"place": 0, "meant": "splendid"}]}
    assert teacher.post(f"/api/desk/takes/{take_id}/verdicts", json=wrong).status_code == 422


@pytest.mark.parametrize("number", ["0", "99999999999999999999999"])
def test_a_number_that_nobody_has_is_not_there(school_class: Class, number: str) -> None:
    teacher = school_class.client(school_class.teacher)
    take_id = recorded(school_class, school_class.student, 1, hearing(school_class))

    for path in (f"/desk/students/{number}", f"/desk/takes/{number}", f"/api/remarks/{number}/recording"):
        assert teacher.get(path).status_code in {404, 422}, path
    for path in (f"/desk/remarks/{number}/delete", f"/desk/students/{number}/leave"):
        assert teacher.post(path).status_code in {404, 422}, path
    assert teacher.post(f"/desk/links/{number}/withdraw").status_code in {303, 422}
    opened = teacher.post("/desk/open", data={"lesson": "02-lamp", "person_id": number})
    assert opened.status_code in {404, 422}
    verdicts = teacher.post(f"/desk/takes/{take_id}/verdicts", data={f"note-{number}1": "played"})
    assert verdicts.status_code == 303
    assert school_class.client().get(f"/calendar/{number}-abc.ics").status_code in {404, 422}
