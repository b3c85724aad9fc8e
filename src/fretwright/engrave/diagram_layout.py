"""Where everything of a fretboard diagram stands, in millimetres.

The neck lies on its side with string 1 on top, as tab has it, and the nut on the left (on the right for
a left-handed player). Frets are spaced evenly and not to scale: a diagram is read for which fret, every
dot has to hold a digit, and the same shape must look the same wherever on the neck it lies, as printed
method books have it (common practice, no source).

Lengths in mm, x to the right and y downwards, the origin at the top left.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from fretwright.engrave.diagram_places import Stop, Subject
from fretwright.engrave.ink import Box, ink_of
from fretwright.engrave.lettering import Letters
from fretwright.engrave.outlines import Face

STRING_GAP_MM: Final = 5.6
_FRET_MM: Final = 10.5
_LONGEST_NECK_MM: Final = 150.0
_DOT_MM: Final = 2.3
_MARGIN_MM: Final = 0.5
_EDGE_MM: Final = 3.2
"""From the outer strings' lines to where a dot on them ends and the row below begins."""
_STUB_MM: Final = 2.2
"""How far strings run on where the neck does."""
_OPEN_MM: Final = 4.0
"""From the nut to the middle of an open string's ring."""
_CROSS_SHARE: Final = 0.6
"""Size of a dead string's cross, as a share of a dot's."""
_NAME_SIZE_MM: Final = 2.7
_LABEL_SIZE_MM: Final = 3.3
_LABEL_SHARE: Final = 1.45
"""Widest label on a dot, as a share of its radius."""
_NUMBER_SIZE_MM: Final = 2.9
_SIDE_DOTS_MM: Final = 0.45
_NUMBER_DROP_MM: Final = 4.3
_FEWEST_FRETS: Final = 5
_NEAR_NUT: Final = 2
_NEAR_NUT_WITH_OPENS: Final = 4

_INLAYS: Final = {
    3: 1,
    5: 1,
    7: 1,
    9: 1,
    12: 2,
    15: 1,
    17: 1,
    19: 1,
    21: 1,
    24: 2,
    27: 1,
    29: 1,
    31: 1,
    33: 1,
    36: 2,
}
"""Marks in the side of the neck, by fret of the wood (common practice, no source)."""

Role = Literal["dot", "label", "number", "inlay", "name", "capo"]


@dataclass(frozen=True, slots=True)
class Dot:
    """The mark of one place: a disc, or a square for the tonic; hollow for an open one, a cross if dead."""

    stop: Stop
    x_mm: float
    y_mm: float
    radius_mm: float
    label: Letters | None

    @property
    def box(self) -> Box:
        """Its ink, whatever its form."""
        r = self.radius_mm
        return Box(self.x_mm - r, self.y_mm - r, self.x_mm + r, self.y_mm + r)


@dataclass(frozen=True, slots=True)
class SideDot:
    """A mark in the side of the neck."""

    x_mm: float
    y_mm: float
    radius_mm: float = _SIDE_DOTS_MM

    @property
    def box(self) -> Box:
        """Its ink."""
        r = self.radius_mm
        return Box(self.x_mm - r, self.y_mm - r, self.x_mm + r, self.y_mm + r)


@dataclass(frozen=True, slots=True)
class Layout:
    """A diagram ready to be drawn."""

    width_mm: float
    height_mm: float
    strings: tuple[tuple[float, float, float, float], ...]
    """For each string from number 1: y, left end, right end and thickness."""
    wires: tuple[float, ...]
    """x of each fret wire, the nut not among them."""
    nut: float | None
    """x of the nut's middle, or of the capo; None where the diagram starts further up the neck."""
    top_mm: float
    bottom_mm: float
    dots: tuple[Dot, ...]
    side_dots: tuple[SideDot, ...]
    letters: tuple[Letters, ...]


@dataclass(frozen=True, slots=True)
class _Frame:
    """The stretch of the neck that is shown, and where it stands on the page."""

    first: int
    last: int
    fret_mm: float
    left_mm: float
    """x of the wire below the first fret, seen right-handed."""
    strings: int
    left_handed: bool

    @property
    def end_mm(self) -> float:
        """X of the last wire, seen right-handed."""
        return self.left_mm + (self.last - self.first + 1) * self.fret_mm

    @property
    def width_mm(self) -> float:
        """Width of the whole diagram."""
        return self.end_mm + _STUB_MM + _MARGIN_MM

    @property
    def bottom_mm(self) -> float:
        """Y of the lowest string."""
        return _EDGE_MM + STRING_GAP_MM * (self.strings - 1)

    @property
    def radius_mm(self) -> float:
        """Size of a dot: it leaves some string to be seen between two frets."""
        return min(_DOT_MM, 0.42 * self.fret_mm)

    def x(self, right_handed_mm: float) -> float:
        """Where that x lies on the page."""
        return self.width_mm - right_handed_mm if self.left_handed else right_handed_mm

    def middle(self, fret: int) -> float:
        """X of the middle between a fret's wire and the one below it; for fret 0 that of the open rings."""
        if fret == 0:
            return self.x(self.left_mm - _OPEN_MM)
        return self.x(self.left_mm + (fret - self.first + 0.5) * self.fret_mm)

    def y(self, string: int) -> float:
        """Y of a string's line."""
        return _EDGE_MM + STRING_GAP_MM * (string - 1)


def lay_out(subject: Subject, labels: str, *, left_handed: bool, string_names: bool) -> Layout:
    """Place the neck and every mark on it; ``labels`` as :meth:`Stop.label` takes it."""
    names = [pitch.name.pretty for pitch in subject.neck.tuning.open_pitches] if string_names else []
    frame = _frame(subject, names, left_handed=left_handed)
    shows_nut = frame.first == 1
    first_wire = 1 if shows_nut else 0
    wires = (
        frame.x(frame.left_mm + index * frame.fret_mm)
        for index in range(first_wire, frame.last - frame.first + 2)
    )
    return Layout(
        width_mm=frame.width_mm,
        height_mm=frame.bottom_mm + _EDGE_MM + _NUMBER_DROP_MM + 2 * _MARGIN_MM,
        strings=tuple(
            _string_line(frame, string, shows_nut=shows_nut) for string in subject.neck.tuning.strings
        ),
        wires=tuple(sorted(wires)),
        nut=frame.x(frame.left_mm) if shows_nut else None,
        top_mm=frame.y(1),
        bottom_mm=frame.bottom_mm,
        dots=tuple(_dot(stop, frame, labels) for stop in subject.stops),
        side_dots=tuple(_side_dots(subject, frame)),
        letters=(*_numbers(subject, frame), *_names(names, frame)),
    )


def _frame(subject: Subject, names: list[str], *, left_handed: bool) -> _Frame:
    frets = [stop.place.fret for stop in subject.stops]
    first, last = _stretch(frets, subject.neck.last_fret)
    name_column = _name_width(names) + 1.2 if names else 0.0
    column = name_column + (_OPEN_MM + _DOT_MM if 0 in frets else _STUB_MM)
    if first == 1 and subject.neck.capo:
        column = max(column, _width(_capo_words(subject), Face.SANS, _NAME_SIZE_MM) + _STUB_MM / 2)
    fret_mm = min(_FRET_MM, _LONGEST_NECK_MM / (last - first + 1))
    return _Frame(first, last, fret_mm, _MARGIN_MM + column, subject.neck.tuning.string_count, left_handed)


def _stretch(frets: list[int], last_fret: int) -> tuple[int, int]:
    """The first and the last fret to show: all that are used, from the nut where it is near."""
    fretted = [fret for fret in frets if fret] or [1]
    first, last = min(fretted), max(fretted)
    if first <= (_NEAR_NUT_WITH_OPENS if 0 in frets else _NEAR_NUT):
        first = 1
    last = min(max(last, first + _FEWEST_FRETS - 1), last_fret)
    return max(1, min(first, last - _FEWEST_FRETS + 1)), last


def _string_line(frame: _Frame, string: int, *, shows_nut: bool) -> tuple[float, float, float, float]:
    start, end = frame.left_mm - (0.0 if shows_nut else _STUB_MM), frame.end_mm + _STUB_MM
    left, right = sorted((frame.x(start), frame.x(end)))
    return frame.y(string), left, right, 0.16 + 0.3 * (string - 1) / (frame.strings - 1)


def _dot(stop: Stop, frame: _Frame, labels: str) -> Dot:
    x, y = frame.middle(stop.place.fret), frame.y(stop.place.string)
    if stop.is_dead:
        return Dot(stop, x, y, _CROSS_SHARE * frame.radius_mm, None)
    text = stop.label(labels)
    label = None
    if text:
        size = _LABEL_SIZE_MM * frame.radius_mm / _DOT_MM
        size *= min(1.0, _LABEL_SHARE * frame.radius_mm / _width(text, Face.SANS_SEMIBOLD, size))
        label = _centred("label", text, Face.SANS_SEMIBOLD, size, x, y)
    return Dot(stop, x, y, frame.radius_mm, label)


def _side_dots(subject: Subject, frame: _Frame) -> Iterator[SideDot]:
    for fret in range(frame.first, frame.last + 1):
        count = _INLAYS.get(fret + subject.neck.capo, 0)
        for index in range(count):
            aside = (index - (count - 1) / 2) * 4 * _SIDE_DOTS_MM
            yield SideDot(frame.middle(fret) + aside, frame.bottom_mm + _EDGE_MM)


def _numbers(subject: Subject, frame: _Frame) -> Iterator[Letters]:
    """The number of the first fret where the nut is out of sight, those of marked frets, and the capo."""
    y = frame.bottom_mm + _EDGE_MM + _NUMBER_DROP_MM
    size = min(_NUMBER_SIZE_MM, 0.4 * frame.fret_mm)
    for fret in range(frame.first, frame.last + 1):
        starts = fret == frame.first > 1
        if starts or fret + subject.neck.capo in _INLAYS:
            face = Face.SANS_SEMIBOLD if starts else Face.SANS
            x = frame.middle(fret) - _width(str(fret), face, size) / 2
            yield Letters("number", str(fret), face, size, x, y)
    if subject.neck.capo and frame.first == 1:
        text = _capo_words(subject)
        width = _width(text, Face.SANS, _NAME_SIZE_MM)
        at = frame.x(frame.left_mm)
        yield Letters("capo", text, Face.SANS, _NAME_SIZE_MM, at if frame.left_handed else at - width, y)


def _capo_words(subject: Subject) -> str:
    return f"capo {subject.neck.capo}"


def _names(names: list[str], frame: _Frame) -> Iterator[Letters]:
    for string, name in enumerate(names, start=1):
        at = frame.x(_MARGIN_MM + _name_width(names) / 2)
        yield _centred("name", name, Face.SANS, _NAME_SIZE_MM, at, frame.y(string))


def _name_width(names: list[str]) -> float:
    return max(_width(name, Face.SANS, _NAME_SIZE_MM) for name in names)


def _width(text: str, face: Face, size_mm: float) -> float:
    return ink_of(text, face, size_mm).width


def _centred(role: Role, text: str, face: Face, size_mm: float, x_mm: float, y_mm: float) -> Letters:
    """Letters whose ink has its middle at a point, but all digits and capitals on one line."""
    left, _, right, _ = ink_of(text, face, size_mm)
    height = -ink_of("1", face, size_mm).top
    return Letters(role, text, face, size_mm, x_mm - (left + right) / 2, y_mm + height / 2)
