"""Sung words read from a score's labels, and the room along the line that they need."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from fretwright.engrave.ink import ink_of
from fretwright.engrave.marks import LYRIC_FACE, LYRIC_SIZE
from fretwright.score.score import Label, LabelKind, Score

_BETWEEN: Final = 0.9
_HYPHEN_ROOM: Final = 1.0


@dataclass(frozen=True, slots=True)
class Sung:
    """A syllable, a word, or a line of words."""

    at: Fraction
    text: str
    goes_on: str
    """``-`` inside a word, ``_`` where it is held, else empty."""

    @property
    def is_line(self) -> bool:
        """Whether it is several words, which start at their time."""
        return " " in self.text

    @property
    def width(self) -> float:
        """Of its ink, in staff spaces."""
        return ink_of(self.text, LYRIC_FACE, LYRIC_SIZE).width


def verses_of(labels: Sequence[Label]) -> list[list[Sung]]:
    """A row of sung words for each verse, which may be empty.

    Of two words in one place of a verse the second moves on to the next row.
    """
    rows: list[list[Sung]] = []
    taken: set[tuple[Fraction, int]] = set()
    for label in sorted(labels, key=lambda label: label.at):
        text = label.text.strip()
        if label.kind is not LabelKind.LYRIC or not text.strip("-_"):
            continue
        row = label.verse - 1
        while (label.at, row) in taken:
            row += 1
        taken.add((label.at, row))
        rows += [[] for _ in range(row + 1 - len(rows))]
        goes_on = text[-1] if text[-1] in "-_" else ""
        rows[row].append(Sung(label.at, text.rstrip("-_").strip(), goes_on))
    return rows


def lyric_rooms(score: Score) -> list[dict[Fraction, float]]:
    """For each row the room from each start to the next, as if all started at their notes."""
    rooms: list[dict[Fraction, float]] = []
    for verse in verses_of(score.labels):
        room: dict[Fraction, float] = {}
        for sung, following in zip(verse, [*verse[1:], None], strict=True):
            own = sung.width if sung.is_line else sung.width / 2
            beyond = 0.0 if following is None or following.is_line else following.width / 2
            hyphen = _HYPHEN_ROOM if sung.goes_on == "-" else 0.0
            room[sung.at] = own + beyond + _BETWEEN + hyphen
        rooms.append(room)
    return rooms
