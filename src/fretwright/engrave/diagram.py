"""Fretboard diagrams: where a shape or an exercise lies on the neck.

A shape or a score enters; one SVG leaves, in ink alone, every letter an outline, together with the box
of each place. A note is a black disc, the tonic a black square, an open string hollow, a dead one a cross:
the form carries the meaning, never a colour. The same input gives the same bytes.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from fretwright.engrave.diagram_layout import Dot, Layout, lay_out
from fretwright.engrave.diagram_places import Stop, Subject, subject_of
from fretwright.engrave.ink import Box
from fretwright.engrave.lettering import mm, require_id, xml_text
from fretwright.engrave.svg import INK_COLOUR
from fretwright.engrave.walkthrough_words import fret_words, listed, number, ordinal, sentence
from fretwright.fretboard.neck import Place
from fretwright.fretboard.shapes import Shape
from fretwright.score.score import Score

Labels = Literal["fingers", "degrees", "notes"]

PAPER: Final = "#fff"
SOFT: Final = "#6b6862"
"""Wires, side dots and names: dark enough to be read (5.5 : 1 on paper), light enough to stand back."""

_NUT_MM: Final = 1.1
_WIRE_MM: Final = 0.25
_RING_MM: Final = 0.32


@dataclass(frozen=True, slots=True)
class DiagramStyle:
    """The choices that a caller makes for one diagram."""

    labels: Labels = "fingers"
    """What is written on the dots."""
    left_handed: bool | None = None
    """Whether it is mirrored, the nut on the right, as a left-handed player sees the neck; None where the
    neck says it."""
    string_names: bool = True
    """The open strings' notes beside the nut."""


@dataclass(frozen=True, slots=True)
class Diagram:
    """A drawn fretboard."""

    svg: str
    width_mm: float
    height_mm: float
    boxes: Mapping[Place, Box]
    """The dot of each place, in mm from the top left corner."""
    title: str
    description: str
    """What it shows, in words: every place with what stands on it."""
    legend: str
    """How to read it, for a caption: what numbers and squares mean."""


def fretboard_diagram(
    subject: Shape | Score,
    style: DiagramStyle | None = None,
    *,
    title: str | None = None,
    description: str | None = None,
    id_prefix: str = "fretboard",
) -> Diagram:
    """Draw every place of a shape or of a score on a stretch of the neck.

    ``title`` and ``description`` go into the SVG; by default they come from the subject. Every id in
    the SVG starts with ``id_prefix``, so that several fit on one page.
    Raises :class:`~fretwright.base.errors.RenderError` where there is no note to show, and where the
    prefix is no XML name.
    """
    require_id(id_prefix)
    style = style or DiagramStyle()
    shown = subject_of(subject)
    mirrored = shown.neck.left_handed if style.left_handed is None else style.left_handed
    layout = lay_out(shown, style.labels, left_handed=mirrored, string_names=style.string_names)
    title = title or shown.name
    description = description or _describe(shown)
    return Diagram(
        svg="".join(_svg(layout, title, description, id_prefix)),
        width_mm=round(layout.width_mm, 3),
        height_mm=round(layout.height_mm, 3),
        boxes=MappingProxyType({dot.stop.place: dot.box for dot in layout.dots}),
        title=title,
        description=description,
        legend=_legend(shown, style.labels),
    )


def _describe(subject: Subject) -> str:
    """Every place in words, string by string."""
    strings: dict[int, list[Stop]] = {}
    for stop in subject.stops:
        strings.setdefault(stop.place.string, []).append(stop)
    return " ".join(
        sentence(f"{ordinal(string)} string: {'; '.join(_stop_words(stop) for stop in stops)}")
        for string, stops in strings.items()
    )


def _stop_words(stop: Stop) -> str:
    words = [fret_words(stop.place.fret)]
    if stop.is_dead:
        return f"{words[0]}, dead"
    if stop.fingers:
        words.append(" or ".join(finger.spoken for finger in stop.fingers))
    words.append(f"the tonic {stop.pitch.name.spoken}" if stop.is_tonic else stop.pitch.name.spoken)
    return ", ".join(words)


def _legend(subject: Subject, labels: Labels) -> str:
    meaning = {
        "fingers": "Numbers are fingers",
        "degrees": "Numbers are degrees",
        "notes": "Letters are notes",
    }
    parts = [meaning[labels] if labels != "fingers" or any(s.fingers for s in subject.stops) else ""]
    if any(stop.is_tonic for stop in subject.stops):
        parts.append(f"squares are the tonic {subject.tonic.pretty}")
    if any(stop.place.fret == 0 and not stop.is_dead for stop in subject.stops):
        parts.append("hollow marks are open strings")
    if any(stop.is_dead for stop in subject.stops):
        parts.append("crosses are dead strings")
    if subject.neck.capo:
        parts.append(f"frets count from the capo at fret {number(subject.neck.capo)}")
    return sentence(listed([part for part in parts if part])) if any(parts) else ""


def _svg(layout: Layout, title: str, description: str, prefix: str) -> Iterator[str]:
    width, height = mm(layout.width_mm), mm(layout.height_mm)
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" class="fretboard" role="img" '
        f'aria-labelledby="{prefix}-title" aria-describedby="{prefix}-desc">\n'
        f'<title id="{prefix}-title">{xml_text(title)}</title>\n'
        f'<desc id="{prefix}-desc">{xml_text(description)}</desc>\n'
    )
    yield f'<g class="neck" stroke="{SOFT}" stroke-width="{_WIRE_MM}">\n'
    for x in layout.wires:
        yield f'<path d="M{mm(x)} {mm(layout.top_mm)}V{mm(layout.bottom_mm)}"/>\n'
    yield f'</g>\n<g class="strings" stroke="{INK_COLOUR}">\n'
    for y, left, right, thickness in layout.strings:
        yield f'<path d="M{mm(left)} {mm(y)}H{mm(right)}" stroke-width="{mm(thickness)}"/>\n'
    if layout.nut is not None:
        span = f"M{mm(layout.nut)} {mm(layout.top_mm - 0.2)}V{mm(layout.bottom_mm + 0.25)}"
        yield f'<path class="nut" d="{span}" stroke-width="{_NUT_MM}"/>\n'
    yield f'</g>\n<g class="marks" fill="{SOFT}">\n'
    for dot in layout.side_dots:
        yield f'<circle cx="{mm(dot.x_mm)}" cy="{mm(dot.y_mm)}" r="{mm(dot.radius_mm)}"/>\n'
    for letters in layout.letters:
        yield f"{letters.svg(SOFT if letters.role == 'name' else INK_COLOUR)}\n"
    yield "</g>\n"
    for mark in layout.dots:
        yield f"{_dot(mark, prefix)}\n"
    yield "</svg>\n"


def cross(kind: str, x_mm: float, y_mm: float, radius_mm: float, line_mm: float) -> str:
    """A cross that fills a square, of the class ``kind``."""
    reach = radius_mm - line_mm / 2
    side = mm(2 * reach)
    path = f"M{mm(x_mm - reach)} {mm(y_mm - reach)}l{side} {side}m0-{side}l-{side} {side}"
    return f'<path class="{kind}" d="{path}" stroke="{INK_COLOUR}" stroke-width="{line_mm}"/>'


def _dot(dot: Dot, prefix: str) -> str:
    place = dot.stop.place
    name = f"{prefix}-s{place.string}f{place.fret}"
    if dot.stop.is_dead:
        mark = cross("dead", dot.x_mm, dot.y_mm, dot.radius_mm, _RING_MM)
        return f'<g id="{name}" class="place">{mark}</g>'
    hollow = place.fret == 0
    kind = f"place{' tonic' if dot.stop.is_tonic else ''}{' open' if hollow else ''}"
    ink = (
        f'fill="{PAPER}" stroke="{INK_COLOUR}" stroke-width="{_RING_MM}"'
        if hollow
        else f'fill="{INK_COLOUR}"'
    )
    radius = dot.radius_mm - (_RING_MM / 2 if hollow else 0)
    if dot.stop.is_tonic:
        side = mm(2 * radius)
        form = (
            f'<rect x="{mm(dot.x_mm - radius)}" y="{mm(dot.y_mm - radius)}" '
            f'width="{side}" height="{side}" {ink}/>'
        )
    else:
        form = f'<circle cx="{mm(dot.x_mm)}" cy="{mm(dot.y_mm)}" r="{mm(radius)}" {ink}/>'
    label = dot.label.svg(INK_COLOUR if hollow else PAPER) if dot.label else ""
    return f'<g id="{name}" class="{kind}">{form}{label}</g>'
