"""Progress as pictures: a chart of weeks, drawn as the plates are.

Shapes and words carry the meaning, and nothing is coloured. Every chart is told in words in its description,
and a table of the same numbers belongs beside it. Words are text in the sans of the pages and no outlines, as
on plates: a page holds many charts, and no chart leaves its page. The same input gives the same bytes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Final

from fretwright.base.errors import RenderError
from fretwright.engrave.diagram import PAPER, SOFT
from fretwright.engrave.heard_pieces import WORD_MM, Piece, block, polygon, width_of
from fretwright.engrave.ink import Box
from fretwright.engrave.lettering import mm, require_id, xml_text
from fretwright.engrave.svg import INK_COLOUR, PX_PER_MM

WIDE_MM: Final = 140.0
NARROW_MM: Final = 62.0
"""For a page of 44 rem and for a phone: letters are then as large as a page's small print."""
_PLOT_MM: Final = 38.0
_MARK_MM: Final = 0.9
_LINE_MM: Final = 0.3
_RULE_MM: Final = 0.12
_GAP_MM: Final = 1.6
_NICE_STEPS: Final = (1, 2, 5, 10, 20, 25, 50, 100)
_A_WEEK: Final = 7
_FONTS: Final = "Libre Franklin, Helvetica Neue, Arial, sans-serif"


@dataclass(frozen=True, slots=True)
class Line:
    """One row of numbers over the weeks."""

    name: str
    points: tuple[tuple[date, float], ...]
    """Monday and value, in order of time; weeks without a value are absent, and the line is broken there."""
    hollow: bool = False
    """Drawn with rings on a dashed line; otherwise with discs on a full one."""


@dataclass(frozen=True, slots=True)
class Level:
    """A value to compare with: a goal, a limit."""

    name: str
    value: float


@dataclass(frozen=True, slots=True)
class Chart:
    """What a chart shows."""

    title: str
    unit: str
    """Over the scale: ``beats a minute``."""
    lines: tuple[Line, ...]
    levels: tuple[Level, ...] = ()
    from_zero: bool = False
    """Whether the scale has to reach 0."""


def draw_chart(chart: Chart, *, width_mm: float = WIDE_MM, id_prefix: str = "chart") -> str:
    """The chart as an SVG whose ids start with ``id_prefix``.

    Raises :class:`~fretwright.base.errors.RenderError` where there is nothing to draw.
    """
    require_id(id_prefix)
    if not any(line.points for line in chart.lines):
        raise RenderError(f"There is nothing to draw for {chart.title!r}.")
    frame = _Frame.of(chart, width_mm)
    pieces = [
        *_scale(chart, frame),
        *_weeks(frame),
        *(piece for level in chart.levels for piece in _level(level, frame)),
        # discs last: a ring would hide the disc of the same value
        *(piece for line in sorted(chart.lines, key=_is_full) for piece in _line(line, frame)),
    ]
    legend, bottom = _legend(chart, frame)
    pieces += legend
    return "\n".join(_svg(chart, pieces, width_mm, bottom, id_prefix)) + "\n"


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where a week and a value stand."""

    left: float
    right: float
    top: float
    bottom: float
    first: date
    last: date
    low: float
    high: float
    step: float

    @classmethod
    def of(cls, chart: Chart, width_mm: float) -> "_Frame":
        days = [day for line in chart.lines for day, _ in line.points]
        values = [value for line in chart.lines for _, value in line.points]
        values += [level.value for level in chart.levels]
        values += [0.0] if chart.from_zero else []
        low, high, step = _round_scale(min(values), max(values))
        left = max(width_of(_figure(value)) for value in _ticks(low, high, step)) + _GAP_MM
        top = WORD_MM + 2 * _GAP_MM
        return cls(left, width_mm - _GAP_MM, top, top + _PLOT_MM, min(days), max(days), low, high, step)

    def x(self, day: date) -> float:
        """Weeks side by side; a single week stands in the middle."""
        inner_left, inner_right = self.left + 4.0, self.right - 4.0
        if self.first == self.last:
            return (inner_left + inner_right) / 2
        share = (day - self.first).days / (self.last - self.first).days
        return inner_left + share * (inner_right - inner_left)

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)


def _round_scale(low: float, high: float) -> tuple[float, float, float]:
    """A scale of round figures around the values, with three to six of them."""
    spread = max(high - low, 1.0)
    step = next((float(one) for one in _NICE_STEPS if spread / one <= 4), spread / 4)
    floor = step * (low // step)
    ceiling = step * -(-high // step)
    return floor, ceiling if ceiling > floor else floor + step, step


def _ticks(low: float, high: float, step: float) -> list[float]:
    return [low + step * index for index in range(round((high - low) / step) + 1)]


def _scale(chart: Chart, frame: _Frame) -> Iterator[Piece]:
    yield _letters("label", chart.unit, 0.0, WORD_MM)
    for value in _ticks(frame.low, frame.high, frame.step):
        y = frame.y(value)
        figure = _figure(value)
        yield _rule(frame.left, frame.right, y)
        yield _letters("label", figure, frame.left - _GAP_MM - width_of(figure), y + 0.35 * WORD_MM)


def _weeks(frame: _Frame) -> Iterator[Piece]:
    """Each week's Monday under the plot, as many as there is room for; the first and the last always."""
    count = (frame.last - frame.first).days // _A_WEEK
    days = [date.fromordinal(frame.first.toordinal() + _A_WEEK * index) for index in range(count + 1)]
    y = frame.bottom + WORD_MM + _GAP_MM
    free_from, last_left = 0.0, frame.x(days[-1]) - width_of(_day(days[-1])) / 2
    for day in days:
        word = _day(day)
        left = frame.x(day) - width_of(word) / 2
        fits = left >= free_from and (day == days[-1] or left + width_of(word) + 2 * _GAP_MM <= last_left)
        yield block(
            "rule",
            Box(frame.x(day) - _RULE_MM / 2, frame.bottom, frame.x(day) + _RULE_MM / 2, frame.bottom + 0.8),
            SOFT,
        )
        if fits:
            yield _letters("label", word, left, y)
            free_from = left + width_of(word) + 2 * _GAP_MM


def _level(level: Level, frame: _Frame) -> Iterator[Piece]:
    y = frame.y(level.value)
    path = f"M{mm(frame.left)} {mm(y)}L{mm(frame.right)} {mm(y)}"
    box = Box(frame.left, y - _LINE_MM / 2, frame.right, y + _LINE_MM / 2)
    yield Piece("level", box, f'<path d="{path}" {_stroke(_LINE_MM, dashes="0.4 1.2")}/>')
    word = f"{level.name} {_figure(level.value)}"
    left = frame.right - width_of(word)
    above = y - 1.1 if y - 1.1 - WORD_MM > frame.top - 2 * _GAP_MM else y + 0.8 + 0.75 * WORD_MM
    yield _letters("word", word, left, above)


def _is_full(line: Line) -> bool:
    return not line.hollow


def _line(line: Line, frame: _Frame) -> Iterator[Piece]:
    spots = [(day, frame.x(day), frame.y(value)) for day, value in line.points]
    for (day, x, y), (following, next_x, next_y) in pairwise(spots):
        if (following - day).days > _A_WEEK:
            continue  # nothing is known of the weeks between
        box = Box(min(x, next_x), min(y, next_y), max(x, next_x), max(y, next_y))
        path = f"M{mm(x)} {mm(y)}L{mm(next_x)} {mm(next_y)}"
        dashes = "1.6 0.9" if line.hollow else None
        yield Piece("line", box, f'<path d="{path}" {_stroke(_LINE_MM, dashes=dashes)}/>')
    for _, x, y in spots:
        yield _mark(x, y, hollow=line.hollow)


def _mark(x: float, y: float, *, hollow: bool) -> Piece:
    r = _MARK_MM
    box = Box(x - r, y - r, x + r, y + r)
    if hollow:
        points = ((x - r, y), (x, y - r), (x + r, y), (x, y + r))
        ink = f'fill="{PAPER}" stroke="currentColor" stroke-width="{_LINE_MM}"'
        return Piece("mark", box, f'<path d="{polygon(points)}" {ink}/>')
    return Piece("mark", box, f'<circle cx="{mm(x)}" cy="{mm(y)}" r="{mm(0.85 * r)}"/>')


def _legend(chart: Chart, frame: _Frame) -> tuple[list[Piece], float]:
    """What each line is, where there is more than one."""
    bottom = frame.bottom + WORD_MM + 2 * _GAP_MM
    told = [line for line in chart.lines if line.points]
    if len(chart.lines) < 2:
        return [], bottom
    pieces: list[Piece] = []
    x, y = frame.left, bottom + WORD_MM
    for line in told:
        wide = 3 * _MARK_MM + width_of(line.name)
        if x + wide > frame.right and x > frame.left:
            x, y = frame.left, y + 1.6 * WORD_MM
        pieces.append(_mark(x + _MARK_MM, y - 0.35 * WORD_MM, hollow=line.hollow))
        pieces.append(_letters("word", line.name, x + 3 * _MARK_MM, y))
        x += wide + 5.0
    return pieces, y + _GAP_MM


def _svg(
    chart: Chart, pieces: Sequence[Piece], width_mm: float, height_mm: float, prefix: str
) -> Iterator[str]:
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart" role="img" '
        f'aria-labelledby="{prefix}-title {prefix}-desc" viewBox="0 0 {mm(width_mm)} {mm(height_mm)}" '
        f'fill="{INK_COLOUR}" color="{INK_COLOUR}" font-family="{_FONTS}" font-size="{WORD_MM}" '
        f'width="{mm(width_mm * PX_PER_MM)}" height="{mm(height_mm * PX_PER_MM)}">'
    )
    yield f'<title id="{prefix}-title">{xml_text(chart.title)}</title>'
    yield f'<desc id="{prefix}-desc">{xml_text(described(chart))}</desc>'
    yield from (piece.element() for piece in pieces)
    yield "</svg>"


def described(chart: Chart) -> str:
    """The chart in words: each line from its first week to its last."""
    parts = []
    for line in chart.lines:
        if not line.points:
            continue
        (first_day, first), (last_day, last) = line.points[0], line.points[-1]
        told = f"{line.name}: {_figure(first)} {chart.unit} in the week of {_long_day(first_day)}"
        if len(line.points) > 1:
            told += f", {_figure(last)} in the week of {_long_day(last_day)}"
        parts.append(f"{told}.")
    parts += [f"{level.name}: {_figure(level.value)}." for level in chart.levels]
    return " ".join(parts)


def _letters(role: str, text: str, x: float, y: float) -> Piece:
    """Words that start at x and stand on the line y."""
    box = Box(x, y - WORD_MM, x + width_of(text), y)
    return Piece(role, box, f'<text x="{mm(x)}" y="{mm(y)}">{xml_text(text)}</text>')


def _rule(left: float, right: float, y: float) -> Piece:
    return block("rule", Box(left, y - _RULE_MM / 2, right, y + _RULE_MM / 2), SOFT)


def _stroke(width_mm: float, *, dashes: str | None) -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'fill="none" stroke="currentColor" stroke-width="{width_mm}"{dashed}'


def _figure(value: float) -> str:
    return f"{round(value, 1):g}".replace("-", "\u2212")


_MONTHS: Final = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def _day(day: date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1][:3]}"


def _long_day(day: date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1]}"
