"""A plate with what was heard written onto it.

A :class:`~fretwright.engrave.plate.Plate` and a :class:`~fretwright.score.marks.MarkedScore` enter, one SVG
leaves. Under each system stand its marks, its timing strip and its levels, each note's in its own column; the
systems move apart to make room. Shapes and words carry the meaning, never a colour. The same input gives the
same bytes.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from fretwright.base.errors import RenderError
from fretwright.engrave.boxes import NoteBox, SystemBox
from fretwright.engrave.diagram import PAPER
from fretwright.engrave.heard_pieces import RADIUS_MM, WORD_MM, Piece, block, letters, shape, width_of
from fretwright.engrave.heard_rows import PlacedMark, set_rows
from fretwright.engrave.heard_strips import Scale, level_strip, timing_strip
from fretwright.engrave.ink import Box
from fretwright.engrave.lettering import mm, require_id, xml_text
from fretwright.engrave.outlines import Face
from fretwright.engrave.plate import Plate
from fretwright.engrave.svg import INK_COLOUR, PX_PER_MM
from fretwright.score.marks import BetweenMark, MarkedScore

_GAP_MM: Final = 2.2
"""White between a system, its rows and its strips."""
_SYSTEM_GAP_MM: Final = 6.0
_LINE_MM: Final = 1.6 * WORD_MM
_BESIDE_MM: Final = 4.0
"""How far from the first or last note something stands that is before or after all others of its line."""
_MARGIN_MM: Final = 4.0
"""Paper around everything: the picture stands alone, on whatever ground it is shown."""
_SYSTEM: Final = re.compile(r'(?=<g class="system" data-system="\d+">)')


@dataclass(frozen=True, slots=True)
class HeardPlate:
    """The picture and where everything stands on it, in millimetres from its corner inside the margin."""

    svg: str
    width_mm: float
    height_mm: float
    """Margins not counted."""
    shifts_mm: tuple[float, ...]
    """How far each system of the plate has moved down."""
    pieces: tuple[Piece, ...]
    """All that is drawn besides the plate itself."""


def heard_plate(
    plate: Plate, heard: MarkedScore, *, title: str, description: str, id_prefix: str = "heard"
) -> HeardPlate:
    """Write ``heard`` onto a plate of the same score; its ids start with ``id_prefix``.

    Raises :class:`~fretwright.base.errors.RenderError` where a note that is marked is not on the plate.
    """
    require_id(id_prefix)
    columns = _columns(plate, heard)
    head, bottom = _paragraph(heard.headline, plate.width_mm)
    pieces = list(head)
    shifts: list[float] = []
    for system in plate.systems:
        gap = _GAP_MM if not shifts else _SYSTEM_GAP_MM
        shift = max(0.0, bottom + gap - system.ink_top)
        shifts.append(round(shift, 3))
        added, bottom = _under(system, columns, heard, plate.width_mm, shift)
        pieces += added
    foot, bottom = _meanings(heard, bottom + _GAP_MM, plate.width_mm)
    pieces += foot
    height = round(bottom, 3)
    svg = "\n".join(_svg(plate, pieces, shifts, height, (title, description, id_prefix)))
    return HeardPlate(svg, plate.width_mm, height, tuple(shifts), tuple(pieces))


def _columns(plate: Plate, heard: MarkedScore) -> dict[str, tuple[int, float]]:
    """Every note's system and the middle of its fret number there, or of its head where it has none."""
    named = [
        *(each.note_id for each in heard.marks),
        *(each.note_id for each in heard.timings),
        *(each.note_id for each in heard.levels),
        *(note for each in heard.between for note in (each.after_id, each.before_id) if note is not None),
    ]
    missing = next((note for note in named if note not in plate.boxes), None)
    if missing is not None:
        raise RenderError(f"The plate has no note {missing}.", "Mark a plate of the score that was heard.")
    return {note: _column(boxes) for note, boxes in plate.boxes.items()}


def _column(boxes: Sequence[NoteBox]) -> tuple[int, float]:
    first = boxes[0].system
    box = min((box for box in boxes if box.system == first), key=lambda box: (box.layer != "tab", box.x))
    return first, box.x + box.width / 2


def _under(
    system: SystemBox,
    columns: Mapping[str, tuple[int, float]],
    heard: MarkedScore,
    width_mm: float,
    shift: float,
) -> tuple[list[Piece], float]:
    """All that stands under one system, and its lower edge."""
    here = {note: x for note, (index, x) in columns.items() if index == system.index}
    marks = [
        *(PlacedMark(here[m.note_id], m.shape, m.word, m.note_id) for m in heard.marks if m.note_id in here),
        *_between(heard.between, columns, system.index, width_mm),
    ]
    bottom = max(system.ink_bottom, system.y + system.height) + shift
    pieces: list[Piece] = []
    if marks:
        pieces, bottom = set_rows(marks, bottom + _GAP_MM, width_mm)
    right = system.x + system.width
    timings = [each for each in heard.timings if each.note_id in here]
    if timings:
        scale = Scale.over([each.off_ms for each in heard.timings], 10, 20, 120)
        added, bottom = timing_strip(timings, here, scale, bottom + _GAP_MM, right)
        pieces += added
    levels = [each for each in heard.levels if each.note_id in here]
    if levels:
        scale = Scale.over([each.level_db for each in heard.levels], 3, 6, 24)
        added, bottom = level_strip(levels, here, scale, bottom + _GAP_MM, right)
        pieces += added
    return pieces, bottom


def _between(
    marks: Sequence[BetweenMark], columns: Mapping[str, tuple[int, float]], system: int, width_mm: float
) -> Iterator[PlacedMark]:
    """Half way between two notes of one line, otherwise beside the one on whose line it is told."""
    for mark in marks:
        after = columns[mark.after_id] if mark.after_id is not None else None
        before = columns[mark.before_id] if mark.before_id is not None else None
        if after is not None and after[0] == system:
            follows = before is not None and before[0] == system and before[1] > after[1]
            x = (after[1] + before[1]) / 2 if before is not None and follows else after[1] + _BESIDE_MM
        elif after is None and before is not None and before[0] == system:
            x = before[1] - _BESIDE_MM
        else:
            continue
        yield PlacedMark(min(max(x, RADIUS_MM), width_mm - RADIUS_MM), mark.shape, mark.word, None)


def _paragraph(text: str, width_mm: float) -> tuple[list[Piece], float]:
    """Words over the plate, broken into lines, and their lower edge."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, Face.SANS_SEMIBOLD) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    pieces = [
        letters("label", line, 0.0, (number + 1) * _LINE_MM, face=Face.SANS_SEMIBOLD)
        for number, line in enumerate(lines)
    ]
    return pieces, len(lines) * _LINE_MM + 1.0


def _meanings(heard: MarkedScore, top_mm: float, width_mm: float) -> tuple[list[Piece], float]:
    """What the shapes stand for, as many in a line as there is room for."""
    pieces: list[Piece] = []
    x, y = RADIUS_MM, top_mm + RADIUS_MM
    for kind, words in heard.meanings:
        wide = RADIUS_MM + 1.0 + width_of(words)
        if x + wide > width_mm and x > RADIUS_MM:
            x, y = RADIUS_MM, y + _LINE_MM
        pieces.append(shape(kind, x, y))
        pieces.append(letters("word", words, x + RADIUS_MM + 1.0, y + 0.35 * WORD_MM))
        x += wide + 4.0 + RADIUS_MM
    return pieces, max((piece.box.bottom for piece in pieces), default=top_mm)


def _svg(
    plate: Plate,
    pieces: Sequence[Piece],
    shifts: Sequence[float],
    height_mm: float,
    words: tuple[str, str, str],
) -> Iterator[str]:
    title, description, prefix = words
    head, *systems = _SYSTEM.split(plate.svg.removesuffix("\n").removesuffix("</svg>"))
    definitions = re.search(r"<defs>.*</defs>", head, re.DOTALL)
    if definitions is None or len(systems) != len(shifts):
        raise RenderError("A plate's picture does not hold its systems one by one.")
    left, width, height = -_MARGIN_MM, plate.width_mm + 2 * _MARGIN_MM, height_mm + 2 * _MARGIN_MM
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plate heard" role="img" '
        f'aria-labelledby="{prefix}-title {prefix}-desc" '
        f'viewBox="{mm(left)} {mm(left)} {mm(width)} {mm(height)}" '
        f'fill="{INK_COLOUR}" color="{INK_COLOUR}" '
        f'width="{mm(width * PX_PER_MM)}" height="{mm(height * PX_PER_MM)}">'
    )
    yield f'<title id="{prefix}-title">{xml_text(title)}</title>'
    yield f'<desc id="{prefix}-desc">{xml_text(description)}</desc>'
    yield definitions.group()
    paper = Box(left, left, left + width, left + height)
    yield block("paper", paper, PAPER).element()
    for shift, system in zip(shifts, systems, strict=True):
        yield f'<g transform="translate(0 {mm(shift)})">\n{system.strip()}\n</g>'
    yield from (piece.element() for piece in pieces)
    yield "</svg>\n"
