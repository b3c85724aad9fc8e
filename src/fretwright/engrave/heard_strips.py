"""Strips under a system: how late or early each note came, and how strong it was.

The middle line is the pulse, or the middle level of the plucks; each note stands in its own column.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from fretwright.engrave.diagram import SOFT
from fretwright.engrave.heard_pieces import WORD_MM, Piece, block, dot, letters, width_of
from fretwright.engrave.ink import Box
from fretwright.score.marks import NoteLevel, NoteTiming

_LABEL_MM: Final = WORD_MM + 1.0
_HALF_MM: Final = 5.0
"""From the middle line to the strip's edge."""
_DOT_MM: Final = 0.75
_RULE_MM: Final = 0.14
_STEM_MM: Final = 0.3
_BAND_INK: Final = "#dcd9d2"
_WIDEST_BAND_MM: Final = 4.0
"""A band reaches half way to its neighbours, and no further than this to either side."""
TIMING_LABEL: Final = "Timing in ms: late above the line, early below; within the grey nobody hears it"
LEVEL_LABEL: Final = "Level in dB against the plucks: disc plucked, ring slurred, as written"


@dataclass(frozen=True, slots=True)
class Scale:
    """What a strip's edge stands for; anything beyond is drawn on the edge."""

    edge: float

    @classmethod
    def over(cls, values: Sequence[float], step: float, least: float, most: float) -> "Scale":
        """The next round edge over all values, within bounds."""
        widest = max((abs(value) for value in values), default=0.0)
        return cls(min(most, max(least, step * -(-widest // step))))

    def y(self, middle: float, value: float) -> float:
        """Where a value stands; more is higher."""
        share = max(-1.0, min(1.0, value / self.edge))
        return middle - share * (_HALF_MM - _DOT_MM)


def timing_strip(
    timings: Sequence[NoteTiming], columns: Mapping[str, float], scale: Scale, top_mm: float, right_mm: float
) -> tuple[list[Piece], float]:
    """The strip of one system and its lower edge: a disc in the grey, a ring outside it."""
    pieces, middle = _frame(TIMING_LABEL, scale, top_mm, right_mm)
    bands = {each.note_id: each.band_ms for each in timings}
    spots = sorted((columns[note_id], band, note_id) for note_id, band in bands.items())
    edges = _edges([x for x, _, _ in spots])
    for (left, right), (_, band, note_id) in zip(edges, spots, strict=True):
        high, low = scale.y(middle, band), scale.y(middle, -band)
        pieces.append(block("band", Box(left, high, right, low), _BAND_INK, note_id))
    pieces.append(_rule(_ends(scale), right_mm, middle))
    for each in timings:
        outside = abs(each.off_ms) > each.band_ms
        y = scale.y(middle, each.off_ms)
        pieces.append(dot(columns[each.note_id], y, _DOT_MM, each.note_id, hollow=outside))
    return pieces, middle + _HALF_MM


def level_strip(
    levels: Sequence[NoteLevel], columns: Mapping[str, float], scale: Scale, top_mm: float, right_mm: float
) -> tuple[list[Piece], float]:
    """The strip of one system and its lower edge: a stem for each note, with a ring on it for a slur."""
    pieces, middle = _frame(LEVEL_LABEL, scale, top_mm, right_mm)
    pieces.append(_rule(_ends(scale), right_mm, middle))
    for each in levels:
        x, y = columns[each.note_id], scale.y(middle, each.level_db)
        stem = Box(x - _STEM_MM / 2, min(y, middle), x + _STEM_MM / 2, max(y, middle))
        pieces.append(block("stem", stem, "currentColor", each.note_id))
        pieces.append(dot(x, y, _DOT_MM, each.note_id, hollow=each.slurred))
    return pieces, middle + _HALF_MM


def _frame(label: str, scale: Scale, top_mm: float, right_mm: float) -> tuple[list[Piece], float]:
    """Label, scale and outer lines of a strip; the height of its middle line."""
    middle = top_mm + _LABEL_MM + _HALF_MM
    pieces = [letters("label", label, 0.0, top_mm + 0.75 * WORD_MM)]
    for value in (scale.edge, 0.0, -scale.edge):
        y = scale.y(middle, value)
        pieces.append(letters("label", _figure(value), 0.0, y + 0.35 * WORD_MM))
        if value:
            pieces.append(_rule(_ends(scale), right_mm, y))
    return pieces, middle


def _ends(scale: Scale) -> float:
    """Where the lines begin, right of the scale's figures."""
    return max(width_of(_figure(value)) for value in (scale.edge, -scale.edge)) + 0.8


def _figure(value: float) -> str:
    return f"{value:+g}".replace("-", "\u2212") if value else "0"


def _rule(left: float, right: float, y: float) -> Piece:
    return block("rule", Box(left, y - _RULE_MM / 2, right, y + _RULE_MM / 2), SOFT)


def _edges(xs: Sequence[float]) -> Iterator[tuple[float, float]]:
    """For each column, where its band begins and ends."""
    if not xs:
        return
    halves = [(b - a) / 2 for a, b in pairwise(xs)]
    for x, before, after in zip(xs, [_WIDEST_BAND_MM, *halves], [*halves, _WIDEST_BAND_MM], strict=True):
        yield x - min(before, _WIDEST_BAND_MM), x + min(after, _WIDEST_BAND_MM)
