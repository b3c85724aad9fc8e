"""The chords of a score or a lesson as one picture, and how the hand gets from one to the next in words."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fretwright.engrave.change_words import change_title, change_words
from fretwright.engrave.chord_diagram import ChordDiagramStyle, chord_diagrams, legend
from fretwright.engrave.diagram import Diagram
from fretwright.fretboard.voicing import Voicing
from fretwright.score.held import changes_of, voicings_of
from fretwright.score.score import Score


@dataclass(frozen=True, slots=True)
class ChangeTold:
    """One change in words."""

    title: str
    """``From G to C``."""
    words: str
    cost: float
    """In mm-equivalents."""


def chords_picture(
    voicings: Sequence[Voicing], *, title: str, id_prefix: str, left_handed: bool | None = None
) -> Diagram:
    """Chord diagrams in rows, as a picture that stands where a fretboard would.

    ``left_handed`` is whether they are mirrored; by default their necks say it.
    Raises :class:`~fretwright.base.errors.RenderError` where there is no chord.
    """
    style = ChordDiagramStyle(left_handed=left_handed)
    drawn = chord_diagrams(voicings, style, title=title, id_prefix=id_prefix)
    return Diagram(
        svg=drawn.svg,
        width_mm=drawn.width_mm,
        height_mm=drawn.height_mm,
        boxes={},
        title=title,
        description=drawn.description,
        legend=legend(voicings),
    )


def chords_of(scores: Iterable[Score]) -> tuple[Voicing, ...]:
    """How chords are held in several scores, each chord and row of frets once, with the fingers met first."""
    found: dict[tuple[str, str], Voicing] = {}
    for score in scores:
        for voicing in voicings_of(score):
            found.setdefault((voicing.chord.symbol, voicing.text), voicing)
    return tuple(found.values())


def changes_told(score: Score) -> tuple[ChangeTold, ...]:
    """Every change of a score once, the hardest first."""
    changes = {change_title(timed.change): timed.change for timed in reversed(changes_of(score))}
    told = [
        ChangeTold(title, change_words(change), round(change.cost.total, 1))
        for title, change in reversed(changes.items())
    ]
    return tuple(sorted(told, key=lambda each: -each.cost))
