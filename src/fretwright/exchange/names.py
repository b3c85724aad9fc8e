"""Names for what comes from a file."""

import re
from typing import Final

_LONGEST: Final = 40


def exercise_name(title: str) -> str:
    """A title as the id of an exercise: small letters, digits and hyphens."""
    words = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:_LONGEST].strip("-")
    return words if words and words[0].isalpha() else f"piece-{words}".strip("-")
