"""One scale on the neck: what ``fretwright shape`` shows, draws and hands to programs."""

from typing import Any

from fretwright.engrave.diagram import fretboard_diagram
from fretwright.flows.inspect import columns
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.shapes import Shape, positions_of, shape_at
from fretwright.fretboard.tuning import Tuning
from fretwright.theory.scale import Scale


def lay_out(scale: str, position: int | None, tuning: str) -> tuple[Shape, ...]:
    """The shape of a scale in one position, or in all its positions along the neck.

    Raises :class:`~fretwright.base.errors.FretwrightError` where the scale, the tuning or the position
    cannot be read or laid out.
    """
    neck = Neck(Tuning.parse(tuning))
    named = Scale.parse(scale)
    return positions_of(named, neck) if position is None else (shape_at(named, neck, position),)


def shape_table(shape: Shape) -> str:
    """String by string, the highest on top as in tab: frets, fingers, notes and degrees."""
    rows = [("string", "open", "frets", "fingers", "notes", "degrees")]
    for string, pitch in enumerate(shape.neck.tuning.open_pitches, start=1):
        notes = shape.on_string(string)
        rows.append(
            (
                str(string),
                str(pitch.name),
                " ".join(str(note.place.fret) for note in notes),
                " ".join(str(note.finger) for note in notes),
                " ".join(str(note.pitch) for note in notes),
                " ".join(note.degree.degree for note in notes),
            )
        )
    return "\n".join([f"{shape.scale.name}, position {shape.position}", *columns(rows)])


def shape_json(shape: Shape) -> dict[str, Any]:
    """The shape in the form of ``docs/schemas/shape.schema.json``."""
    return {
        "scale": shape.scale.name,
        "tuning": [str(pitch) for pitch in reversed(shape.neck.tuning.open_pitches)],
        "position": shape.position,
        "notes": [
            {
                "string": note.place.string,
                "fret": note.place.fret,
                "finger": note.finger,
                "midi": note.pitch.midi,
                "name": str(note.pitch),
                "degree": note.degree.degree,
            }
            for note in shape.notes
        ],
    }


def draw(shape: Shape) -> str:
    """The shape as an SVG picture."""
    title = f"{shape.scale.name}, position {shape.position}"
    return fretboard_diagram(shape, title=title, description=shape_table(shape), id_prefix="shape").svg
