"""The school: everything that pages share, opened once and closed once."""

import logging
import threading
from datetime import timedelta
from pathlib import Path
from typing import Final

from fretwright.base.errors import FretwrightError
from fretwright.store import entry, people
from fretwright.store.database import Database
from fretwright.store.migrate import migrate
from fretwright.store.records import Person, Role
from fretwright.store.takefiles import TakeFiles
from fretwright.web.classroom import Classroom
from fretwright.web.clock import Clock, utc_now
from fretwright.web.housekeeping import keep_house
from fretwright.web.judging import Judging, StoredQueue
from fretwright.web.keys import digest, new_token, school_key, signature
from fretwright.web.limits import Limits
from fretwright.web.postbox import Postbox
from fretwright.web.press import Press
from fretwright.web.settings import Settings

_LOG: Final = logging.getLogger("fretwright.school")
_LOOK_S: Final = 2.0
_KEEP_HOUSE_EVERY: Final = 1800
"""Looks: about an hour."""
LINK_LASTS: Final = timedelta(minutes=30)
"""How long a sign-in link can be used."""
SESSION_LASTS: Final = timedelta(days=30)
"""After so long one signs in anew."""


class School:
    """What every page works with. Nothing runs in the background before :meth:`start`."""

    def __init__(self, settings: Settings, clock: Clock = utc_now) -> None:
        """Open database and folders, making what does not stand yet, and read the course.

        Raises :class:`~fretwright.base.errors.FretwrightError` if any of them cannot be used.
        """
        self.settings: Final = settings
        self.now: Final = clock
        """The present moment."""
        settings.home.mkdir(parents=True, exist_ok=True)
        self.key: Final = school_key(settings.home)
        """The school's secret, for :func:`~fretwright.web.keys.signature`."""
        self.database: Final = Database(settings.database)
        migrate(self.database)
        self.take_files: Final = TakeFiles(settings.home / "takes")
        self.classroom: Final = Classroom(settings.course, self.database, clock)
        self.press: Final = Press(settings.course, settings.home / "site")
        self.limits: Final = Limits(self.database, self.key, clock)
        holder = signature(self.key, "holder", str(settings.home))[:16]
        self.queue: Final = StoredQueue(self.database, self.take_files, self.classroom, clock, holder)
        self.judging: Final = Judging(self.queue, settings, self.classroom, holder)
        self.postbox: Final = Postbox(self.database, settings, self.classroom, clock, self.key)
        self._ended: Final = threading.Event()
        self._watch: threading.Thread | None = None

    @property
    def site(self) -> Path:
        """The folder of the built course."""
        return self.press.out

    def start(self) -> None:
        """Begin to build, judge and watch the course folder."""
        self.press.ask()
        self.judging.start()
        self.postbox.start()
        self._watch = threading.Thread(target=self._look, name="watch", daemon=True)
        self._watch.start()

    def close(self) -> None:
        """End everything that was begun."""
        self._ended.set()
        self.postbox.close()
        self.judging.close()
        self.press.close()
        self.database.close()

    def course_changed(self) -> bool:
        """Look at the course folder now; where it changed, read and build it. Says whether it had."""
        changed = self.classroom.read_again()
        if changed:
            self.press.ask()
        return changed

    def teacher(self) -> Person:
        """The teacher whose course this is, added when the school is new."""
        with self.database.writing() as transaction:
            found = people.teachers(transaction)
            if found:
                return found[0]
            return people.add_person(
                transaction,
                role=Role.TEACHER,
                name=self.classroom.now.checked.course.teacher,
                email=self.settings.teacher_email,
                time_zone="UTC",
                now=self.now(),
            )

    def sign_in_address(self, person: Person) -> str:
        """An address that signs this person in, once and for a while."""
        token, now = new_token(), self.now()
        with self.database.writing() as transaction:
            entry.add_link(transaction, person.id, digest=digest(token), now=now, expires_at=now + LINK_LASTS)
        return f"{self.settings.origin}/sign-in/{token}"

    def _look(self) -> None:
        looks = 0
        while not self._ended.wait(_LOOK_S):
            try:
                self.course_changed()
            except (FretwrightError, OSError) as error:
                # a file that is half saved, most likely: the next look finds it whole
                _LOG.warning("the course cannot be read: %s", error)
            if looks % _KEEP_HOUSE_EVERY == 0:
                self._keep_house()
            looks += 1

    def _keep_house(self) -> None:
        try:
            gone = keep_house(
                self.database,
                self.take_files,
                retention_days=self.settings.retention_days,
                now=self.now(),
            )
        except FretwrightError as error:
            _LOG.warning("housekeeping was interrupted: %s", error)
        else:
            if gone.recordings or gone.strays:
                _LOG.info("%d old recordings and %d stray files deleted", gone.recordings, gone.strays)
