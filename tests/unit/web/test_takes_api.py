"""Takes over the API, from the first byte to the verdict."""

import hashlib

from fretwright.ear.take import Refusal
from school import Class, FakeBench, judge_all, send_take

EXERCISE = "01-stairs/up-and-back"


def test_a_take_is_received_and_judged(school_class: Class) -> None:
    client = school_class.client(school_class.student)

    received = send_take(client, EXERCISE, b"sound")
    assert received["state"] == "received"

    assert judge_all(school_class.school) == 1
    judged = client.get(f"/api/takes/{received['id']}").json()
    assert judged["state"] == "judged"
    assert judged["hearing"]["exercise"] == EXERCISE
    assert {note["verdict"] for note in judged["hearing"]["notes"]} == {"played"}


def test_what_the_ear_refuses_says_why(school_class: Class) -> None:
    client = school_class.client(school_class.student)
    received = send_take(client, EXERCISE, b"sound")

    judge_all(school_class.school, FakeBench(Refusal("It is silent.", "Record again.")))

    refused = client.get(f"/api/takes/{received['id']}").json()
    assert (refused["state"], refused["trouble"]) == ("refused", "It is silent. Record again.")


def test_sending_the_same_take_again_is_not_a_second_take(school_class: Class) -> None:
    client = school_class.client(school_class.student)

    first = send_take(client, EXERCISE, b"sound")
    again = client.post(
        "/api/takes",
        json={
            "client_id": first["client_id"],
            "exercise": EXERCISE,
            "tempo_bpm": 100,
            "media_type": "audio/wav",
            "recorded_at": first["recorded_at"],
        },
    ).json()

    assert (again["id"], again["state"], again["offset"]) == (first["id"], "received", 5)
    assert client.post(f"/api/takes/{first['id']}/finish", json={"size_bytes": 5}).json()["id"] == first["id"]
    assert judge_all(school_class.school) == 1


def test_a_piece_at_another_offset_is_refused_and_told_where_to_go_on(school_class: Class) -> None:
    client = school_class.client(school_class.student)
    number = client.post(
        "/api/takes",
        json={
            "client_id": "take-0001",
            "exercise": EXERCISE,
            "tempo_bpm": 100,
            "media_type": "audio/webm;codecs=opus",
            "recorded_at": "2027-03-04T09:00:00+00:00",
        },
    ).json()["id"]
    piece = f"/api/takes/{number}/content"

    assert client.patch(piece, content=b"abc", headers={"Upload-Offset": "0"}).json()["offset"] == 3
    twice = client.patch(piece, content=b"abc", headers={"Upload-Offset": "0"})
    assert (twice.status_code, twice.json()["error"]["code"]) == (409, "offset")
    assert client.get(f"/api/takes/{number}").json()["offset"] == 3

    early = client.post(f"/api/takes/{number}/finish", json={"size_bytes": 6})
    assert (early.status_code, early.json()["error"]["code"]) == (409, "offset")
    client.patch(piece, content=b"def", headers={"Upload-Offset": "3"})

    wrong = client.post(f"/api/takes/{number}/finish", json={"size_bytes": 6, "sha256": "0" * 64})
    assert (wrong.status_code, wrong.json()["error"]["code"]) == (409, "damaged")
    assert client.get(f"/api/takes/{number}").json()["offset"] == 0
    client.patch(piece, content=b"abcdef", headers={"Upload-Offset": "0"})
    right = {"size_bytes": 6, "sha256": hashlib.sha256(b"abcdef").hexdigest()}
    assert client.post(f"/api/takes/{number}/finish", json=right).json()["state"] == "received"


def test_a_take_is_its_students_and_the_teachers(school_class: Class) -> None:
    number = send_take(school_class.client(school_class.student), EXERCISE, b"sound")["id"]
    other, teacher = school_class.client(school_class.other), school_class.client(school_class.teacher)

    for path in (f"/api/takes/{number}", f"/api/takes/{number}/recording"):
        assert other.get(path).status_code == 404
        assert teacher.get(path).status_code == 200
    assert other.delete(f"/api/takes/{number}").status_code == 404
    assert (
        other.patch(f"/api/takes/{number}/content", content=b"x", headers={"Upload-Offset": "5"}).status_code
        == 404
    )
