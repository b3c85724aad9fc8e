"""What an attacker tries: see docs/threat-model.md, whose lines these tests hold."""

import re
from pathlib import Path

import pytest

from fretwright.base.errors import UsageError
from fretwright.store import mail, people
from fretwright.web.guards import CONTENT_SECURITY_POLICY, HEADERS
from fretwright.web.keys import is_signature, keep_key, school_key, signature
from fretwright.web.settings import Settings, names
from school import Class, add_student, send_take

EXERCISE = "01-stairs/up-and-back"


def built(folder: Path) -> None:
    """A site as the press leaves it, and a secret beside it."""
    for path in ("index.html", "lessons/01-stairs.html", "lessons/02-lamp.html", "assets/site.css",
                 "sounds/02-lamp/last-line-90.m4a", "handouts/lesson-02-lamp.pdf"):  # fmt: skip
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(path, encoding="utf-8")
    (folder / ".fretwright.json").write_text("{}", encoding="utf-8")
    (folder.parent / "secret.txt").write_text("secret", encoding="utf-8")


# Headers and cookies


def test_every_answer_has_the_headers(school_class: Class) -> None:
    client = school_class.client()

    for path in ("/sign-in", "/nowhere", "/static/school.css", "/api/takes/1", "/health"):
        answer = client.get(path)
        for name, value in HEADERS.items():
            assert answer.headers[name] == value, path


def test_the_policy_allows_no_inline_code_and_no_stranger() -> None:
    assert "unsafe" not in CONTENT_SECURITY_POLICY
    sources = set(re.findall(r"'[a-z]+'|\S+:", CONTENT_SECURITY_POLICY))
    assert sources <= {"'none'", "'self'", "blob:"}


def test_no_template_needs_more_than_the_policy_allows() -> None:
    folder = Path(__file__).parents[3] / "src" / "fretwright" / "web" / "templates"
    templates = sorted(folder.rglob("*.html"))
    assert len(templates) > 10
    for template in templates:
        text = template.read_text(encoding="utf-8")
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:|https?://", text), template
        for script in re.findall(r"<script[^>]*>", text):
            assert " src=" in script or 'type="application/json"' in script, template


def test_a_session_cookie_is_kept_from_scripts_and_other_sites(school_class: Class) -> None:
    school = school_class.school
    token = school.sign_in_address(school_class.student).rsplit("/", 1)[1]

    cookie = school_class.client().post(f"/sign-in/{token}").headers["set-cookie"]

    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    assert "Domain" not in cookie


def test_over_https_the_cookie_is_secure_and_bound_to_the_host(school_class: Class) -> None:
    school = school_class.school
    object.__setattr__(school.settings, "public_url", "https://school.example")
    client = school_class.client()
    headers = {"Host": "school.example", "Origin": "https://school.example"}
    token = school.sign_in_address(school_class.student).rsplit("/", 1)[1]

    answer = client.post(f"/sign-in/{token}", headers=headers)

    assert answer.headers["set-cookie"].startswith("__Host-fretwright=")
    assert "Secure" in answer.headers["set-cookie"]
    assert "Path=/" in answer.headers["set-cookie"]
    assert answer.headers["strict-transport-security"].startswith("max-age=")


# Sign-in


def test_a_link_signs_in_once_and_not_by_being_looked_at(school_class: Class) -> None:
    school, client = school_class.school, school_class.client()
    address = school.sign_in_address(school_class.student).removeprefix(school.settings.origin)

    assert client.get(address).status_code == client.get(address).status_code == 200
    assert client.post(address).status_code == 303
    assert client.get("/account").status_code == 200

    for again in (client.get(address), client.post(address)):
        assert again.status_code == 404


def test_a_link_is_worth_nothing_after_half_an_hour(school_class: Class) -> None:
    school, client = school_class.school, school_class.client()
    address = school.sign_in_address(school_class.student).removeprefix(school.settings.origin)
    school_class.clock.forward(minutes=30)

    assert client.post(address).status_code == 404


def test_a_session_ends_on_sign_out_and_after_thirty_days(school_class: Class) -> None:
    here, there = school_class.client(school_class.student), school_class.client(school_class.student)
    here.post("/sign-out")
    assert here.get("/account").status_code == 401
    assert there.get("/account").status_code == 200

    school_class.clock.forward(days=30)
    assert there.get("/account").status_code == 401


def test_signing_out_everywhere_ends_every_session(school_class: Class) -> None:
    here, there = school_class.client(school_class.student), school_class.client(school_class.student)

    here.post("/sign-out", data={"everywhere": "yes"})

    assert there.get("/account").status_code == 401


def test_the_sign_in_page_does_not_tell_who_has_an_account(school_class: Class) -> None:
    client = school_class.client()

    known = client.post("/sign-in", data={"email": "isolde@example.org"})
    unknown = client.post("/sign-in", data={"email": "nobody@example.org"})

    assert (known.status_code, known.text) == (unknown.status_code, unknown.text)


def test_the_database_holds_no_token(school_class: Class) -> None:
    school = school_class.school
    token = school.sign_in_address(school_class.student).rsplit("/", 1)[1]
    client = school_class.client(school_class.student)
    school.database.close()

    stored = b"".join(path.read_bytes() for path in school.settings.home.glob("school.sqlite*"))

    assert token.encode() not in stored
    assert str(client.cookies["fretwright"]).encode() not in stored


def test_letters_are_asked_for_a_few_times_an_hour(school_class: Class) -> None:
    client = school_class.client()

    statuses = [client.post("/sign-in", data={"email": "isolde@example.org"}).status_code for _ in range(6)]

    assert statuses == [200] * 5 + [429]
    assert client.post("/sign-in", data={"email": "tam@example.org"}).status_code == 200


# Paths, templates, headers


@pytest.mark.parametrize(
    "path",
    [
        "/course/../secret.txt",
        "/course/..%2fsecret.txt",
        "/course/%2e%2e/secret.txt",
        "/course/lessons/..%2f..%2fsecret.txt",
        "/course//etc/passwd",
        "/course/%2fetc%2fpasswd",
        "/course/.fretwright.json",
        "/course/..%5csecret.txt",
        "/course/index.html%00",
        "/static/..%2f..%2fkeys.py",
        "/static/book/..%2f..%2fsite.py",
    ],
)
def test_no_path_leads_out_of_its_folder(school_class: Class, path: str) -> None:
    built(school_class.school.site)
    client = school_class.client(school_class.teacher)
    assert client.get("/course/index.html").text == "index.html"

    answer = client.get(path)

    assert answer.status_code == 404, answer.text


def test_a_link_in_the_built_folder_leads_nowhere(school_class: Class) -> None:
    site = school_class.school.site
    built(site)
    (site / "assets" / "away").symlink_to(site.parent / "secret.txt")

    assert school_class.client(school_class.teacher).get("/course/assets/away").status_code == 404


def test_a_lesson_that_is_not_open_is_closed_with_all_its_files(school_class: Class) -> None:
    built(school_class.school.site)
    student = school_class.client(school_class.student)
    of_the_second = ["lessons/02-lamp.html", "sounds/02-lamp/last-line-90.m4a", "handouts/lesson-02-lamp.pdf"]

    assert student.get("/course/lessons/01-stairs.html").status_code == 200
    assert [student.get(f"/course/{path}").status_code for path in of_the_second] == [403] * 3
    school_class.clock.forward(days=3)
    assert [student.get(f"/course/{path}").status_code for path in of_the_second] == [200] * 3


@pytest.mark.parametrize(
    "words", ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "{{ 7 * 7 }}"]
)
def test_words_of_a_person_are_never_markup_nor_template(school_class: Class, words: str) -> None:
    client = school_class.client(school_class.student)
    assert client.post("/account", data={"name": words, "time_zone": "UTC"}).status_code == 303

    text = client.get("/account").text

    assert words not in text or words.startswith("{{")
    assert "49" not in text.split("</h1>")[1].split("</p>")[0]
    with school_class.school.database.reading() as transaction:
        assert people.person(transaction, school_class.student.id).name == words


@pytest.mark.parametrize("zone", ["../../etc/passwd", "/etc/localtime", "Mars/Olympus", ""])
def test_a_time_zone_is_one_of_the_list(school_class: Class, zone: str) -> None:
    # zone names are paths below the zone folder
    answer = school_class.client(school_class.student).post(
        "/account", data={"name": "Isolde", "time_zone": zone}
    )

    assert answer.status_code == 422


# Uploads


def test_a_recording_may_not_be_endless(school_class: Class) -> None:
    object.__setattr__(school_class.school.settings, "most_take_bytes", 10)
    client = school_class.client(school_class.student)
    number = client.post("/api/takes", json=announced()).json()["id"]
    piece = f"/api/takes/{number}/content"

    assert client.patch(piece, content=b"12345678", headers={"Upload-Offset": "0"}).status_code == 200
    assert client.patch(piece, content=b"123", headers={"Upload-Offset": "8"}).status_code == 413
    assert client.get(f"/api/takes/{number}").json()["offset"] == 8


def test_a_piece_may_not_be_endless(school_class: Class) -> None:
    client = school_class.client(school_class.student)
    number = client.post("/api/takes", json=announced()).json()["id"]

    answer = client.patch(
        f"/api/takes/{number}/content", content=b"x" * 8_000_001, headers={"Upload-Offset": "0"}
    )

    assert (answer.status_code, answer.json()["error"]["code"]) == (413, "too-large")


@pytest.mark.parametrize(
    "change",
    [
        {"exercise": "../../etc/passwd"},
        {"exercise": "02-lamp/last-line"},
        {"exercise": "01-stairs/' OR 1=1 --"},
    ],
)
def test_a_take_is_of_an_exercise_that_is_open(school_class: Class, change: dict[str, object]) -> None:
    client = school_class.client(school_class.student)

    assert client.post("/api/takes", json=announced() | change).status_code == 404


@pytest.mark.parametrize(
    "change",
    [
        {"client_id": "../../../x"},
        {"client_id": "a" * 65},
        {"tempo_bpm": "NaN"},
        {"tempo_bpm": 1e9},
        {"media_type": "text/html"},
        {"media_type": "audio/webm\r\nX-Evil: 1"},
        {"recorded_at": "yesterday"},
        {"recorded_at": "2027-03-04T09:00:00"},
        {"latency_ms": -5},
    ],
)
def test_what_a_device_says_is_checked(school_class: Class, change: dict[str, object]) -> None:
    client = school_class.client(school_class.student)

    answer = client.post("/api/takes", json=announced() | change)

    assert (answer.status_code, answer.json()["error"]["code"]) == (422, "malformed")


def test_a_recording_is_never_shown_as_a_page(school_class: Class) -> None:
    client = school_class.client(school_class.student)
    number = send_take(client, EXERCISE, b"<script>alert(1)</script>")["id"]

    answer = client.get(f"/api/takes/{number}/recording")

    assert answer.headers["content-type"] == "audio/wav"
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_a_stranger_to_the_course_cannot_read_it(school_class: Class) -> None:
    built(school_class.school.site)
    left = add_student(school_class.school, "Gone", "gone@example.org")
    with school_class.school.database.writing() as transaction:
        from fretwright.store import classes

        classes.leave(
            transaction, left.id, school_class.school.classroom.now.record.id, school_class.clock.at
        )

    assert school_class.client(left).get("/course/index.html").status_code == 403
    assert school_class.client(left).post("/api/takes", json=announced()).status_code == 403


# Secrets and settings


def test_the_schools_secret_is_made_once_and_readable_by_its_owner_alone(tmp_path: Path) -> None:
    key = school_key(tmp_path)

    assert len(key) == 32
    assert school_key(tmp_path) == key
    assert (tmp_path / "secret.key").stat().st_mode & 0o077 == 0
    keep_key(tmp_path, b"another")
    assert school_key(tmp_path) == key


def test_a_signature_is_good_for_one_purpose_and_one_thing(tmp_path: Path) -> None:
    key = school_key(tmp_path)
    made = signature(key, "calendar", "7")

    assert is_signature(made, key, "calendar", "7")
    assert not is_signature(made, key, "calendar", "8")
    assert not is_signature(made, key, "holder", "7")
    assert not is_signature("é" * 64, key, "calendar", "7")


def test_a_school_listens_to_its_own_machine_unless_told_otherwise(tmp_path: Path) -> None:
    bare = Settings.from_environment(tmp_path / "course", {})

    assert bare.host == "127.0.0.1"
    assert bare.hosts == {"127.0.0.1:8321", "localhost:8321", "[::1]:8321"}


def test_a_setting_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no setting FRETWRIGHT_PROT"):
        Settings.from_environment(tmp_path, {"FRETWRIGHT_PROT": "80"})
    with pytest.raises(UsageError, match="no whole number"):
        Settings.from_environment(tmp_path, {"FRETWRIGHT_PORT": "eighty"})


def announced() -> dict[str, object]:
    return {
        "client_id": "take-0001",
        "exercise": EXERCISE,
        "tempo_bpm": 100,
        "media_type": "audio/webm;codecs=opus",
        "recorded_at": "2027-03-04T09:00:00+00:00",
    }


def test_every_setting_is_told_in_the_documents() -> None:
    told = (Path(__file__).parents[3] / "docs" / "school.md").read_text(encoding="utf-8")

    assert {name for name in names() if f"`{name}`" not in told} == set()


def test_a_letter_that_was_sent_holds_no_key(school_class: Class) -> None:
    school = school_class.school
    school_class.client().post("/sign-in", data={"email": "isolde@example.org"})
    with school.database.writing() as transaction:
        (letter,) = mail.letters_due(transaction, school.now())
        assert "/sign-in/" in letter.body
        mail.mark_sent(transaction, letter.id, school.now())
        assert mail.letters(transaction)[0].body == ""
