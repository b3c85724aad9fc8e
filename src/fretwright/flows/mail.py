"""Mail: a letter is kept by the store first, then handed over, and only then ticked off.

Letters wait in an outbox that the store keeps (:class:`Outbox`). :func:`deliver_waiting` hands each over to a
:class:`Postman`: one that speaks SMTP (RFC 5321) where the school has set it up, otherwise one that writes
``.eml`` files (RFC 5322) into a folder, from which the teacher can send them by hand. A letter that could not
be handed over stays in the outbox and is tried again later, each time after a longer pause. A letter may go
out twice where the machine stops between handing over and ticking off; it is never lost, and its
``Message-ID`` stays the same, so that mailboxes can tell the two apart from two letters.
"""

import re
import smtplib
import ssl
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from pathlib import Path
from typing import Final, Literal, Protocol

from fretwright.base.errors import RenderError, UsageError
from fretwright.base.whole import write_whole

_TIMEOUT_S: Final = 20.0
_LONGEST_PAUSE: Final = timedelta(hours=6)
_ADDRESS: Final = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]{1,64}@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)*")
"""What HTML calls a valid e-mail address (HTML Standard, section 4.10.5.1.5), one that every server takes."""
_LONGEST_ADDRESS: Final = 254
"""RFC 5321, section 4.5.3.1.3, less the angle brackets."""


class Letter(Protocol):
    """One message to one person, in plain text, as the store keeps it."""

    @property
    def id(self) -> int:
        """Its number among all letters of the school."""

    @property
    def recipient(self) -> str:
        """The address."""

    @property
    def subject(self) -> str:
        """One line."""

    @property
    def body(self) -> str:
        """Lines end with a line feed."""

    @property
    def created_at(self) -> datetime:
        """When it was written; aware."""

    @property
    def tries(self) -> int:
        """How often it could not be handed over."""

    @property
    def stop_address(self) -> str | None:
        """Where the reader can say that they want no more of these; ``None`` where it was asked for."""


@dataclass(frozen=True, slots=True)
class Sender:
    """Who writes."""

    address: str
    name: str = ""
    """As mailboxes show it: the school's or the teacher's."""


@dataclass(frozen=True, slots=True)
class SmtpSettings:
    """How to reach the school's mail server."""

    host: str
    port: int = 587
    security: Literal["starttls", "tls", "none"] = "starttls"
    """``starttls`` begins in the clear and goes over to TLS (RFC 3207), ``tls`` starts with it (RFC 8314);
    ``none`` is for a server on this very machine."""
    user: str = ""
    password: str = field(default="", repr=False)


class Postman(Protocol):
    """Whoever takes letters away."""

    def hand_over(self, letter: Letter) -> str:
        """Take one letter, and say in a few words where it went.

        Raises :class:`~fretwright.base.errors.RenderError` where it cannot be taken now.
        """


class Outbox(Protocol):
    """Where letters wait; kept by the store."""

    def waiting(self, now: datetime) -> Iterable[Letter]:
        """Letters that are due: neither sent nor put off until later than ``now``, the oldest first."""

    def sent(self, letter_id: int, at: datetime) -> None:
        """Tick a letter off."""

    def put_off(self, letter_id: int, until: datetime, reason: str) -> None:
        """Count one more failed try, and keep the letter for later."""


@dataclass(frozen=True, slots=True)
class Round:
    """What came of one round of deliveries."""

    sent: int
    put_off: int


def require_address(text: str) -> str:
    """The address without blanks around it.

    Raises :class:`~fretwright.base.errors.UsageError` where it is none that a mail server would take.
    """
    address = text.strip()
    if len(address) > _LONGEST_ADDRESS or not _ADDRESS.fullmatch(address):
        raise UsageError(f'"{address[:60]}" is no e-mail address.', "Write one such as name@example.org.")
    return address


def message_of(letter: Letter, sender: Sender) -> EmailMessage:
    """The letter as RFC 5322 has it.

    Raises :class:`~fretwright.base.errors.UsageError` where an address or the subject would break the header.
    """
    message = EmailMessage(policy=SMTP)
    user, _, domain = require_address(sender.address).rpartition("@")
    try:
        message["From"] = Address(sender.name, user, domain)
        message["To"] = require_address(letter.recipient)
        message["Subject"] = letter.subject
    except ValueError as error:  # a line end in a header would start another one
        raise UsageError("A name or subject of a letter has a line end in it.") from error
    message["Date"] = format_datetime(letter.created_at.astimezone(UTC))
    message["Message-ID"] = f"<{_name_of(letter)}@{domain}>"
    message["Auto-Submitted"] = "auto-generated"  # RFC 3834: no out-of-office answer comes back
    if letter.stop_address is not None:
        message["List-Unsubscribe"] = f"<{letter.stop_address}>"  # RFC 2369
        if letter.stop_address.startswith("https:"):  # RFC 8058 allows no other
            message["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    message.set_content(letter.body, cte="quoted-printable")
    return message


@dataclass(frozen=True, slots=True)
class SmtpPostman:
    """Hands letters to a mail server."""

    settings: SmtpSettings
    sender: Sender

    def hand_over(self, letter: Letter) -> str:
        """Send one letter."""
        message = message_of(letter, self.sender)
        try:
            with self._server() as server:
                if self.settings.user:
                    server.login(self.settings.user, self.settings.password)
                server.send_message(message)
        except (OSError, smtplib.SMTPException) as error:
            raise RenderError(f"The mail server did not take a letter: {_reason(error)}.") from error
        return f"mail server {self.settings.host}"

    def _server(self) -> smtplib.SMTP:
        host, port, context = self.settings.host, self.settings.port, ssl.create_default_context()
        if self.settings.security == "tls":
            return smtplib.SMTP_SSL(host, port, timeout=_TIMEOUT_S, context=context)
        server = smtplib.SMTP(host, port, timeout=_TIMEOUT_S)
        if self.settings.security == "starttls":
            try:
                server.starttls(context=context)
            except BaseException:
                server.close()
                raise
        return server


@dataclass(frozen=True, slots=True)
class FolderPostman:
    """Writes letters as files, for a school that has set up no mail server."""

    folder: Path
    sender: Sender = Sender("school@localhost")

    def hand_over(self, letter: Letter) -> str:
        """Write one letter under its own name, in one step; a second time writes the same file."""
        target = self.folder / f"{_name_of(letter)}.eml"
        try:
            self.folder.mkdir(
                parents=True, exist_ok=True, mode=0o700
            )  # letters hold links that log people in
            write_whole(target, message_of(letter, self.sender).as_bytes())
        except OSError as error:
            raise RenderError(f"The letter cannot be written: {_reason(error)}.") from error
        return f"file {target.name}"


def deliver_waiting(outbox: Outbox, postman: Postman, now: datetime) -> Round:
    """Hand over every letter that is due; whatever goes wrong with one, the others still go."""
    sent = put_off = 0
    for letter in list(outbox.waiting(now)):
        try:
            postman.hand_over(letter)
        except (RenderError, UsageError) as error:
            outbox.put_off(letter.id, now + pause_after(letter.tries), error.message)
            put_off += 1
        else:
            outbox.sent(letter.id, now)
            sent += 1
    return Round(sent, put_off)


def pause_after(tries: int) -> timedelta:
    """How long a letter waits that has failed ``tries`` times before: 1, 2, 4 ... minutes, up to 6 hours."""
    return min(timedelta(minutes=1 << min(tries, 20)), _LONGEST_PAUSE)


def _name_of(letter: Letter) -> str:
    """A name that no other letter has, and that sorts by time."""
    return f"{letter.created_at.astimezone(UTC):%Y%m%d-%H%M%S}-letter-{letter.id}"


def _reason(error: OSError | smtplib.SMTPException) -> str:
    """What went wrong, in words that repeat no password."""
    if isinstance(error, smtplib.SMTPAuthenticationError):
        return "it refused the user name or the password"
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        return "it refused the address"
    if isinstance(error, smtplib.SMTPResponseException):
        return f"it answered {error.smtp_code}"
    return getattr(error, "strerror", None) or type(error).__name__
