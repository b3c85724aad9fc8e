"""The course site of the school: set in the background whenever the course changes."""

import logging
import threading
from pathlib import Path
from typing import Final

from fretwright.base.errors import FretwrightError
from fretwright.flows.report import BuildOrder, recall
from fretwright.flows.shelf import Shelf
from fretwright.flows.teach import build
from fretwright.flows.workers import gently
from fretwright.publish.material import Surround
from fretwright.web.places import STUDENT_PLACES

_LOG: Final = logging.getLogger("fretwright.press")

SURROUND: Final = Surround(
    styles=("/static/school.css", "/static/practice/practice.css"),
    modules=("/static/practice/room.js",),
    places=STUDENT_PLACES,
    colophon="What you record here goes to this school alone.",
    is_alone=False,
)
"""What every page of the course has in the school beside what it has everywhere."""


class Press:
    """One thread that builds the site. A build that fails leaves the last one standing."""

    def __init__(self, course: Path, out: Path) -> None:
        """Build ``course`` into ``out``, once asked."""
        self.out: Final = out
        self._course: Final = course
        self._wanted: Final = threading.Event()
        self._idle: Final = threading.Event()
        self._ended = False
        self._thread: threading.Thread | None = None
        self.trouble: str | None = None
        """Why the last build stopped, in a sentence; ``None`` if it did not."""

    @property
    def is_ready(self) -> bool:
        """Whether a whole site has been built."""
        return (self.out / "index.html").is_file()

    def ask(self) -> None:
        """Have the site built anew, as soon as the build that may be running is done."""
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="press", daemon=True)
            self._thread.start()
        self._idle.clear()
        self._wanted.set()

    def wait(self, timeout_s: float) -> bool:
        """Wait until nothing is left to build; ``False`` if that took longer."""
        return self._idle.wait(timeout_s)

    def close(self) -> None:
        """End after the build that may be running."""
        self._ended = True
        self._wanted.set()

    def _run(self) -> None:
        while True:
            self._wanted.wait()
            self._wanted.clear()
            if self._ended:
                return
            self._build()
            if not self._wanted.is_set():
                self._idle.set()

    def _build(self) -> None:
        order = BuildOrder(self._course, self.out, surround=SURROUND)
        try:
            shelf = Shelf(self.out)
            if recall(order, shelf) is None:
                with gently():  # the teacher types on meanwhile
                    build(order, shelf)
            self.trouble = None
        except FretwrightError as error:
            self.trouble = str(error)
            _LOG.error("the course was not built: %s", error)
        except Exception:  # noqa: BLE001 - the next edit may build again
            self.trouble = "Something broke while the course was being set."
            _LOG.exception("the course was not built")
