"""A person's own data: what is taken home, what is deleted, what is let go of."""

import json
import zipfile
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import pytest
from evaluation.school.postgres import Postgres
from sqlalchemy import func, select, text

from fretwright.base.errors import StoreError
from fretwright.store import belongings, hearings, people, remarks, takes
from fretwright.store.backup import restore_backup, write_backup
from fretwright.store.database import Database
from fretwright.store.tables import metadata
from fretwright.store.takefiles import TakeFiles
from fretwright.web.housekeeping import keep_house
from fretwright.web.keeping import delete_again
from school import Class, judge_all, send_take

EXERCISE = "01-stairs/up-and-back"


@pytest.fixture
def busy(school_class: Class) -> Class:
    """Two students with a judged take each, and the teacher's answer to the first."""
    school = school_class.school
    for person in (school_class.student, school_class.other):
        send_take(school_class.client(person), EXERCISE, f"sound of {person.name}".encode())
    judge_all(school)
    with school.database.writing() as transaction:
        take = takes.takes_of(transaction, school_class.student.id)[0]
        name = school.take_files.write(b"an answer")
        remarks.add_remark(
            transaction,
            take.id,
            school_class.teacher.id,
            words="Slower.",
            bar=1,
            file=name,
            media_type="audio/webm",
            now=school.now(),
        )
        hearings.overrule(
            transaction, take.id, 0, teacher_id=school_class.teacher.id, meant="missed", now=school.now()
        )
    return school_class


def test_every_table_is_known_to_be_personal_or_not() -> None:
    personal = {
        table.name
        for table in metadata.sorted_tables
        if {"person_id", "author_id", "teacher_id", "take_id", "plan_id"} & set(table.c.keys())
    } | {"people"}

    assert personal | belongings.SHARED | {"rates"} == set(metadata.tables)


def test_a_student_takes_everything_home(busy: Class) -> None:
    answer = busy.client(busy.student).get("/account/export")

    with zipfile.ZipFile(BytesIO(answer.content)) as archive:
        data = json.loads(archive.read("data.json"))
        names = archive.namelist()
        assert archive.read(names[1]) == b"sound of Isolde Fenn"
        assert archive.read(names[2]) == b"an answer"
    assert [row["name"] for row in data["people"]] == ["Isolde Fenn"]
    assert len(data["takes"]) == len(data["hearings"]) == len(data["remarks"]) == len(data["overrules"]) == 1
    assert "Tam Orrin" not in answer.text
    assert not belongings.KEYS & set(data)


def test_deleting_deletes_rows_and_files_and_nobody_elses(busy: Class) -> None:
    school, client = busy.school, busy.client(busy.student)
    assert client.post("/account/delete").status_code == 422
    assert len(school.take_files.names()) == 3

    assert client.post("/account/delete", data={"sure": "yes"}).status_code == 303

    assert client.get("/account").status_code == 401
    with school.database.reading() as transaction:
        assert people.find_person(transaction, busy.student.id) is None
        for name in ("takes", "hearings"):
            table = metadata.tables[name]
            assert transaction.execute(select(func.count()).select_from(table)).scalar() == 1
    left = school.take_files.names()
    assert [school.take_files.path(name).read_bytes() for name in left] == [b"sound of Tam Orrin"]
    assert "isolde" not in (school.settings.home / "deleted.jsonl").read_text(encoding="utf-8").lower()


def test_a_teacher_does_not_delete_the_school_by_a_button(busy: Class) -> None:
    answer = busy.client(busy.teacher).post("/account/delete", data={"sure": "yes"})

    assert answer.status_code == 403


def test_without_consent_nothing_is_recorded(busy: Class) -> None:
    client = busy.client(busy.student)
    client.post("/account/withdraw")
    announced = {
        "client_id": "take-0009",
        "exercise": EXERCISE,
        "tempo_bpm": 100,
        "media_type": "audio/webm",
        "recorded_at": "2027-03-04T09:00:00+00:00",
    }

    refused = client.post("/api/takes", json=announced)
    assert (refused.status_code, refused.json()["error"]["code"]) == (403, "consent")
    assert client.post("/account/consent").status_code == 303
    assert client.post("/api/takes", json=announced).status_code == 201


def test_below_the_schools_age_a_guardian_agrees(busy: Class) -> None:
    school, client = busy.school, busy.client(busy.student)
    with school.database.writing() as transaction:
        people.withdraw_consent(transaction, busy.student.id)
        transaction.execute(
            text("UPDATE people SET below_age = true WHERE id = :id"), {"id": busy.student.id}
        )

    assert client.post("/account/consent").status_code == 422
    assert client.post("/account/consent", data={"guardian": "Ada Fenn"}).status_code == 303
    with school.database.reading() as transaction:
        found = people.person(transaction, busy.student.id)
    assert (found.guardian, found.consent_at) == ("Ada Fenn", busy.clock.at)


def test_old_recordings_go_and_verdicts_stay(busy: Class) -> None:
    school = busy.school
    busy.clock.forward(days=school.settings.retention_days + 1)

    gone = keep_house(
        school.database,
        school.take_files,
        retention_days=school.settings.retention_days,
        now=school.now(),
    )

    assert gone.recordings == 2
    with school.database.reading() as transaction:
        take = takes.takes_of(transaction, busy.student.id)[0]
        assert take.file is None
        assert hearings.find_hearing(transaction, take.id) is not None


def test_a_file_of_no_row_is_swept_away_once_it_is_old(busy: Class) -> None:
    school = busy.school
    stray = school.take_files.write(b"left behind")
    kept = school.take_files.names() - {stray}
    busy.clock.at = datetime.now(UTC)  # files have the time of the disk

    def sweep() -> int:
        return keep_house(school.database, school.take_files, retention_days=9999, now=school.now()).strays

    assert sweep() == 0
    busy.clock.forward(hours=25)
    assert sweep() == 1
    assert school.take_files.names() == kept


@pytest.mark.parametrize("target", ["sqlite", "postgresql"])
def test_a_backup_is_the_school_again(
    busy: Class, tmp_path: Path, target: str, request: pytest.FixtureRequest
) -> None:
    school, file = busy.school, tmp_path / "school.zip"
    rows = write_backup(school.database, school.take_files, school.key, file)
    assert rows > 20
    address = f"sqlite:///{tmp_path / 'again.sqlite'}"
    if target == "postgresql":
        server: Postgres = request.getfixturevalue("postgres")
        address = server.empty_database()
    database, files = Database(address), TakeFiles(tmp_path / "again")

    assert restore_backup(file, database, files) == school.key

    for person in (busy.student, busy.other, busy.teacher):
        with school.database.reading() as before, database.reading() as after:
            assert belongings.belongings(after, person.id) == belongings.belongings(before, person.id)
    assert files.names() == school.take_files.names()
    with database.writing() as transaction:  # numbers go on where they ended
        again = people.add_person(
            transaction,
            role=busy.student.role,
            name="New",
            email="new@example.org",
            time_zone="UTC",
            now=school.now(),
        )
    assert again.id > busy.other.id
    with pytest.raises(StoreError, match="school here already"):
        restore_backup(file, database, files)
    database.close()


def test_a_backup_is_made_while_takes_arrive_and_go(busy: Class, tmp_path: Path) -> None:
    school, file = busy.school, tmp_path / "school.zip"
    client = busy.client(busy.other)
    number = send_take(client, EXERCISE, b"gone at once", client_id="take-gone")["id"]
    with school.database.reading() as transaction:
        take = takes.find_take(transaction, number)
    assert take is not None
    assert take.file is not None
    school.take_files.delete(take.file)  # as if it was deleted just after the rows were read

    write_backup(school.database, school.take_files, school.key, file)
    database, files = Database(f"sqlite:///{tmp_path / 'again.sqlite'}"), TakeFiles(tmp_path / "again")
    restore_backup(file, database, files)

    with database.reading() as transaction:
        found = takes.find_take(transaction, number)
    assert found is not None
    assert found.file is None
    database.close()


def test_who_was_deleted_stays_deleted_after_a_restore(busy: Class, tmp_path: Path) -> None:
    school, file = busy.school, tmp_path / "school.zip"
    write_backup(school.database, school.take_files, school.key, file)
    busy.client(busy.student).post("/account/delete", data={"sure": "yes"})
    with school.database.writing() as transaction:
        for table in reversed(metadata.sorted_tables):
            transaction.execute(table.delete())

    restore_backup(file, school.database, school.take_files)

    assert delete_again(school) == 1
    with school.database.reading() as transaction:
        assert people.find_person(transaction, busy.student.id) is None
        assert people.find_person(transaction, busy.other.id) is not None


def test_what_is_no_backup_is_said_to_be_none(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"not a zip")
    database = Database(f"sqlite:///{tmp_path / 'again.sqlite'}")

    with pytest.raises(StoreError, match="not a backup"):
        restore_backup(tmp_path / "file", database, TakeFiles(tmp_path / "again"))
    database.close()
