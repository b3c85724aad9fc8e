"""From ink to SVG text.

The view box is in millimetres. Everything is filled and nothing stroked, so that one ``fill`` colours a note;
signs and letters are defined once and used where they stand. Each note is a group with its id in the staff
and in the tab. Numbers have at most three decimals; the same ink gives the same bytes.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from fretwright.engrave.glyphs import UNITS_PER_SPACE, glyph
from fretwright.engrave.ink import Arc, Glyph, Ink, Line, Patch, Text, Trace
from fretwright.engrave.outlines import text_outline
from fretwright.engrave.style import ARC_END

INK_COLOUR: Final = "#1b1a17"
"""Printer's black; a page may set another through ``.plate``."""

PX_PER_MM: Final = 96 / 25.4
"""CSS pixels; some renderers know no millimetres."""


@dataclass(frozen=True, slots=True)
class SvgText:
    """The words that go into the picture."""

    title: str
    description: str
    id_prefix: str


@dataclass(slots=True)
class _Definitions:
    """Outlines met so far, each with its id, in the order in which they were met."""

    prefix: str
    mm: float
    ids: dict[tuple[str, ...], str] = field(default_factory=dict)
    lines: list[str] = field(default_factory=list)

    def glyph(self, ink: Glyph) -> str:
        """Id of a sign at its size."""
        key = ("glyph", ink.name, f"{ink.scale:g}")
        if key not in self.ids:
            scale = self.mm * ink.scale / UNITS_PER_SPACE
            self._define(key, glyph(ink.name).path, scale)
        return self.ids[key]

    def text(self, ink: Text) -> str:
        """Id of a row of letters at its size."""
        key = ("text", ink.text, ink.face.value, f"{ink.size:g}")
        if key not in self.ids:
            self._define(key, text_outline(ink.text, ink.face, ink.size).path, self.mm)
        return self.ids[key]

    def _define(self, key: tuple[str, ...], path: str, scale: float) -> None:
        self.ids[key] = f"{self.prefix}-o{len(self.ids)}"
        self.lines.append(f'<path id="{self.ids[key]}" transform="scale({scale:.6g})" d="{path}"/>')


def write_svg(
    systems: Sequence[Sequence[Ink]], words: SvgText, width_mm: float, height_mm: float, mm: float
) -> str:
    """The picture; ``mm`` is the size of a staff space."""
    prefix = words.id_prefix
    definitions = _Definitions(prefix, mm)
    body: list[str] = []
    seen: dict[str, int] = {}
    for index, ink in enumerate(systems):
        body.append(f'<g class="system" data-system="{index}">')
        body.extend(_system(ink, definitions, mm, prefix, seen))
        body.append("</g>")
    size = f"{_n(width_mm)} {_n(height_mm)}"
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plate" role="img"'
        f' aria-labelledby="{prefix}-title {prefix}-desc" viewBox="0 0 {size}" fill="{INK_COLOUR}"'
        f' width="{_n(width_mm * PX_PER_MM)}" height="{_n(height_mm * PX_PER_MM)}">'
    )
    head = [
        opening,
        f'<title id="{prefix}-title">{escape(words.title)}</title>',
        f'<desc id="{prefix}-desc">{escape(words.description)}</desc>',
        "<defs>",
        *definitions.lines,
        "</defs>",
    ]
    return "\n".join([*head, *body, "</svg>", ""])


def _system(
    ink: Iterable[Ink], definitions: _Definitions, mm: float, prefix: str, seen: dict[str, int]
) -> Iterable[str]:
    """Lines, then shared signs by role, then the notes in order of time, staff before tab."""
    rules: dict[str, list[str]] = {}
    signs: dict[str, list[str]] = {}
    notes: dict[tuple[str, str], list[str]] = {}
    for each in ink:
        drawn = _draw(each, definitions, mm)
        if each.note is not None:
            notes.setdefault((each.layer, each.note), []).append(
                drawn if drawn.startswith("<") else f'<path d="{drawn}"/>'
            )
        elif drawn.startswith("<"):
            signs.setdefault(each.role, []).append(drawn)
        else:
            rules.setdefault(each.role, []).append(drawn)
    for role, paths in rules.items():
        yield f'<path class="{role}" d="{"".join(paths)}"/>'
    for role, uses in signs.items():
        yield f'<g class="{role}">{"".join(uses)}</g>'
    for (layer, note), parts in notes.items():
        name = f"{prefix}-{note}-{layer}"
        seen[name] = seen.get(name, 0) + 1
        unique = name if seen[name] == 1 else f"{name}-{seen[name]}"
        yield f'<g class="note" id={quoteattr(unique)} data-note={quoteattr(note)}>{"".join(parts)}</g>'


def _draw(ink: Ink, definitions: _Definitions, mm: float) -> str:
    """A ``use`` element for a sign or letters, path data for anything else."""
    if isinstance(ink, Glyph):
        return f'<use href="#{definitions.glyph(ink)}" x="{_n(ink.x * mm)}" y="{_n(ink.y * mm)}"/>'
    if isinstance(ink, Text):
        return f'<use href="#{definitions.text(ink)}" x="{_n(ink.x * mm)}" y="{_n(ink.y * mm)}"/>'
    if isinstance(ink, Trace):
        return _polygon(ink.outline, mm)
    if isinstance(ink, Patch):
        return _polygon(ink.points, mm)
    return _line(ink, mm) if isinstance(ink, Line) else _arc(ink, mm)


def _polygon(points: Sequence[tuple[float, float]], mm: float) -> str:
    return "M" + "L".join(f"{_n(x * mm)} {_n(y * mm)}" for x, y in points) + "Z"


def _line(ink: Line, mm: float) -> str:
    half = ink.thickness / 2
    if ink.x0 == ink.x1:
        top, bottom = sorted((ink.y0, ink.y1))
        return _rectangle(ink.x0 - half, top, ink.thickness, bottom - top, mm)
    if ink.y0 == ink.y1:
        left, right = sorted((ink.x0, ink.x1))
        return _rectangle(left, ink.y0 - half, right - left, ink.thickness, mm)
    points = (
        (ink.x0, ink.y0 - half),
        (ink.x1, ink.y1 - half),
        (ink.x1, ink.y1 + half),
        (ink.x0, ink.y0 + half),
    )
    return _polygon(points, mm)


def _rectangle(x: float, y: float, width: float, height: float, mm: float) -> str:
    return f"M{_n(x * mm)} {_n(y * mm)}h{_n(width * mm)}v{_n(height * mm)}h{_n(-width * mm)}Z"


def _arc(ink: Arc, mm: float) -> str:
    """A crescent: out along one curve, back along another, its tips cut blunt."""
    (cx0, cy0), (cx1, cy1) = ink.control
    # A cubic's middle moves by three quarters of its control points' shift.
    swell, tip = (ink.thickness - ARC_END) / 2 * 4 / 3, ARC_END / 2

    def at(x: float, y: float) -> str:
        return f"{_n(x * mm)} {_n(y * mm)}"

    return (
        f"M{at(ink.x0, ink.y0 - tip)}"
        f"C{at(cx0, cy0 - tip - swell)} {at(cx1, cy1 - tip - swell)} {at(ink.x1, ink.y1 - tip)}"
        f"L{at(ink.x1, ink.y1 + tip)}"
        f"C{at(cx1, cy1 + tip + swell)} {at(cx0, cy0 + tip + swell)} {at(ink.x0, ink.y0 + tip)}Z"
    )


def _n(value: float) -> str:
    """A number with at most three decimals and no needless character."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text
