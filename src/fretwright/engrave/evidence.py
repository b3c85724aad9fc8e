"""A picture of what a take was understood from.

An :class:`~fretwright.score.evidence.Evidence` enters, one SVG leaves. It is read from above downwards, four
seconds in a line: the written notes where they were due; the level; the two courses that make a moment a
candidate; the odds of every pitch at every candidate, darker for likelier, with the way that was taken
through them; and under it, for every note, what was said and why. Shapes are those of the marked plate; no
colour carries a meaning, and all letters are outlines.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import Final

from fretwright.engrave.diagram import PAPER, SOFT
from fretwright.engrave.heard_pieces import shape
from fretwright.engrave.ink import ink_of
from fretwright.engrave.lettering import Letters, mm, require_id, xml_text
from fretwright.engrave.outlines import Face, text_outline
from fretwright.engrave.svg import INK_COLOUR, PX_PER_MM
from fretwright.score.evidence import Evidence, Found
from fretwright.score.marks import MarkShape

LINE_S: Final = 4.0
"""How much of the recording stands in one line."""
_MM_PER_S: Final = 55.0
_LEFT_MM: Final = 16.0
_MARGIN_MM: Final = 4.0
_WIDTH_MM: Final = _LEFT_MM + LINE_S * _MM_PER_S + 4.0
_SIZE_MM: Final = 2.0
_HEAD_MM: Final = 2.6
_COLUMN_MM: Final = 2.5
"""Between two lines of upright words."""
_NAMES_MM: Final = 7.0
_COURSE_MM: Final = 9.0
_GAP_MM: Final = 1.6
_CELL_MM: Final = 1.7
_WORDS_MM: Final = 47.0
_LINES_GAP_MM: Final = 9.0
_MOST_CELL_MM: Final = 1.5
_LOUDEST_RANGE_DB: Final = 60.0
_MOST_COURSE: Final = 2.0
_LEAST_ODDS, _MOST_ODDS = -6.0, 12.0
_PALE, _DARK = 0xEC, 0x8A
_RULE: Final = f'fill="none" stroke="{SOFT}" stroke-width="0.12"'
_MEANINGS: Final = (
    "Above: the written notes where they were found or due. Then the level; what seems plucked (solid)",
    "and how the partials move (dashed). Grid: odds that a note of each pitch starts at each moment, darker",
    "for likelier; the line is the way that was taken. Figures are natural logarithms: +5 is 150 to 1.",
    "Disc: as written. Cross: another note. Ring: not heard. Diamond: cannot tell. Plus: one too many.",
    "Thin line: another time through.",
)
_LETTERS: Final = re.compile(r'<path class="(\w+)" transform="([^"]+)" d="([^"]+)"/>')
_OUTLINE: Final = re.compile(r'<path class="\w+" transform="[^"]+" d="([^"]+)"/>')
_GRID_INK: Final = "#dcd9d2"
_NAMED: Final = "CDEGA"
"""Of two neighbours a semitone apart there is room for one name."""


@dataclass(frozen=True, slots=True)
class _Line:
    """One line of the picture: its time and where its parts stand."""

    from_s: float
    top_mm: float
    pitches: int

    @property
    def courses_mm(self) -> float:
        """Top of the level."""
        return self.top_mm + _NAMES_MM

    @property
    def grid_mm(self) -> float:
        """Top of the grid."""
        return self.courses_mm + 2 * (_COURSE_MM + _GAP_MM)

    @property
    def words_mm(self) -> float:
        """Top of the reasons."""
        return self.grid_mm + self.pitches * _CELL_MM + _GAP_MM

    @property
    def bottom_mm(self) -> float:
        """Lower edge."""
        return self.words_mm + _WORDS_MM

    def x(self, time_s: float) -> float:
        """Where a moment stands."""
        return _LEFT_MM + (time_s - self.from_s) * _MM_PER_S

    def y(self, step: float) -> float:
        """The middle of a pitch's row, counted from the lowest."""
        return self.grid_mm + (self.pitches - step - 0.5) * _CELL_MM

    def holds(self, time_s: float) -> bool:
        """Whether a moment stands in this line."""
        return self.from_s <= time_s < self.from_s + LINE_S


def evidence_picture(evidence: Evidence, *, title: str, id_prefix: str = "evidence") -> str:
    """The picture as SVG; its ids start with ``id_prefix``.

    Raises :class:`~fretwright.base.errors.RenderError` where an id cannot start so.
    """
    require_id(id_prefix)
    top = (len(_MEANINGS) + 2) * 1.6 * _HEAD_MM
    pitches = len(evidence.pitch_names)
    lines = []
    for index in range(max(1, ceil(evidence.length_s / LINE_S))):
        lines.append(_Line(index * LINE_S, top, pitches))
        top = lines[-1].bottom_mm + _LINES_GAP_MM
    drawn = list(_svg(evidence, lines, title, id_prefix))
    return "\n".join(_shared(drawn, id_prefix)) + "\n"


def _svg(evidence: Evidence, lines: Sequence[_Line], title: str, prefix: str) -> Iterator[str]:
    left, width = -_MARGIN_MM, _WIDTH_MM + 2 * _MARGIN_MM
    height = lines[-1].bottom_mm + 2 * _MARGIN_MM
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="evidence" role="img" '
        f'aria-labelledby="{prefix}-title {prefix}-desc" '
        f'viewBox="{mm(left)} {mm(left)} {mm(width)} {mm(height)}" fill="{INK_COLOUR}" color="{INK_COLOUR}" '
        f'width="{mm(width * PX_PER_MM)}" height="{mm(height * PX_PER_MM)}">'
    )
    yield f'<title id="{prefix}-title">{xml_text(title)}</title>'
    yield f'<desc id="{prefix}-desc">{xml_text(_told(evidence))}</desc>'
    yield f'<rect x="{mm(left)}" y="{mm(left)}" width="{mm(width)}" height="{mm(height)}" fill="{PAPER}"/>'
    yield _letters("label", evidence.headline, 0.0, 1.6 * _HEAD_MM, size_mm=_HEAD_MM, face=Face.SANS_SEMIBOLD)
    for number, words in enumerate(_MEANINGS):
        yield _letters("word", words, 0.0, (number + 2) * 1.6 * _HEAD_MM)
    for line in lines:
        yield f'<g class="line" data-from="{mm(line.from_s)}">'
        yield from _axis(evidence, line)
        yield from _courses(evidence, line)
        yield from _grid(evidence, line)
        yield from _way(evidence, line)
        yield from _notes(evidence, line)
        yield "</g>"
    yield "</svg>"


def _told(evidence: Evidence) -> str:
    """The picture in words, for whoever cannot see it."""
    notes = (
        f"{note.note_id} ({note.name}, due at {note.due_s:.2f} s): {', '.join(note.reasons)}"
        for note in evidence.notes
    )
    return f"{evidence.headline} {'; '.join(notes)}."


def _letters(
    role: str, text: str, x: float, y: float, *, size_mm: float = _SIZE_MM, face: Face = Face.SANS
) -> str:
    return Letters(role, text, face, size_mm, x, y).svg()


def _word_by_word(role: str, text: str) -> Iterator[str]:
    """Words on one line, each a piece of its own: few words stand there many times, and each is kept once."""
    x = 0.0
    for word in text.split():
        yield _letters(role, word, x, 0.0)
        x += text_outline(f"{word} ", Face.SANS, _SIZE_MM).advance


def _shared(lines: Sequence[str], prefix: str) -> Iterator[str]:
    """The same picture, letters that stand in it more than once drawn once and used."""
    counts = Counter(outline for line in lines for outline in _OUTLINE.findall(line))
    ids = {
        outline: f"{prefix}-word-{number}"
        for number, outline in enumerate(sorted(outline for outline, count in counts.items() if count > 1))
    }

    def used(found: re.Match[str]) -> str:
        role, at, outline = found.groups()
        if outline not in ids:
            return found.group()
        return f'<use class="{role}" href="#{ids[outline]}" transform="{at}"/>'

    head, *rest = lines
    yield head
    yield "<defs>"
    yield from (f'<path id="{name}" d="{outline}"/>' for outline, name in ids.items())
    yield "</defs>"
    yield from (_LETTERS.sub(used, line) for line in rest)


def _before(text: str, right_mm: float, y: float) -> str:
    """Words that end at a point."""
    return _letters("word", text, right_mm - ink_of(text, Face.SANS, _SIZE_MM).right, y)


def _axis(evidence: Evidence, line: _Line) -> Iterator[str]:
    """Seconds and half seconds through all that stands in the line."""
    halves = int(2 * LINE_S) + 1
    ends = range(halves) if line.from_s + LINE_S <= evidence.length_s else range(halves - 1)
    path = "".join(
        f"M{mm(line.x(line.from_s + half / 2))} {mm(line.courses_mm)}V{mm(line.words_mm - _GAP_MM)}"
        for half in ends
    )
    yield f'<path class="rule" d="{path}" {_RULE}/>'
    for second in range(int(LINE_S)):
        time_s = line.from_s + second
        yield _letters("word", f"{time_s:.0f} s", line.x(time_s) + 0.4, line.words_mm - 0.1)


def _courses(evidence: Evidence, line: _Line) -> Iterator[str]:
    first = round(line.from_s / evidence.step_s)
    last = min(first + round(LINE_S / evidence.step_s), len(evidence.levels_db))
    floor_mm = line.courses_mm + _COURSE_MM
    low_mm = floor_mm + _GAP_MM + _COURSE_MM
    yield _before("level", _LEFT_MM - 1, line.courses_mm + 0.7 * _COURSE_MM)
    yield _before("plucked", _LEFT_MM - 1, low_mm - 0.6 * _COURSE_MM)
    yield _before("moved", _LEFT_MM - 1, low_mm - 0.2 * _COURSE_MM)
    if last <= first:
        return
    xs = [line.x(index * evidence.step_s) for index in range(first, last)]
    heights = [1 + level / _LOUDEST_RANGE_DB for level in evidence.levels_db[first:last]]
    outline = "L".join(
        f"{mm(x)} {mm(floor_mm - _COURSE_MM * max(0.0, min(1.0, share)))}"
        for x, share in zip(xs, heights, strict=True)
    )
    yield (
        f'<path class="level" d="M{mm(xs[0])} {mm(floor_mm)}L{outline}L{mm(xs[-1])} {mm(floor_mm)}Z" '
        f'fill="#{_DARK:02x}{_DARK:02x}{_DARK:02x}"/>'
    )
    for role, values, dashes in (
        ("rise", evidence.rises, ""),
        ("change", evidence.changes, ' stroke-dasharray="0.7 0.5"'),
    ):
        course = "L".join(
            f"{mm(x)} {mm(low_mm - _COURSE_MM * max(0.0, min(1.0, value / _MOST_COURSE)))}"
            for x, value in zip(xs, values[first:last], strict=False)
        )
        stroke = f'fill="none" stroke="currentColor" stroke-width="0.18"{dashes}'
        yield f'<path class="{role}" d="M{course}" {stroke}/>'


def _grid(evidence: Evidence, line: _Line) -> Iterator[str]:
    """Odds as cells, one shade of grey for each step of two; the pitches' names beside them."""
    right_mm = line.x(min(line.from_s + LINE_S, evidence.length_s))
    for step, name in enumerate(evidence.pitch_names):
        if len(name) == 2 and name[0] in _NAMED:
            y = line.y(step)
            rule = f'fill="none" stroke="{_GRID_INK}" stroke-width="0.12"'
            yield f'<path class="rule" d="M{mm(_LEFT_MM)} {mm(y)}H{mm(right_mm)}" {rule}/>'
            yield _before(name, _LEFT_MM - 1, y + 0.35 * _SIZE_MM)
    cells: dict[int, list[str]] = {}
    times_s = [moment.time_s for moment in evidence.moments]
    gaps = [after - before for before, after in pairwise(times_s)] + [1.0]
    for moment, gap_s in zip(evidence.moments, gaps, strict=False):
        if not line.holds(moment.time_s):
            continue
        wide = max(0.25, min(_MOST_CELL_MM, gap_s * _MM_PER_S))
        for step, odds in enumerate(moment.odds):
            if odds > _LEAST_ODDS:
                shade = round((min(odds, _MOST_ODDS) - _LEAST_ODDS) / 2)
                x, y = line.x(moment.time_s), line.y(step) - 0.5 * _CELL_MM
                cells.setdefault(shade, []).append(f"M{mm(x)} {mm(y)}h{mm(wide)}v{mm(_CELL_MM)}h{mm(-wide)}z")
    shades = (_MOST_ODDS - _LEAST_ODDS) / 2
    for shade, outlines in sorted(cells.items()):
        grey = round(_PALE + (_DARK - _PALE) * shade / shades)
        fill = f"#{grey:02x}{grey:02x}{grey:02x}"
        yield f'<path class="odds" data-step="{shade}" d="{"".join(outlines)}" fill="{fill}"/>'


def _way(evidence: Evidence, line: _Line) -> Iterator[str]:
    """The ways through the grid: the one that is judged, then thinner all others."""
    yield from _path(evidence, line, evidence.way, ("way", 0.4))
    for other in evidence.others:
        yield from _path(evidence, line, other, ("other", 0.15))
    for extra in evidence.too_many:
        if line.holds(extra.time_s):
            y = line.y(extra.midi - evidence.lowest_midi)
            yield shape(MarkShape.PLUS, line.x(extra.time_s), y).element()


def _path(evidence: Evidence, line: _Line, way: Sequence[Found], look: tuple[str, float]) -> Iterator[str]:
    """One way as far as it lies in the line; ``look`` is its class and width."""
    inside = [found for found in way if line.holds(found.time_s)]
    if len(inside) > 1:
        role, width_mm = look
        points = "L".join(
            f"{mm(line.x(one.time_s))} {mm(line.y(one.midi - evidence.lowest_midi))}" for one in inside
        )
        stroke = f'fill="none" stroke="currentColor" stroke-width="{width_mm}"'
        yield f'<path class="{role}" d="M{points}" {stroke}/>'


def _notes(evidence: Evidence, line: _Line) -> Iterator[str]:
    """Names above, marks in the grid, reasons below, each note's in one column."""
    column_mm = name_mm = last_mm = -1e9
    for note in evidence.notes:
        at_s = note.found.time_s if note.found is not None else note.due_s
        if not line.holds(at_s):
            continue
        x = line.x(at_s)
        y = line.y((note.found.midi if note.found is not None else note.midi) - evidence.lowest_midi)
        yield f'<g class="note" data-note="{xml_text(note.note_id)}">'
        if x > last_mm:
            # of a chord the lowest; where there is no room beside the name before, above it
            raised = x < name_mm
            name_mm = -1e9 if raised else x + ink_of(note.name, Face.SANS, _SIZE_MM).right + 0.6
            yield _letters("name", note.name, x, line.courses_mm - 0.8 - (1.4 * _SIZE_MM if raised else 0.0))
        last_mm = x
        if note.shape is None:
            yield f'<circle class="dot" cx="{mm(x)}" cy="{mm(y)}" r="0.75"/>'
        else:
            yield shape(note.shape, x, y).element()
        column_mm = max(x, column_mm)
        foot = f"V{mm(line.words_mm - _GAP_MM)}L{mm(column_mm)} {mm(line.words_mm + 0.4)}"
        yield f'<path class="rule" d="M{mm(x)} {mm(y + 1)}{foot}" {_RULE}/>'
        lines = _broken(note.reasons)
        for number, words in enumerate(reversed(lines)):
            # words that run downwards are read from the right line to the left
            turned = "".join(_word_by_word("reason", words))
            left_mm = column_mm - 0.35 * _SIZE_MM + number * _COLUMN_MM
            yield f'<g transform="translate({mm(left_mm)} {mm(line.words_mm + 0.8)}) rotate(90)">{turned}</g>'
        column_mm += len(lines) * _COLUMN_MM
        yield "</g>"


def _broken(reasons: Sequence[str]) -> list[str]:
    """The reasons one after another, in as many lines as there are lengths of the column in them."""
    lines = [""]
    for reason in reasons:
        longer = f"{lines[-1]}, {reason}" if lines[-1] else reason
        if lines[-1] and ink_of(longer, Face.SANS, _SIZE_MM).width > _WORDS_MM - 2:
            lines.append(reason)
        else:
            lines[-1] = longer
    return lines
