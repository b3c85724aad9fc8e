"""Alembic runs the files of ``versions`` in order."""
