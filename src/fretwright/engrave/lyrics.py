"""Sung words: syllables under the staff, with hyphens inside words and lines under held notes.

A syllable that ends in ``-`` goes on in the next one, one that ends in ``_`` is held to the next one.
Syllables stand in the middle of their notes; words in a row start at theirs. Several at one time are verses
and stand in rows of their own, with their numbers at the left.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from fretwright.engrave.ink import Ink, Layer, Line, Text, ink_of
from fretwright.engrave.marks import LYRIC_FACE, LYRIC_SIZE
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.rows import x_at
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.style import HEAD_WIDTH
from fretwright.engrave.verses import Sung

_BETWEEN: Final = 0.7
_ROW_GAP: Final = 0.7
_NUMBER_GAP: Final = 0.5
"""White between the number of a verse and its first word."""
_HYPHEN: Final = "-"
_EXTENDER: Final = 0.1
"""Thickness of the line under a held syllable."""


def lyric_rows(
    verses: Sequence[Sequence[Sung]], system: PlacedSystem, sky: Skyline, layer: Layer, width: float
) -> list[Ink]:
    """The rows of a system, one for each verse; ``verses`` holds what is sung in it alone."""
    drawn: list[Ink] = []
    is_numbered = sum(bool(own) for own in verses) > 1
    room = max(
        (ink_of(f"{number}.", LYRIC_FACE, LYRIC_SIZE).right for number in range(1, len(verses) + 1)),
        default=0.0,
    )
    rows = [_placed(own, system, width, room + _NUMBER_GAP if is_numbered else 0.0) for own in verses]
    left = min((row[0][1] for row in rows if row), default=0.0) - room - _NUMBER_GAP
    for number, words in enumerate(rows, start=1):
        if not words:
            continue
        verse = [(Sung(words[0][0].at, f"{number}.", ""), left)] if is_numbered else []
        placed = [*verse, *words]
        top = max(
            sky.edge(x, max(x + ink_of(sung.text, LYRIC_FACE, LYRIC_SIZE).right, end), _ROW_GAP, at_least=0.0)
            for (sung, x), end in zip(placed, _ends(placed, system), strict=True)
        )
        y = top - ink_of("dk", LYRIC_FACE, LYRIC_SIZE).top
        row = list(_row(placed, y, system, layer))
        drawn += row
        sky.add_ink(row)
    return drawn


def _ends(placed: Sequence[tuple[Sung, float]], system: PlacedSystem) -> list[float]:
    """How far hyphens and lines may go."""
    nexts = [*(x for _, x in placed), system.bars[-1].inner_right][1:]
    return [until if sung.goes_on else 0.0 for (sung, _), until in zip(placed, nexts, strict=True)]


def _placed(
    own: Sequence[Sung], system: PlacedSystem, width: float, first: float
) -> list[tuple[Sung, float]]:
    """Each with its left end; pushed right where the one before it is too near, and kept inside the plate.

    In a chart without notes every word starts at its beat, as the slash does. None stands left of ``first``.
    """
    placed: list[tuple[Sung, float]] = []
    end = first
    is_chart = any(not shape.columns for shape, _ in system.moments)
    for sung in own:
        box = ink_of(sung.text, LYRIC_FACE, LYRIC_SIZE)
        x = x_at(system, sung.at) - (HEAD_WIDTH / 2 if sung.is_line or is_chart else box.width / 2)
        x = max(end, min(x, width - box.right))
        placed.append((sung, x))
        end = x + box.right + _BETWEEN
    return placed


def _row(placed: Sequence[tuple[Sung, float]], y: float, system: PlacedSystem, layer: Layer) -> Iterator[Ink]:
    for place, (sung, x) in enumerate(placed):
        yield Text(sung.text, LYRIC_FACE, LYRIC_SIZE, x, y, role="lyric", layer=layer)
        right = x + ink_of(sung.text, LYRIC_FACE, LYRIC_SIZE).right
        last = place + 1 == len(placed)
        until = system.bars[-1].inner_right if last else placed[place + 1][1]
        if sung.goes_on == "-":
            hyphen = ink_of(_HYPHEN, LYRIC_FACE, LYRIC_SIZE)
            if until - right > hyphen.width + 0.2:
                middle = (right + until) / 2 if not last else min((right + until) / 2, right + 2.0)
                at = middle - (hyphen.left + hyphen.right) / 2
                yield Text(_HYPHEN, LYRIC_FACE, LYRIC_SIZE, at, y, role="lyric", layer=layer)
        elif sung.goes_on == "_" and until - right > 1.5:
            yield Line(right + 0.3, y, until - 0.6, y, _EXTENDER, role="lyric", layer=layer)
