"""The chords that the hand holds through an exercise, drawn side by side, and which of them is held when."""

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from fretwright.engrave.chord_diagram import chord_diagrams, legend
from fretwright.engrave.diagram import Diagram
from fretwright.engrave.ink import Box
from fretwright.fretboard.neck import Place
from fretwright.score.held import voicings_of
from fretwright.score.note import Note
from fretwright.score.score import Score


@dataclass(frozen=True, slots=True)
class Held:
    """A picture of chords, and where each of their notes is on it."""

    diagram: Diagram
    changes: tuple[tuple[Fraction, Mapping[Place, Box]], ...]
    """From which written time on which chord is held: the ink of each of its places, in mm."""

    def box_of(self, note: Note) -> Box | None:
        """Where a note is on the chord that is held when it is played."""
        place = bisect_right(self.changes, note.onset, key=lambda change: change[0]) - 1
        return self.changes[place][1].get(note.place) if place >= 0 else None


def held_in(score: Score, per_row: int) -> Held | None:
    """The chords of a score, so many to a row; ``None`` where it does not say how any is held."""
    voicings = voicings_of(score)
    if not voicings:
        return None
    title = f"Chords of {score.title}"
    drawn = chord_diagrams(voicings, per_row=per_row, title=title, id_prefix="film-neck")
    diagram = Diagram(
        drawn.svg, drawn.width_mm, drawn.height_mm, {}, title, drawn.description, legend(voicings)
    )
    changes = tuple(
        (label.at, drawn.boxes[voicings.index(label.voicing)])
        for label in sorted(score.labels, key=lambda label: label.at)
        if label.voicing is not None
    )
    return Held(diagram, changes)
