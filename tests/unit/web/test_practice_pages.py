"""The student's pages: the room's desks, verdicts, today's plan, progress, recordings sent as files."""

import re
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from fretwright.ear.take import Refusal
from fretwright.score.score import Score
from fretwright.store import classes, hearings, people, remarks
from school import Class, FakeBench, add_student, heard_well, judge_all, send_take

SLURRED = "01-stairs/slurred"


@pytest.fixture
def student(school_class: Class) -> TestClient:
    return school_class.client(school_class.student)


def score_of(school_class: Class, exercise: str = SLURRED) -> Score:
    return school_class.school.classroom.now.checked.fingered[exercise].score


def take(
    school_class: Class,
    client: TestClient,
    name: str,
    *,
    bpm: float = 120.0,
    missed: int = 0,
    of: str = SLURRED,
) -> int:
    """Record a take in which the last so many notes are missed, and have it judged."""
    answer = send_take(client, of, b"sound", client_id=name, bpm=bpm)
    score = score_of(school_class, of)
    lost = frozenset(note.id for note in score.notes[len(score.notes) - missed :])
    judge_all(school_class.school, FakeBench(heard_well(score, bpm, missed=lost)))
    number: int = answer["id"]
    return number


# The room


def test_the_room_brings_a_desk_for_every_exercise_with_its_cautions(student: TestClient) -> None:
    page = student.get("/practice/desks/01-stairs").text

    assert re.findall(r'data-take-desk="([^"]+)"', page) == ["01-stairs/up-and-back", SLURRED]
    assert page.count("data-record>") == 2
    assert "headphones" in page
    assert "no child without a parent" in page


def test_without_consent_there_is_nothing_to_record_with(school_class: Class) -> None:
    person = add_student(school_class.school, "Wren", "wren@example.org")
    with school_class.school.database.writing() as transaction:
        people.withdraw_consent(transaction, person.id)
    client = school_class.client(person)

    page = client.get("/practice/desks/01-stairs").text
    assert "data-record>" not in page
    assert "Nothing can be recorded yet" in page
    assert "Nothing can be sent yet" in client.get("/practice/send").text


def test_the_room_of_a_lesson_that_is_not_there_is_not_there(student: TestClient) -> None:
    assert student.get("/practice/desks/99-nowhere").status_code == 404


def test_a_lesson_that_is_not_open_has_no_room_yet(student: TestClient) -> None:
    assert student.get("/practice/desks/02-lamp").status_code == 404


def test_a_teacher_sees_the_lesson_without_desks(school_class: Class) -> None:
    answer = school_class.client(school_class.teacher).get("/practice/desks/01-stairs")

    assert (answer.status_code, answer.text) == (204, "")


@pytest.mark.parametrize("path", ["/today", "/progress", "/practice/send"])
def test_the_students_pages_are_for_students(school_class: Class, path: str) -> None:
    assert school_class.client(school_class.teacher).get(path).status_code == 403
    assert school_class.client().get(path, headers={"Accept": "text/html"}).status_code == 303


# Verdicts


def test_verdicts_come_once_a_take_is_judged(school_class: Class, student: TestClient) -> None:
    number = send_take(student, SLURRED, b"sound")["id"]
    assert student.get(f"/practice/takes/{number}/verdicts").status_code == 202

    judge_all(school_class.school, FakeBench(heard_well(score_of(school_class), 120)))
    page = student.get(f"/practice/takes/{number}/verdicts")
    assert page.status_code == 200
    assert page.text.count("<svg") == 2
    assert "Clean." in page.text
    assert 'data-first-note="' in page.text
    assert page.text.count("<tr>") == 1 + len(score_of(school_class).notes)


def test_what_comes_next_is_said_in_the_light_of_all_takes(school_class: Class, student: TestClient) -> None:
    first = take(school_class, student, "take-0001")
    assert "One more clean take at 120 opens 126." in student.get(f"/practice/takes/{first}/verdicts").text
    second = take(school_class, student, "take-0002")
    assert "126 is open." in student.get(f"/practice/takes/{second}/verdicts").text


def test_a_refused_take_says_what_to_do(school_class: Class, student: TestClient) -> None:
    number = send_take(student, SLURRED, b"sound")["id"]
    judge_all(school_class.school, FakeBench(Refusal("The recording is silent.", "Check the microphone.")))

    page = student.get(f"/practice/takes/{number}/verdicts").text
    assert "The recording is silent. Check the microphone." in page
    assert "<svg" not in page


def test_an_overrule_stands_on_the_plate_and_in_the_plan(school_class: Class, student: TestClient) -> None:
    number = take(school_class, student, "take-0001", missed=1)
    assert "not heard" in student.get(f"/practice/takes/{number}/verdicts").text
    with school_class.school.database.writing() as transaction:
        last = len(score_of(school_class).notes) - 1
        hearings.overrule(
            transaction,
            number,
            last,
            teacher_id=school_class.teacher.id,
            meant="played",
            now=school_class.clock(),
        )

    page = student.get(f"/practice/takes/{number}/verdicts").text
    assert "not heard" not in page
    assert "One more clean take" in page


def test_a_hearing_that_no_longer_fits_its_score_spoils_no_page(
    school_class: Class, student: TestClient
) -> None:
    number = send_take(student, SLURRED, b"sound")["id"]
    heard = heard_well(score_of(school_class), 120)
    judge_all(school_class.school, FakeBench(replace(heard, notes=heard.notes[:-1])))

    assert student.get("/today").status_code == 200
    assert student.get("/progress").status_code == 200
    page = student.get(f"/practice/takes/{number}")
    assert page.status_code == 200
    assert "written anew" in page.text


def test_anothers_take_is_not_there(school_class: Class, student: TestClient) -> None:
    number = take(school_class, student, "take-0001")
    other = school_class.client(school_class.other)

    assert other.get(f"/practice/takes/{number}/verdicts").status_code == 404
    assert other.get(f"/practice/takes/{number}").status_code == 404


def test_the_teachers_remark_stands_with_the_take_and_opening_it_marks_it_read(
    school_class: Class, student: TestClient
) -> None:
    number = take(school_class, student, "take-0001")
    database = school_class.school.database
    with database.writing() as transaction:
        remarks.add_remark(
            transaction,
            number,
            school_class.teacher.id,
            words="Lighter <here>.",
            bar=2,
            now=school_class.clock(),
        )

    page = student.get(f"/practice/takes/{number}").text
    assert "Lighter &lt;here&gt;." in page
    assert "Your teacher, on bar 2" in page
    with database.reading() as transaction:
        assert all(one.read_at for one in remarks.remarks_to(transaction, school_class.student.id))


def test_an_unread_remark_is_announced_with_todays_practice(school_class: Class, student: TestClient) -> None:
    number = take(school_class, student, "take-0001")
    assert "Your teacher wrote" not in student.get("/today").text
    with school_class.school.database.writing() as transaction:
        remarks.add_remark(
            transaction, number, school_class.teacher.id, words="Slower.", now=school_class.clock()
        )

    page = student.get("/today").text
    assert f'<a href="/practice/takes/{number}">Your teacher wrote about a take of yours</a>' in page
    assert "Slower." in page  # it is what is to be fixed now
    student.get(f"/practice/takes/{number}")
    assert f"/practice/takes/{number}" not in student.get("/today").text


# Today


def parts(page: str) -> list[str]:
    return re.findall(r'<span class="kind">([^<]+)</span>', page)


def test_the_first_day_has_a_plan_that_says_why(student: TestClient) -> None:
    page = student.get("/today").text

    assert parts(page) == ["Warm-up", "New rung", "Music"]
    assert "It is new: it comes next in your course." in page
    assert "Nothing was recorded before today." in page


def test_a_fault_of_yesterday_is_todays_to_fix(school_class: Class, student: TestClient) -> None:
    take(school_class, student, "take-0001", missed=2)
    assert "Fix one thing" not in parts(student.get("/today").text)

    school_class.clock.forward(days=1)
    page = student.get("/today").text
    assert "Fix one thing" in parts(page)
    assert "two notes in bar 2 were wrong or left out" in page


def test_the_day_is_planned_for_the_minutes_there_are_and_remembers_them(student: TestClient) -> None:
    assert student.post("/today", data={"minutes": "7"}).status_code == 303
    page = student.get("/today").text

    assert "7 of your 7 minutes" in page
    assert student.post("/today", data={"minutes": "500"}).status_code == 422


@pytest.mark.parametrize(
    ("zone", "day"), [("UTC", "Thursday, 4 March"), ("Pacific/Kiritimati", "Thursday, 4 March")]
)
def test_the_day_is_the_students_own(school_class: Class, zone: str, day: str) -> None:
    """At nine in the morning UTC it is 23 o'clock on Kiritimati (UTC+14, IANA tz database)."""
    person = add_student(school_class.school, "Wren", "wren@example.org", time_zone=zone)
    client = school_class.client(person)
    assert day in client.get("/today").text

    school_class.clock.forward(hours=6)
    later = "Friday, 5 March" if zone.startswith("Pacific") else day
    assert later in client.get("/today").text


def test_a_tick_stays_until_it_is_taken_back(student: TestClient) -> None:
    student.get("/today")
    student.post("/today/0", data={"done": "yes"})
    assert "✓ Done" in student.get("/today").text

    student.post("/today/0", data={"done": "no"})
    assert "✓ Done" not in student.get("/today").text


def test_a_take_ticks_its_part_off(school_class: Class, student: TestClient) -> None:
    music = re.search(r'Music</span>.*?lessons/([^.]+)\.html#ex-([^"]+)"', student.get("/today").text)
    assert music is not None
    take(school_class, student, "take-0001", of=f"{music[1]}/{music[2]}")

    assert "Done: you recorded it today." in student.get("/today").text


def test_lessons_that_are_not_open_are_not_planned(school_class: Class, student: TestClient) -> None:
    assert "02-lamp" not in student.get("/today").text
    with school_class.school.database.writing() as transaction:
        course = school_class.school.classroom.now.record.id
        classes.release(transaction, course, "02-lamp", person_id=None, now=school_class.clock())
    student.post("/today", data={"minutes": "60"})

    assert "02-lamp" in student.get("/today").text


# Progress


def test_progress_is_drawn_and_stands_in_a_table(school_class: Class, student: TestClient) -> None:
    assert "Nothing is recorded yet." in student.get("/progress").text
    take(school_class, student, "take-0001")
    take(school_class, student, "take-0002", missed=1)

    page = student.get("/progress").text
    assert page.count("<svg") == 6
    assert "<td>1 of 2</td><td>120</td>" in page
    assert "−6 dB" in page
    assert page.count('<a href="/practice/takes/') == 2


def test_each_exercise_has_a_page_of_its_progress(school_class: Class, student: TestClient) -> None:
    take(school_class, student, "take-0001")

    assert student.get(f"/progress/{SLURRED}").text.count("<svg") == 6
    assert student.get("/progress/01-stairs/up-and-back").status_code == 404


# Files


def send_file(client: TestClient, kind: str = "audio/wav") -> int:
    answer = client.post(
        "/practice/send",
        data={"exercise": SLURRED, "tempo_bpm": "120"},
        files={"recording": ("take.wav", b"sound", kind)},
    )
    return answer.status_code


def test_a_recording_can_be_sent_without_any_script(school_class: Class, student: TestClient) -> None:
    assert SLURRED in student.get("/practice/send").text
    assert send_file(student) == 303
    assert judge_all(school_class.school) == 1


def test_what_is_no_recording_is_turned_down(student: TestClient) -> None:
    assert send_file(student, "text/plain") == 422


def test_the_worker_may_govern_the_whole_school(school_class: Class) -> None:
    answer = school_class.client().get("/offline.js")

    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["service-worker-allowed"] == "/"
    assert "{version}" not in answer.text
