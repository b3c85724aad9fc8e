"""Moments ready to be placed: the columns of all voices on one axis, and all that stands beside them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from fretwright.engrave.beams import points_up
from fretwright.engrave.beside import Beside, plain_beside
from fretwright.engrave.beside_room import beside
from fretwright.engrave.chords import ColumnShape, slash_shape, staff_shape, steps_of, tab_reach, tab_shape
from fretwright.engrave.heads import head_width
from fretwright.engrave.pitches import Clef, SignKey
from fretwright.engrave.reading import BarOfColumns, BarOfMoments, ColumnKey, Moment
from fretwright.engrave.rolls import with_rolls
from fretwright.engrave.style import PAD_AFTER_BAR_LINE
from fretwright.engrave.voices import set_together
from fretwright.theory.key import Key

BEAT_SLASH: Final = "noteheadSlashHorizontalEnds"
"""A beat that a chart leaves to the player."""

_NUMBER_PAD: Final = 0.35
"""Least white between a bar line and a wide fret number, such as that of a harmonic."""
_WIDE_NUMBER: Final = 1.5

Layout = Literal["staff", "tab", "slashes"]
"""Staff over tab, tab alone with its rhythm, or rhythm slashes alone."""


@dataclass(frozen=True, slots=True)
class MomentShape:
    """Everything at one moment, x counting from its axis."""

    moment: Moment
    columns: tuple[ColumnShape, ...]
    """One for each voice that starts something, the upper first; none at a beat of a chart."""
    beside: Beside

    @property
    def left(self) -> float:
        """How far the staff's ink reaches to the left."""
        return self.beside.left

    @property
    def right(self) -> float:
        """How far the staff's ink reaches to the right."""
        return self.beside.right

    @property
    def lead(self) -> float:
        """How far left of its axis the room of a bar's first moment begins."""
        if self.beside.is_wide:
            return max(self.left, self.beside.tab_left)
        number = self.beside.tab_left
        return (
            max(self.left, number - PAD_AFTER_BAR_LINE + _NUMBER_PAD) if number > _WIDE_NUMBER else self.left
        )


@dataclass(frozen=True, slots=True)
class Shaper:
    """Shapes the moments of a score's bars."""

    clef: Clef
    signs: Mapping[SignKey, str]
    key: Key
    strings: int
    layout: Layout

    def shapes(
        self, content: BarOfMoments, groups: Mapping[int, Sequence[tuple[int, ...]]]
    ) -> tuple[MomentShape, ...]:
        """Every moment of a bar; ``groups`` holds the beams of each voice."""
        found: dict[ColumnKey, ColumnShape] = {}
        for voice in content.voices:
            shapes = self._voice(content, voice, groups[voice.voice])
            found.update(zip((column.key for column in voice.columns), shapes, strict=True))
        return tuple(self._moment(moment, content, found) for moment in content.moments)

    def _voice(
        self, content: BarOfMoments, voice: BarOfColumns, groups: Sequence[tuple[int, ...]]
    ) -> Iterator[ColumnShape]:
        """The columns of one voice, those that share a moment with the other voice without their signs."""
        beamed = {index: group for group in groups for index in group}
        signs = {} if content.is_shared else self.signs
        for index, column in enumerate(voice.columns):
            flagged = index not in beamed and column.value.flags > 0
            if self.layout == "slashes":
                yield slash_shape(column, flagged=flagged)
            elif self.layout == "tab":
                yield tab_shape(column, up=content.is_shared and voice.voice == 1)
            elif content.is_shared:
                yield staff_shape(column, self.clef, signs, up=voice.voice == 1, flagged=flagged)
            else:
                members = [voice.columns[member] for member in beamed.get(index, (index,))]
                up = column.is_rest or points_up([steps_of(member, self.clef) for member in members])
                yield staff_shape(column, self.clef, signs, up=up, flagged=flagged)

    def _moment(
        self, moment: Moment, content: BarOfMoments, found: Mapping[ColumnKey, ColumnShape]
    ) -> MomentShape:
        if not moment.columns:
            half = head_width(BEAT_SLASH) / 2
            return MomentShape(moment, (), plain_beside(half, half, half))
        columns = tuple(found[column.key] for column in moment.columns)
        if content.is_shared and self.layout == "staff":
            columns = set_together(columns, self.signs)
        left, right = max(shape.left for shape in columns), max(shape.right for shape in columns)
        if self.layout == "slashes":
            struck = [head.note for head in moment.heads if not head.is_held]
            return MomentShape(moment, columns, with_rolls(struck, plain_beside(left, right, 0.0)))
        room = plain_beside(left, right, tab_reach(moment.heads))
        written = _Written(content) if self.layout == "staff" else None
        room = beside(moment, room, self.clef, self.signs, self.key, self.strings, written)
        return MomentShape(moment, columns, room)


@dataclass(frozen=True, slots=True)
class _Written:
    """Which alterations a letter has in one octave of a bar."""

    content: BarOfMoments

    def alters(self, letter: str, octave: int) -> frozenset[int]:
        """Those of the notes written there."""
        pitches = (head.note.pitch for moment in self.content.moments for head in moment.heads)
        return frozenset(
            pitch.name.alter for pitch in pitches if (pitch.name.letter, pitch.octave) == (letter, octave)
        )
