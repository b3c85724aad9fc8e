"""Chords by the step of the key that they stand on: ``I``, ``IV``, ``V7``, ``vi``, ``bVII``.

A capital numeral is a major chord and a small one a minor chord; what is written behind it is read as behind
a root. Steps are counted on the major scale of the tonic, whatever the key (common practice, no source).
"""

import re
from typing import Final

from fretwright.base.errors import NotationError
from fretwright.theory.chord import Chord
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName

_STEPS: Final = {"I": "1", "II": "2", "III": "3", "IV": "4", "V": "5", "VI": "6", "VII": "7"}
_NUMERAL = re.compile(
    r"(?P<sign>[#b\u266f\u266d]?)(?P<step>VII|VI|V|IV|III|II|I|vii|vi|v|iv|iii|ii|i)(?P<symbol>.*)"
)
_ALREADY_MINOR: Final = ("dim", "\N{DEGREE SIGN}", "o", "\N{LATIN SMALL LETTER O WITH STROKE}")
"""What stands behind a small numeral and says itself that the third is minor."""


def chord_on_step(text: str, tonic: NoteName) -> Chord | None:
    """The chord that a numeral means in the key of a tonic; None where the text is no numeral."""
    match = _NUMERAL.fullmatch(text)
    if match is None:
        return None
    root = tonic.transposed(Interval.of_degree(match["sign"] + _STEPS[match["step"].upper()]))
    symbol = match["symbol"]
    if match["step"].islower() and not symbol.startswith(_ALREADY_MINOR):
        symbol = f"m{symbol}"
    try:
        return Chord.of(root, symbol)
    except NotationError:
        return None
