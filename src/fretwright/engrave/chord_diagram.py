"""Chord diagrams: how the hand holds a chord, as method books print it.

A voicing enters; one SVG leaves, in ink alone, every letter an outline, together with the box of each place.
A disc is a fingertip and a bar a finger that lies flat, each with the digit of its finger; a ring over the
nut is an open string, a cross a silent one. The same voicing gives the same bytes.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from fretwright.base.errors import RenderError
from fretwright.engrave.chord_diagram_layout import Bar, Below, ChordLayout, Mark, lay_out_chord
from fretwright.engrave.diagram import PAPER, SOFT, cross
from fretwright.engrave.ink import Box
from fretwright.engrave.lettering import mm, require_id, xml_text
from fretwright.engrave.svg import INK_COLOUR
from fretwright.engrave.walkthrough_words import fret_words, listed, number, ordinal, sentence
from fretwright.fretboard.neck import Place
from fretwright.fretboard.voicing import Barre, Voicing
from fretwright.score.note import Finger

_NUT_MM: Final = 1.1
_WIRE_MM: Final = 0.25
_RING_MM: Final = 0.3
_ROW_GAP_MM: Final = 4.0
_COLUMN_GAP_MM: Final = 3.0


@dataclass(frozen=True, slots=True)
class ChordDiagramStyle:
    """The choices that a caller makes for chord diagrams."""

    left_handed: bool | None = None
    """Whether it is mirrored, the lowest string on the right, as a left-handed player holds the neck; None
    where the neck says it."""
    name: bool = True
    """The chord's name above the diagram."""
    below: Below = "nothing"
    """What stands under each string that sounds: its note, its degree in the chord, or nothing."""


@dataclass(frozen=True, slots=True)
class ChordDiagram:
    """A drawn chord, or several in rows."""

    svg: str
    width_mm: float
    height_mm: float
    boxes: tuple[Mapping[Place, Box], ...]
    """For each chord the ink of each place that sounds, in mm from the top left corner of the picture."""
    title: str
    description: str
    """What it shows, in words, string by string from the lowest."""


def chord_diagram(
    voicing: Voicing,
    style: ChordDiagramStyle | None = None,
    *,
    title: str | None = None,
    description: str | None = None,
    id_prefix: str = "chord",
) -> ChordDiagram:
    """Draw one voicing.

    ``title`` is the name above it and that of the SVG, by default the chord's; ``description`` is what it
    shows, in words. Every id in the SVG starts with ``id_prefix``, so that several fit on one page.
    Raises :class:`RenderError` where the prefix is no XML name.
    """
    _require_id(id_prefix)
    picture = _Picture.of(voicing, style or ChordDiagramStyle(), title, description)
    layout = picture.layout
    size = f'width="{mm(layout.width_mm)}mm" height="{mm(layout.height_mm)}mm"'
    return ChordDiagram(
        svg="".join(_svg(picture, size, id_prefix)),
        width_mm=round(layout.width_mm, 3),
        height_mm=round(layout.height_mm, 3),
        boxes=(MappingProxyType(layout.box_of),),
        title=picture.title,
        description=picture.description,
    )


def chord_diagrams(
    voicings: Sequence[Voicing],
    style: ChordDiagramStyle | None = None,
    *,
    per_row: int = 4,
    title: str = "Chords",
    id_prefix: str = "chords",
) -> ChordDiagram:
    """Draw several voicings in rows of ``per_row``, their grids in line; each is a picture of its own.

    Raises :class:`RenderError` where there is none, and where the prefix is no XML name.
    """
    _require_id(id_prefix)
    if not voicings or per_row < 1:
        raise RenderError("There is no chord to draw.", "Give at least one, and one to a row.")
    drawn = [_Picture.of(voicing, style or ChordDiagramStyle()) for voicing in voicings]
    cell_mm = max(each.layout.width_mm for each in drawn)
    parts: list[str] = []
    boxes: list[Mapping[Place, Box]] = []
    top = 0.0
    for start in range(0, len(drawn), per_row):
        row = drawn[start : start + per_row]
        for column, each in enumerate(row):
            layout = each.layout
            left = column * (cell_mm + _COLUMN_GAP_MM) + (cell_mm - layout.width_mm) / 2
            size = (
                f'x="{mm(left)}" y="{mm(top)}" width="{mm(layout.width_mm)}" height="{mm(layout.height_mm)}"'
            )
            parts += _svg(each, size, f"{id_prefix}-{start + column + 1}")
            moved = {place: box.moved(left, top) for place, box in layout.box_of.items()}
            boxes.append(MappingProxyType(moved))
        top += max(each.layout.height_mm for each in row) + _ROW_GAP_MM
    columns = min(per_row, len(drawn))
    width, height = columns * (cell_mm + _COLUMN_GAP_MM) - _COLUMN_GAP_MM, top - _ROW_GAP_MM
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{mm(width)}mm" height="{mm(height)}mm" '
        f'viewBox="0 0 {mm(width)} {mm(height)}" class="chords" role="group" '
        f'aria-labelledby="{id_prefix}-title">\n<title id="{id_prefix}-title">{xml_text(title)}</title>\n'
    )
    return ChordDiagram(
        svg="".join([opening, *parts, "</svg>\n"]),
        width_mm=round(width, 3),
        height_mm=round(height, 3),
        boxes=tuple(boxes),
        title=title,
        description=" ".join(f"{each.title}: {each.description}" for each in drawn),
    )


@dataclass(frozen=True, slots=True)
class _Picture:
    """One chord laid out, with what is said of it."""

    layout: ChordLayout
    title: str
    description: str

    @classmethod
    def of(
        cls,
        voicing: Voicing,
        style: ChordDiagramStyle,
        title: str | None = None,
        description: str | None = None,
    ) -> "_Picture":
        title = title or voicing.chord.pretty
        name = title if style.name else None
        mirrored = voicing.neck.left_handed if style.left_handed is None else style.left_handed
        layout = lay_out_chord(voicing, name=name, below=style.below, left_handed=mirrored)
        return cls(layout, title, description or describe(voicing))


def _require_id(prefix: str) -> None:
    require_id(prefix)


def describe(voicing: Voicing) -> str:
    """The voicing in words: its barres, then every string from the lowest."""
    flat = [_barre_words(barre) for barre in voicing.barres]
    capo = [f"capo at fret {number(voicing.neck.capo)}"] if voicing.neck.capo else []
    strings = [
        f"{ordinal(string)} string {_string_words(voicing, string)}"
        for string in reversed(voicing.neck.tuning.strings)
    ]
    return " ".join(sentence(words) for words in (*capo, *flat, "; ".join(strings)))


def _barre_words(barre: Barre) -> str:
    finger = Finger(barre.finger).spoken
    strings = f"{ordinal(barre.low_string)} to {ordinal(barre.high_string)} string"
    return f"{finger} flat over the {strings} at {fret_words(barre.fret)}"


def _string_words(voicing: Voicing, string: int) -> str:
    fret, finger = voicing.frets[string - 1], voicing.fingers[string - 1]
    if fret is None:
        return "silent"
    name = voicing.chord.spell(voicing.neck.midi_at(Place(string, fret))).name.spoken
    held = [Finger(finger).spoken] if fret and finger else []
    return ", ".join([fret_words(fret), *held, name])


def legend(voicings: Sequence[Voicing]) -> str:
    """How to read these diagrams, for a caption: what rings, crosses, bars and digits mean."""
    parts = ["Numbers on dots are fingers"] if any(any(v.fingers) for v in voicings) else []
    if any(voicing.barres for voicing in voicings):
        parts.append("a bar is one finger laid flat")
    if any(0 in voicing.frets for voicing in voicings):
        parts.append("o is an open string")
    if any(None in voicing.frets for voicing in voicings):
        parts.append("x is a silent string")
    return sentence(listed(parts)) if parts else ""


def _svg(picture: _Picture, size: str, prefix: str) -> Iterator[str]:
    """One chord as an SVG element; ``size`` says how large it is and where it stands."""
    layout = picture.layout
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} '
        f'viewBox="0 0 {mm(layout.width_mm)} {mm(layout.height_mm)}" class="chord" role="img" '
        f'aria-labelledby="{prefix}-title" aria-describedby="{prefix}-desc">\n'
        f'<title id="{prefix}-title">{xml_text(picture.title)}</title>\n'
        f'<desc id="{prefix}-desc">{xml_text(picture.description)}</desc>\n'
    )
    yield f'<g class="neck" stroke="{SOFT}" stroke-width="{_WIRE_MM}">\n'
    for y in layout.wires:
        yield f'<path d="M{mm(layout.left_mm)} {mm(y)}H{mm(layout.right_mm)}"/>\n'
    yield f'</g>\n<g class="strings" stroke="{INK_COLOUR}">\n'
    for x, thickness in layout.strings:
        span = f"M{mm(x)} {mm(layout.top_mm)}V{mm(layout.bottom_mm)}"
        yield f'<path d="{span}" stroke-width="{mm(thickness)}"/>\n'
    if layout.nut is not None:
        left, right = layout.left_mm - 0.22, layout.right_mm + 0.22
        span = f"M{mm(left)} {mm(layout.nut - _NUT_MM / 2)}H{mm(right)}"
        yield f'<path class="nut" d="{span}" stroke-width="{_NUT_MM}"/>\n'
    yield f'</g>\n<g class="words" fill="{INK_COLOUR}">\n'
    for word in layout.words:
        yield f"{word.svg()}\n"
    yield "</g>\n"
    for bar in layout.bars:
        yield f"{_bar(bar)}\n"
    for mark in layout.marks:
        yield f"{_mark(mark, prefix)}\n"
    yield "</svg>\n"


def _bar(bar: Bar) -> str:
    r = bar.radius_mm
    box = (
        f'<rect x="{mm(bar.left_mm - r)}" y="{mm(bar.y_mm - r)}" width="{mm(bar.box.width)}" '
        f'height="{mm(2 * r)}" rx="{mm(r)}" fill="{INK_COLOUR}"/>'
    )
    return f'<g class="barre">{box}{bar.digit.svg(PAPER)}</g>'


def _mark(mark: Mark, prefix: str) -> str:
    x, y, r = mm(mark.x_mm), mm(mark.y_mm), mark.radius_mm
    if mark.kind == "silent":
        return cross("silent", mark.x_mm, mark.y_mm, r, _RING_MM)
    if mark.kind == "open":
        ring = f'r="{mm(r - _RING_MM / 2)}" fill="{PAPER}" stroke="{INK_COLOUR}" stroke-width="{_RING_MM}"'
        form = f'<circle cx="{x}" cy="{y}" {ring}/>'
    else:
        form = f'<circle cx="{x}" cy="{y}" r="{mm(r)}" fill="{INK_COLOUR}"/>'
    digit = mark.digit.svg(PAPER) if mark.digit else ""
    return f'<g id="{prefix}-s{mark.string}f{mark.fret}" class="{mark.kind}">{form}{digit}</g>'
