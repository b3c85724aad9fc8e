"""Where a pitch stands on the staff: clefs, steps, key signatures, accidentals.

A staff step counts half spaces upwards from the bottom line, which is 0; the middle line is 4 and the top
line 8. Guitar music is written an octave above its sound; the clef with the 8 says so, and a step here
is that of the written note.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fretwright.base.errors import RenderError
from fretwright.engrave.reading import BarOfColumns
from fretwright.fretboard.neck import Neck
from fretwright.score.heads import Head
from fretwright.theory.key import Key

MIDDLE_STEP: Final = 4
TOP_STEP: Final = 8


@dataclass(frozen=True, slots=True)
class Clef:
    """A clef and what it makes of the lines."""

    glyph: str
    """SMuFL name."""
    step: int
    """The line that the glyph's origin stands on."""
    bottom: int
    """Diatonic number (seven to the octave) of the sounding note on the bottom line."""
    signature_shift: int
    """Steps by which key signatures stand higher than in the treble clef."""


TREBLE_8VB: Final = Clef("gClef8vb", 2, 7 * 3 + 2, 0)
"""The bottom line is E, sounding E3."""
TREBLE: Final = Clef("gClef", 2, 7 * 4 + 2, 0)
BASS_8VB: Final = Clef("fClef8vb", 6, 7 * 1 + 4, -2)

_SHARP_STEPS: Final = {"F": 8, "C": 5, "G": 9, "D": 6, "A": 3, "E": 7, "B": 4}
_FLAT_STEPS: Final = {"B": 4, "E": 7, "A": 3, "D": 6, "G": 2, "C": 5, "F": 1}

ACCIDENTALS: Final = {
    -2: "accidentalDoubleFlat",
    -1: "accidentalFlat",
    0: "accidentalNatural",
    1: "accidentalSharp",
    2: "accidentalDoubleSharp",
}

_BASS_TOP_MIDI: Final = 48
"""Instruments whose highest open string is C3 or lower read the bass clef."""
_TREBLE_BOTTOM_MIDI: Final = 57
"""Instruments whose lowest open string is A3 or higher are written where they sound."""


def clef_of(neck: Neck) -> Clef:
    """The clef that players of an instrument read."""
    heights = [pitch.midi for pitch in neck.tuning.open_pitches]
    if max(heights) <= _BASS_TOP_MIDI:
        return BASS_8VB
    return TREBLE if min(heights) >= _TREBLE_BOTTOM_MIDI else TREBLE_8VB


def step_of(head: Head, clef: Clef) -> int:
    """Staff step of a head."""
    return head.note.pitch.diatonic - clef.bottom


def y_of(step: float) -> float:
    """Height of a staff step, the top line being 0 and y running downwards."""
    return (TOP_STEP - step) / 2


def signature(key: Key, clef: Clef) -> tuple[tuple[str, int], ...]:
    """SMuFL name and staff step of each sign of a key signature, in the order of print."""
    return tuple(
        (
            ACCIDENTALS[alter],
            (_SHARP_STEPS if alter > 0 else _FLAT_STEPS)[letter] + clef.signature_shift,
        )
        for letter, alter in key.accidentals.items()
    )


def _sign_of(alter: int, head: Head) -> str:
    if alter not in ACCIDENTALS:
        raise RenderError(
            f"There is no accidental for {head.note.pitch.name}.",
            "Spell the note with two sharps or flats at most.",
        )
    return ACCIDENTALS[alter]


def accidentals(bars: Sequence[BarOfColumns], key: Key) -> dict[tuple[str, int], str]:
    """The signs to print before heads: (note id, index of the head) -> SMuFL name.

    A sign holds for its own octave until the bar line. A head held over a bar line by a tie needs none,
    and does not bind what follows it in the new bar.
    Raises :class:`RenderError` for more than two sharps or flats.
    """
    signs: dict[tuple[str, int], str] = {}
    for bar in bars:
        in_force: dict[tuple[str, int], int] = {}
        for column in bar.columns:
            for head in column.heads:
                name, octave = head.note.pitch.name, head.note.pitch.octave
                spot = (name.letter, octave)
                if head.is_held or in_force.get(spot, key.alter_of(name.letter)) == name.alter:
                    continue
                in_force[spot] = name.alter
                signs[head.note.id, head.index] = _sign_of(name.alter, head)
    return signs
