"""The error tree.

Two kinds of trouble are kept apart:

* a mistake in a teacher's files is a :class:`~fretwright.base.findings.Finding`, collected and shown
  with all the others; it is never an exception;
* everything that stops a call is one of the errors below.

::

    FretwrightError
    ├── NotationError       a musical name that cannot be read ("H minor", "DADGAX")
    ├── FretboardError      a place, tuning or neck that cannot exist
    ├── ScoreError          notes that contradict each other
    ├── UnplayableError     no hand can play what was asked
    ├── CourseError         a course folder that cannot be opened at all
    ├── ExchangeError       a file of another program that cannot be read at all
    ├── RenderError         a plate, sound, page or document that cannot be made
    ├── StoreError          a database or a folder of recordings that cannot be used
    │   ├── ConflictError   a change that contradicts what is stored
    │   └── UnstorableError a number or a text that no database can hold
    ├── JudgeLostError      a process or machine that ended while it judged a take
    ├── RefusedError        a request that the school turns down
    └── UsageError          a request that names something that is not there
"""


class FretwrightError(Exception):
    """Root of every error that Fretwright raises on purpose.

    ``mend`` says in a teacher's words what to do about it; it may be empty where nothing can be done.
    """

    def __init__(self, message: str, mend: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.mend = mend

    def __str__(self) -> str:
        return f"{self.message} {self.mend}".rstrip() if self.mend else self.message


class NotationError(FretwrightError):
    """A musical name that cannot be read, such as a note, a scale or a tuning."""


class FretboardError(FretwrightError):
    """A place, tuning or neck that cannot exist."""


class ScoreError(FretwrightError):
    """Notes that contradict each other, such as two on one string at one time."""


class UnplayableError(FretwrightError):
    """Notes that no hand of the given size can play."""


class CourseError(FretwrightError):
    """A course folder that cannot be opened at all."""


class ExchangeError(FretwrightError):
    """A file of another program that cannot be read at all."""


class RenderError(FretwrightError):
    """A plate, sound, page or document that cannot be made."""


class UsageError(FretwrightError):
    """A request that names something that is not there."""


class StoreError(FretwrightError):
    """A database or a folder of recordings that cannot be used."""


class ConflictError(StoreError):
    """A change that contradicts what is stored, such as a second account with one address."""


class UnstorableError(StoreError):
    """A value that no database can hold: a number too large, a text with NUL or half a character in it."""


class JudgeLostError(FretwrightError):
    """A process or machine that ended while it judged a take."""


class RefusedError(FretwrightError):
    """A request that the school turns down.

    ``status`` is the HTTP status that says so and ``code`` one word for programs.
    """

    def __init__(self, status: int, code: str, message: str, mend: str = "") -> None:
        super().__init__(message, mend)
        self.status = status
        self.code = code
