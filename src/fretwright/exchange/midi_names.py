"""Names of the tracks that carry one string each: ``string 6 (E2)``, ``string 6 (E2, capo 2)``."""

import re
from typing import NamedTuple

from fretwright.base.errors import NotationError
from fretwright.fretboard.neck import Neck
from fretwright.theory.pitch import Pitch

_NAME = re.compile(r"string (\d{1,2}) \(([A-G][#b]{0,2}-?\d{1,2})(?:, capo (\d{1,2}))?\)")


class NamedString(NamedTuple):
    """What the name of a track says of its string."""

    string: int
    open_pitch: Pitch
    """Without the capo."""
    capo: int


def string_name(neck: Neck, string: int) -> str:
    """The name of the track for a string."""
    capo = f", capo {neck.capo}" if neck.capo else ""
    return f"string {string} ({neck.tuning.open_pitch(string)}{capo})"


def read_string_name(name: str) -> NamedString | None:
    """What a track's name says of its string; ``None`` for any other name."""
    match = _NAME.fullmatch(name.strip())
    if match is None:
        return None
    try:
        return NamedString(int(match[1]), Pitch.parse(match[2]), int(match[3] or 0))
    except NotationError:
        return None
