"""The keys of an exercise block."""

from typing import Final

COMMON_KEYS: Final = (
    "title", "from", "scale", "key", "keys", "position", "tuning", "capo", "tempo", "meter", "pickup",
    "swing", "notes", "rhythm", "fingers", "strokes", "chords", "text", "repeat", "remark", "band",
    "answer", "instrument", "lyrics",
)  # fmt: skip
"""Keys that every exercise may have."""
RULE_KEYS: Final[tuple[str, ...]] = (
    "path", "loop", "pattern", "shape", "strings", "lowest", "highest", "slur", "pluck", "late",
    "positions",
)  # fmt: skip
"""Keys that say how notes are made from a scale."""
PATTERN_KEYS: Final[tuple[str, ...]] = ("strum", "picking", "targets")
"""Keys that say what the picking hand does to held chords."""
CHORD_SOURCES: Final[tuple[str, ...]] = ("form", "change", "chords")
"""Keys that a chart comes from, the first one that is there."""
CHORD_KEYS: Final[tuple[str, ...]] = (
    *PATTERN_KEYS, "form", "change", "voicings", "bass", "written",
)  # fmt: skip
"""Keys of an exercise that has its notes from chords."""
TECHNIQUE_KEYS: Final = (
    "palm mute", "let ring", "staccato", "accent", "swell", "tremolo", "rake", "roll", "picking hand",
)  # fmt: skip
"""Keys that say how notes are played; a rule and a tab may have them."""
LOWER_NOTES: Final = ("lower tab", "lower strings", "lower rhythm", "lower notes")
"""Keys that say which notes the lower voice has."""
LOWER_ROWS: Final = (
    "lower fingers",
    "lower grace fingers",
    "lower strokes",
    *(f"lower {name}" for name in TECHNIQUE_KEYS),
)
"""Keys that go along with the notes of the lower voice."""
TAB_KEYS: Final[tuple[str, ...]] = (
    "endings", "move", "vibrato", "wide vibrato", "grace fingers", *LOWER_NOTES, *LOWER_ROWS,
)  # fmt: skip
"""Keys that go with a tab alone."""
ROW_KEYS: Final = (
    "fingers",
    "grace fingers",
    "strokes",
    "picking hand",
    "chords",
    "text",
    "endings",
    "lyrics",
)
"""Rows that fit one sequence of notes or bars and no other."""
KEYS: Final = (*COMMON_KEYS, *TECHNIQUE_KEYS, *RULE_KEYS, *CHORD_KEYS, "tab", *TAB_KEYS)
