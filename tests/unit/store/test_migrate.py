"""One path of migrations makes what the program works with, on both databases."""

import re

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import text

from fretwright.base.errors import StoreError
from fretwright.store import people
from fretwright.store.database import Database
from fretwright.store.migrate import current_form, migrate, newest_form
from fretwright.store.tables import metadata

_CHECKS = (
    "SELECT conname::text FROM pg_constraint WHERE contype = 'c' AND connamespace = 'public'::regnamespace"
)


def test_the_migrations_make_the_tables_of_the_program(database: Database) -> None:
    with database.reading() as transaction:
        context = MigrationContext.configure(transaction, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []
        assert context.get_current_revision() == newest_form()


def test_the_constraints_are_those_of_the_program(database: Database) -> None:
    # the comparison above does not look at checks: ask the database for what it was told
    declared = {
        str(each.name) for table in metadata.tables.values() for each in table.constraints if each.name
    }
    checks = {name for name in declared if name.startswith("ck_")}
    assert len(checks) > 25
    with database.reading() as transaction:
        if database.is_sqlite:
            told = " ".join(
                transaction.execute(text("SELECT sql FROM sqlite_master WHERE sql NOT NULL")).scalars()
            )
            there = set(re.findall(r"CONSTRAINT (\w+) CHECK", told))
        else:
            there = set(transaction.execute(text(_CHECKS)).scalars())
    assert there == checks


def test_migrating_again_changes_nothing(database: Database) -> None:
    migrate(database)

    assert current_form(database) == newest_form()


def test_a_database_of_a_newer_version_is_left_alone(database: Database) -> None:
    with database.writing() as transaction:
        transaction.execute(text("UPDATE alembic_version SET version_num = '9999'"))

    with pytest.raises(StoreError, match="newer version"):
        migrate(database)


def test_an_empty_database_has_no_form(database_address: str) -> None:
    opened = Database(database_address)
    assert current_form(opened) is None
    opened.close()


def test_what_the_first_version_stored_is_kept(database_address: str) -> None:
    opened = Database(database_address)
    migrate(opened, "0001")
    with opened.writing() as transaction:
        transaction.execute(
            text(
                "INSERT INTO people (role, name, email, time_zone, created_at, below_age)"
                " VALUES ('student', 'Isolde Fenn', 'isolde@example.org', 'UTC', '2027-03-04', false)"
            )
        )

    migrate(opened)

    with opened.reading() as transaction:
        found = people.person_by_email(transaction, "isolde@example.org")
    opened.close()
    assert found is not None
    assert found.lesson_letters
