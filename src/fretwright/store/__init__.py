"""The store: what a school remembers, in a database and a folder of recordings.

What enters and leaves are frozen dataclasses (``records``), never rows of the database library, which
this layer alone imports. Functions take an open :class:`~fretwright.store.database.Transaction` first and
stand in one module for each matter: ``people``, ``entry`` (sign-in), ``classes`` (courses, enrolment,
release), ``takes``, ``hearings``, ``remarks``, ``practice``, ``mail``.

SQLite (WAL, ``synchronous=FULL``) serves a laptop, PostgreSQL a school; there is one path of migrations,
and what must be true of stored data is a constraint of the database. Times are aware and in UTC on both.
"""
