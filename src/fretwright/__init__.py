"""Fretwright: from one plain-text course folder to everything a guitar student sees, hears and prints.

Two flows hold the package together; each is one short file under :mod:`fretwright.flows`.
``docs/architecture.md`` is the map.
"""

__version__ = "0.1.0"
