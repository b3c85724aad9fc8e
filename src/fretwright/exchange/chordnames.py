"""Chord names as MusicXML writes them: a root, a kind out of its list, a bass note, and the printed words.

The words travel in the kind's ``text``, so that a name the list does not know comes back as it was.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from fretwright.theory.pitch import NoteName

_NAME = re.compile(r"(?P<root>[A-G][#♯b♭]{0,2})(?P<kind>[^/]*(?:/\d[^/]*)?)(?:/(?P<bass>[A-G][#♯b♭]{0,2}))?")

KINDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "": "major", "m": "minor", "aug": "augmented", "+": "augmented",
        "dim": "diminished", "°": "diminished",
        "7": "dominant", "maj7": "major-seventh", "M7": "major-seventh", "Δ7": "major-seventh",
        "m7": "minor-seventh", "dim7": "diminished-seventh", "°7": "diminished-seventh",
        "aug7": "augmented-seventh", "m7b5": "half-diminished", "m7♭5": "half-diminished",
        "ø": "half-diminished", "ø7": "half-diminished", "mmaj7": "major-minor", "m(maj7)": "major-minor",
        "6": "major-sixth", "m6": "minor-sixth", "9": "dominant-ninth", "maj9": "major-ninth",
        "m9": "minor-ninth", "11": "dominant-11th", "maj11": "major-11th", "m11": "minor-11th",
        "13": "dominant-13th", "maj13": "major-13th", "m13": "minor-13th", "sus2": "suspended-second",
        "sus4": "suspended-fourth", "sus": "suspended-fourth", "5": "power",
    }
)  # fmt: skip
"""What stands after the root, and the kind's name in the standard (``kind-value``)."""

_PRINTED: Final = {kind: text for text, kind in reversed(tuple(KINDS.items()))}
"""For each kind the first of the endings above."""


@dataclass(frozen=True, slots=True)
class ChordName:
    """A chord name in its parts."""

    root: NoteName | None
    """``None`` where no chord sounds, as in N.C."""
    kind: str
    """A ``kind-value`` of the standard; ``other`` where it has none for this name."""
    text: str
    """What is printed after the root; all of it where there is no root."""
    bass: NoteName | None = None


def split_name(name: str) -> ChordName:
    """Take a printed chord name apart."""
    match = _NAME.fullmatch(name.strip())
    if match is None:
        return ChordName(None, "none", name.strip())
    bass = NoteName.parse(match["bass"]) if match["bass"] else None
    kind = match["kind"]
    return ChordName(NoteName.parse(match["root"]), KINDS.get(kind, "other"), kind, bass)


def join_name(chord: ChordName) -> str:
    """The printed name of a chord; its ending is the usual one where it brings no words of its own."""
    ending = chord.text or _PRINTED.get(chord.kind, "")
    bass = f"/{chord.bass}" if chord.bass is not None else ""
    return f"{chord.root or ''}{ending}{bass}"
