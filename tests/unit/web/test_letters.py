"""Letters about lessons can be stopped: by their link, by the mailbox's own button, on the account page."""

import email
from dataclasses import replace
from email import policy
from email.message import EmailMessage

from fretwright.flows.mail import Sender, message_of
from fretwright.store import mail, people
from fretwright.web.postbox import Postbox
from school import Class

ONE_CLICK = {"List-Unsubscribe": "One-Click"}


def lesson_letter(made: Class, origin: str = "https://school.example") -> tuple[Postbox, EmailMessage]:
    """The letter to the first student about the second lesson, as it leaves a school behind a proxy."""
    school = made.school
    settings = replace(school.settings, public_url=origin)
    postbox = Postbox(school.database, settings, school.classroom, made.clock, school.key)
    made.clock.forward(days=school.classroom.now.checked.course.days_between_lessons)
    assert postbox.announce() == 2
    with school.database.reading() as transaction:
        letter = next(each for each in mail.letters(transaction) if each.person_id == made.student.id)
    sent = message_of(letter, Sender("school@school.example")).as_bytes()
    return postbox, email.message_from_bytes(sent, policy=policy.default)


def path_of(letter: EmailMessage) -> str:
    return str(letter["List-Unsubscribe"]).strip("<>").removeprefix("https://school.example")


def wants_letters(made: Class) -> bool:
    with made.school.database.reading() as transaction:
        return people.person(transaction, made.student.id).lesson_letters


def test_a_letter_names_the_address_that_stops_it(school_class: Class) -> None:
    _, letter = lesson_letter(school_class)

    # RFC 8058, section 3.1: both headers, and an https address that needs no more than a POST
    assert letter["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert str(letter["List-Unsubscribe"]).startswith("<https://school.example/letters/stop/")
    assert str(letter["List-Unsubscribe"]).strip("<>") in letter.get_content()


def test_without_https_no_one_click_is_promised(school_class: Class) -> None:
    _, letter = lesson_letter(school_class, "http://127.0.0.1:8321")

    assert letter["List-Unsubscribe"] is not None
    assert letter["List-Unsubscribe-Post"] is None


def test_a_mailbox_stops_them_without_session_or_origin(school_class: Class) -> None:
    postbox, letter = lesson_letter(school_class)
    stranger = school_class.client()
    del stranger.headers["Origin"]

    answer = stranger.post(path_of(letter), data=ONE_CLICK)

    assert answer.status_code == 200
    assert not wants_letters(school_class)
    with school_class.school.database.reading() as transaction:
        assert [each.person_id for each in mail.letters(transaction)] == [school_class.other.id]
    assert postbox.announce() == 0


def test_looking_at_the_link_stops_nothing(school_class: Class) -> None:
    _, letter = lesson_letter(school_class)

    page = school_class.client().get(path_of(letter), headers={"Accept": "text/html"})

    assert "isolde@example.org" in page.text
    assert wants_letters(school_class)


def test_an_address_that_the_school_did_not_make_stops_nothing(school_class: Class) -> None:
    _, letter = lesson_letter(school_class)
    others = path_of(letter).replace(f"/{school_class.student.id}-", f"/{school_class.other.id}-")
    client = school_class.client()

    for path in (others, f"{path_of(letter)}0", f"/letters/stop/{2**70}-0"):
        assert client.post(path, data=ONE_CLICK).status_code in {404, 422}
    assert wants_letters(school_class)


def test_the_account_page_stops_them_and_asks_for_them_again(school_class: Class) -> None:
    client = school_class.client(school_class.student)
    about = {"name": "Isolde Fenn", "time_zone": "UTC"}

    client.post("/account", data=about)
    assert not wants_letters(school_class)
    assert 'value="yes"> Write to me' in client.get("/account").text

    client.post("/account", data={**about, "lesson_letters": "yes"})
    assert wants_letters(school_class)


def test_sign_in_letters_come_all_the_same(school_class: Class) -> None:
    school_class.client(school_class.student).post("/account", data={"name": "Isolde", "time_zone": "UTC"})

    school_class.client().post("/sign-in", data={"email": "isolde@example.org"})

    with school_class.school.database.reading() as transaction:
        (letter,) = mail.letters(transaction)
    assert (letter.reason, letter.stop_address) == ("sign-in", None)
