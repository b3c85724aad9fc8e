"""The keys of an exercise block."""

from typing import Final

COMMON_KEYS: Final = (
    "title", "from", "scale", "key", "keys", "position", "tuning", "capo", "tempo", "meter", "pickup",
    "swing", "notes", "rhythm", "fingers", "strokes", "chords", "text", "repeat", "remark",
)  # fmt: skip
"""Keys that every exercise may have."""
RULE_KEYS: Final[tuple[str, ...]] = (
    "path", "loop", "pattern", "shape", "strings", "lowest", "highest", "slur", "pluck", "late",
    "positions",
)  # fmt: skip
"""Keys that say how notes are made from a scale."""
TAB_KEYS: Final[tuple[str, ...]] = ("endings", "move")
"""Keys that go with a tab alone."""
ROW_KEYS: Final = ("fingers", "strokes", "chords", "text", "endings")
"""Rows that fit one sequence of notes or bars and no other."""
KEYS: Final = (*COMMON_KEYS, *RULE_KEYS, "tab", *TAB_KEYS)
