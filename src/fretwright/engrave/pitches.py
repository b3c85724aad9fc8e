"""Where a pitch stands on the staff: clefs, steps, key signatures, accidentals.

A staff step counts half spaces upwards from the bottom line, which is 0; the middle line is 4 and the top
line 8. Guitar music is written an octave above its sound; the clef with the 8 says so, and a step here
is that of the written note.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from fretwright.base.errors import RenderError
from fretwright.engrave.reading import BarOfMoments, Moment
from fretwright.fretboard.neck import Neck
from fretwright.score.heads import Head
from fretwright.score.note import Note
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch

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

HIGHEST_HARMONIC_STEP: Final = 16
"""The fourth ledger line over the staff; a harmonic above it is written an octave lower."""
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
    """Staff step of a head, written lower by :func:`octaves_lower`."""
    return head.note.pitch.diatonic - clef.bottom - 7 * octaves_lower(head.note, clef)


def step_of_pitch(pitch: Pitch, clef: Clef) -> int:
    """Staff step of a pitch that is no written note's own: a grace note's, the goal of a bend."""
    return pitch.diatonic - clef.bottom


def octaves_lower(note: Note, clef: Clef) -> int:
    """By how many octaves a harmonic is written lower than other notes, with a sign that says so.

    Fretted notes stand where they belong however high; a harmonic may be two octaves over its fret.
    """
    if note.techniques.harmonic is None:
        return 0
    over = note.pitch.diatonic - clef.bottom - HIGHEST_HARMONIC_STEP
    return min(2, max(0, -(-over // 7)))


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


def _sign_of(pitch: Pitch) -> str:
    alter = pitch.name.alter
    if alter not in ACCIDENTALS:
        raise RenderError(
            f"There is no accidental for {pitch.name}.",
            "Spell the note with two sharps or flats at most.",
        )
    return ACCIDENTALS[alter]


SignKey = tuple[str, int]
"""Note id and index of its head; its grace notes are counted -1, -2 and so on."""


def grace_key(note: Note, index: int) -> SignKey:
    """The key of a note's grace note, ``index`` counted from 0."""
    return note.id, -1 - index


def accidentals(bars: Sequence[BarOfMoments], key: Key) -> dict[SignKey, str]:
    """The signs to print before heads: (note id, index of the head) -> SMuFL name.

    A sign holds for its own octave until the bar line. A head held over a bar line by a tie needs none,
    and does not bind what follows it in the new bar. Grace notes stand before all that they lead to.
    Raises :class:`RenderError` for more than two sharps or flats.
    """
    signs: dict[SignKey, str] = {}
    for bar in bars:
        in_force: dict[tuple[str, int], int] = {}
        for moment in bar.moments:
            for spot, pitch in _written(moment):
                name = pitch.name
                place = (name.letter, pitch.octave)
                if in_force.get(place, key.alter_of(name.letter)) == name.alter:
                    continue
                in_force[place] = name.alter
                signs[spot] = _sign_of(pitch)
    return signs


def _written(moment: Moment) -> Iterator[tuple[SignKey, Pitch]]:
    """What is struck at a moment, grace notes first."""
    struck = [head for column in moment.columns for head in column.heads if not head.is_held]
    for head in struck:
        for index, grace in enumerate(head.note.techniques.graces):
            yield grace_key(head.note, index), grace.pitch
    for head in struck:
        yield (head.note.id, head.index), head.note.pitch
