"""Bringing a database to the form that this version works with."""

from typing import Final

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from fretwright.base.errors import StoreError
from fretwright.store.database import Database

_LOCK: Final = 0x46_52_45_54
"""A number of our own for PostgreSQL's advisory lock: two servers that start at once migrate in turn."""


def migrate(database: Database, revision: str = "head") -> None:
    """Bring the database to the newest form (or to ``revision``), keeping what is in it.

    Raises :class:`~fretwright.base.errors.StoreError` if it was made by a newer version.
    """
    known = {script.revision for script in _scripts().walk_revisions()}
    with database.writing() as transaction:
        if not database.is_sqlite:
            transaction.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK})")
        found = MigrationContext.configure(transaction).get_current_revision()
        if found is not None and found not in known:
            raise StoreError(
                f"The database was made by a newer version of Fretwright (form {found}).",
                "Install that version, or restore a backup made with this one.",
            )
        config = _config()
        config.attributes["connection"] = transaction
        command.upgrade(config, revision)


def current_form(database: Database) -> str | None:
    """The revision that a database stands at; ``None`` where it is empty."""
    with database.reading() as transaction:
        return MigrationContext.configure(transaction).get_current_revision()


def require_newest(database: Database) -> None:
    """Make sure that a database has the form that this version works with, and change nothing.

    Raises :class:`~fretwright.base.errors.StoreError` if it has another one, or none.
    """
    found = current_form(database)
    if found != newest_form():
        raise StoreError(
            f"The database has form {found or 'none'}, this version works with {newest_form()}.",
            "Start the school once with this version.",
        )


def newest_form() -> str:
    """The revision that this version works with."""
    head = _scripts().get_current_head()
    if head is None:
        raise StoreError("There are no migrations in this installation.", "Install Fretwright again.")
    return head


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", "fretwright.store:migrations")
    return config


def _scripts() -> ScriptDirectory:
    return ScriptDirectory.from_config(_config())
