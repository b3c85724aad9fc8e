"""Why a note has the finger it has, in words."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from fretwright.base.errors import UsageError
from fretwright.fingering.finger import Fingered
from fretwright.score.note import Attack, Note
from fretwright.score.techniques import HarmonicKind, Techniques

_REASONS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "stretch": "stretching beyond the comfortable spread",
        "displacement": "leaving the fret that the finger has to itself",
        "shift": "moving the hand along the neck",
        "relief": "moving it while an open string or a rest covers the move",
        "same_finger": "using the same finger again, or changing fingers on one place",
        "crossing": "the pick's way across the strings",
        "weak_finger": "using a weaker finger",
        "weak_slur": "slurring with weaker fingers",
        "barre": "laying the finger flat",
        "pulling": "bending or shaking the string with another finger than the best",
        "order": "fingers at one fret in the unusual order",
        "broken": "what cannot be played",
    }
)
"""By name of the term; a test keeps them complete."""


def explain(fingered: Fingered, note_id: str) -> str:
    """The finger of a note, where the hand stands, and each term of its cost.

    Raises :class:`~fretwright.base.errors.UsageError` if there is no such note.
    """
    cost = fingered.costs.get(note_id)
    if cost is None:
        message = f"There is no note {note_id!r} in {fingered.score.name!r}."
        raise UsageError(message)
    note = fingered.score.note(note_id)
    said = [f"{_played(note)}, hand in position {fingered.positions[note_id]}."]
    said += [f"{_REASONS[name].capitalize()}: {value:+.1f} mm." for name, value in cost.terms.items()]
    if cost.terms:
        said.append(f"In all {cost.total:.1f} mm.")
    else:
        said.append("It costs the hand nothing.")
    said += [problem.message for problem in fingered.problems if problem.note_id == note_id]
    return " ".join(said)


def _played(note: Note) -> str:
    is_open = note.fret == 0 and not note.techniques.dead
    where = f"String {note.string}, open" if is_open else f"String {note.string}, fret {note.fret}"
    finger = f", {note.finger.spoken}" if note.finger else ""
    how = f", {note.attack.value}" if note.attack is not Attack.PLUCK else ""
    picked = f", picked by the {note.picking_finger.spoken}" if note.picking_finger else ""
    return f"{where}{finger}{how}{''.join(f', {word}' for word in _asked(note.techniques))}{picked}"


def _asked(techniques: Techniques) -> list[str]:
    """What the fretting hand has to do beyond stopping the string."""
    words = []
    if techniques.bend is not None:
        words.append("bent, the fingers behind helping")
    if techniques.vibrato is not None:
        words.append("shaken")
    if techniques.harmonic is not None:
        is_natural = techniques.harmonic.kind is HarmonicKind.NATURAL
        words.append("touched lightly over the fret" if is_natural else "a harmonic of the stopped string")
    if techniques.trill is not None:
        words.append(f"trilled with fret {techniques.trill.fret}")
    if techniques.dead:
        words.append("only touched, so that it knocks")
    return words
