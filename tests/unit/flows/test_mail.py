"""Letters: kept first, handed over, ticked off, and tried again."""

import email
import socket
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from email import policy
from email.utils import parsedate_to_datetime
from pathlib import Path

import pytest

from fretwright.base.errors import RenderError, UsageError
from fretwright.flows.mail import (
    FolderPostman,
    Postman,
    Round,
    Sender,
    SmtpPostman,
    SmtpSettings,
    deliver_waiting,
    message_of,
    pause_after,
    require_address,
)


@dataclass(frozen=True, slots=True)
class LetterOnPaper:
    id: int
    recipient: str
    subject: str
    body: str
    created_at: datetime
    tries: int = 0
    stop_address: str | None = None


NOW = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
SENDER = Sender("school@weir.example", "Évenings by the weir")
LETTER = LetterOnPaper(
    7,
    "Student.One+guitar@mail.example",
    "Your first lesson – “Stairs”",
    "Hello,\n\nfrom today: " + "a long line " * 20 + "\n.\nÜben!\n",
    NOW,
)


@dataclass
class OutboxOnPaper:
    """The outbox of a school that is kept in memory."""

    letters: dict[int, LetterOnPaper]
    due: dict[int, datetime] = field(default_factory=dict)
    done: dict[int, datetime] = field(default_factory=dict)
    reasons: list[str] = field(default_factory=list)

    def waiting(self, now: datetime) -> Iterator[LetterOnPaper]:
        for letter in self.letters.values():
            if letter.id not in self.done and self.due.get(letter.id, now) <= now:
                yield letter

    def sent(self, letter_id: int, at: datetime) -> None:
        self.done[letter_id] = at

    def put_off(self, letter_id: int, until: datetime, reason: str) -> None:
        letter = self.letters[letter_id]
        self.letters[letter_id] = replace(letter, tries=letter.tries + 1)
        self.due[letter_id] = until
        self.reasons.append(reason)


class MailServer:
    """As much of an SMTP server as a letter meets (RFC 5321, section 4.1.1), on this machine."""

    def __init__(self, refuses: str = "") -> None:
        self._refuses = refuses
        self.letters: list[bytes] = []
        self.commands: list[str] = []
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._socket.getsockname()[1]
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def close(self) -> None:
        self._socket.shutdown(socket.SHUT_RDWR)  # wakes the thread, which closing alone does not
        self._thread.join(5)
        self._socket.close()

    def _serve(self) -> None:
        while True:
            try:
                connection, _ = self._socket.accept()
            except OSError:
                return
            with connection, connection.makefile("rwb") as stream:
                self._talk(stream)  # type: ignore[arg-type]  # a socket's file reads and writes

    def _talk(self, stream: socket.SocketIO) -> None:
        def say(line: str) -> None:
            stream.write(f"{line}\r\n".encode())
            stream.flush()

        say("220 weir.example")
        for line in stream:
            command = line.decode().strip()
            self.commands.append(command)
            word = command.split()[0].upper()
            if self._refuses and command.upper().startswith(self._refuses):
                say("550 no")
            elif word == "DATA":
                say("354 go on")
                body = b""
                while (piece := stream.readline()) != b".\r\n":
                    body += piece.removeprefix(b".")
                self.letters.append(body)
                say("250 taken")
            elif word == "QUIT":
                say("221 bye")
                return
            else:
                say("250 fine")


@pytest.fixture
def server() -> Iterator[MailServer]:
    running = MailServer()
    yield running
    running.close()


def postman_for(server: MailServer) -> SmtpPostman:
    return SmtpPostman(SmtpSettings("127.0.0.1", server.port, "none"), SENDER)


def test_a_letter_reaches_the_mail_server_as_it_was_written(server: MailServer) -> None:
    outbox = OutboxOnPaper({LETTER.id: LETTER})

    assert deliver_waiting(outbox, postman_for(server), NOW) == Round(1, 0)

    assert "mail FROM:<school@weir.example>" in [each.split(" size")[0] for each in server.commands]
    assert f"rcpt TO:<{LETTER.recipient}>" in server.commands
    read = email.message_from_bytes(server.letters[0], policy=policy.default)
    assert read["Subject"] == LETTER.subject
    assert read["From"].addresses[0].display_name == SENDER.name
    assert read["Message-ID"] == "<20260301-120000-letter-7@weir.example>"
    assert parsedate_to_datetime(read["Date"]) == NOW
    assert read.get_content().replace("\r\n", "\n") == LETTER.body
    # RFC 5322, section 2.1.1: lines of at most 78 characters, 998 at the very most; RFC 5321: CRLF ends them.
    assert max(map(len, server.letters[0].split(b"\r\n"))) <= 78
    assert server.letters[0].count(b"\n") == server.letters[0].count(b"\r\n")
    assert server.letters[0].isascii()


def test_what_was_sent_is_not_sent_again(server: MailServer) -> None:
    outbox = OutboxOnPaper({LETTER.id: LETTER})
    deliver_waiting(outbox, postman_for(server), NOW)

    assert deliver_waiting(outbox, postman_for(server), NOW) == Round(0, 0)
    assert len(server.letters) == 1


def test_a_letter_that_is_refused_waits_longer_each_time_and_the_next_one_goes(tmp_path: Path) -> None:
    bad = replace(LETTER, id=6, recipient="nobody")
    outbox = OutboxOnPaper({6: bad, LETTER.id: LETTER})

    assert deliver_waiting(outbox, FolderPostman(tmp_path, SENDER), NOW) == Round(1, 1)
    assert deliver_waiting(outbox, FolderPostman(tmp_path, SENDER), NOW) == Round(0, 0)
    soon = NOW + timedelta(minutes=1)
    assert deliver_waiting(outbox, FolderPostman(tmp_path, SENDER), soon) == Round(0, 1)
    assert outbox.due[6] == soon + timedelta(minutes=2)
    assert "no e-mail address" in outbox.reasons[0]


def test_pauses_double_up_to_six_hours() -> None:
    minutes = [pause_after(tries) / timedelta(minutes=1) for tries in (0, 1, 2, 8, 9, 10_000)]

    assert minutes == [1, 2, 4, 256, 360, 360]


@pytest.mark.parametrize("refuses", ["MAIL", "RCPT", "DATA"])
def test_whatever_the_server_refuses_the_letter_stays(refuses: str) -> None:
    server = MailServer(refuses)
    outbox = OutboxOnPaper({LETTER.id: LETTER})

    assert deliver_waiting(outbox, postman_for(server), NOW) == Round(0, 1)
    server.close()

    assert outbox.letters[LETTER.id].tries == 1
    assert not outbox.done


def test_a_server_that_is_not_there_leaves_the_letter_waiting() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
    postman = SmtpPostman(SmtpSettings("127.0.0.1", port), SENDER)
    outbox = OutboxOnPaper({LETTER.id: LETTER})

    assert deliver_waiting(outbox, postman, NOW) == Round(0, 1)
    assert "refused" in outbox.reasons[0].lower()


def test_a_server_without_encryption_gets_neither_password_nor_letter(server: MailServer) -> None:
    settings = SmtpSettings("127.0.0.1", server.port, "starttls", "school", "very secret")
    with pytest.raises(RenderError) as raised:
        SmtpPostman(settings, SENDER).hand_over(LETTER)

    assert not server.letters
    assert not [each for each in server.commands if each.upper().startswith("AUTH")]
    assert "very secret" not in f"{raised.value} {settings!r}"


def test_without_a_mail_server_letters_are_files_that_a_mail_program_opens(tmp_path: Path) -> None:
    folder = tmp_path / "outbox"
    postman: Postman = FolderPostman(folder, SENDER)

    where = postman.hand_over(LETTER)
    postman.hand_over(LETTER)

    (file,) = folder.iterdir()
    assert where == f"file {file.name}"
    assert file.name == "20260301-120000-letter-7.eml"
    read = email.message_from_bytes(file.read_bytes(), policy=policy.default)
    assert (read["To"], read["Subject"]) == (LETTER.recipient, LETTER.subject)
    assert folder.stat().st_mode & 0o077 == file.stat().st_mode & 0o077 == 0


def test_a_folder_that_cannot_be_written_keeps_the_letter_waiting(tmp_path: Path) -> None:
    (tmp_path / "outbox").write_text("in the way", encoding="utf-8")

    with pytest.raises(RenderError, match="cannot be written"):
        FolderPostman(tmp_path / "outbox", SENDER).hand_over(LETTER)


@pytest.mark.parametrize("bad", ["x\r\nBcc: all@mail.example", "two\nlines"])
def test_no_subject_or_name_starts_another_header(bad: str) -> None:
    """RFC 5322, section 2.2: a line end ends a header field."""
    for letter, sender in ((replace(LETTER, subject=bad), SENDER), (LETTER, replace(SENDER, name=bad))):
        with pytest.raises(UsageError, match="line end"):
            message_of(letter, sender)


@pytest.mark.parametrize(
    "address",
    ["", "name", "@b.example", "a@", "a b@c.example", "a@b.example\r\nBcc: c@d.example", "a@b..example",
     "<a@b.example>", "a@b.example,c@d.example", f"{'a' * 65}@b.example", f"a@{'b' * 250}.example"],
)  # fmt: skip
def test_what_is_no_address_is_refused(address: str) -> None:
    with pytest.raises(UsageError):
        require_address(address)


def test_an_address_loses_the_blanks_around_it() -> None:
    assert require_address(" a.b+c@d-e.example \n") == "a.b+c@d-e.example"
