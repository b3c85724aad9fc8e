"""The head of an instrument seen from the front: which peg turns which string, in what order they are tuned.

A tuning enters; one SVG leaves, in ink alone, every letter an outline. Each peg carries its string's number
and note; the strings run from the nut to their pegs. With pegs on both sides the thick strings are on the
left, the thickest nearest to the nut, as is usual (common practice, no source); with all pegs in a row the
thickest is nearest to the nut too. A left-handed instrument is the mirror image.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fretwright.engrave.diagram import PAPER, SOFT, Diagram
from fretwright.engrave.ink import ink_of
from fretwright.engrave.lettering import Letters, mm, require_id, xml_text
from fretwright.engrave.outlines import Face
from fretwright.engrave.svg import INK_COLOUR
from fretwright.engrave.walkthrough_words import listed, number, ordinal, sentence
from fretwright.fretboard.tuning import Tuning

_STEP_MM: Final = 11.0
"""From peg to peg along the head."""
_HALF_HEAD_MM: Final = 13.0
_HALF_NUT_MM: Final = 9.0
_NUT_SHARE: Final = 0.86
"""The outer strings stand in from the ends of the nut."""
_PEG_OUT_MM: Final = 5.0
"""From the edge of the head to the middle of a peg."""
_PEG_MM: Final = 3.6
_POST_IN_MM: Final = 4.5
_POST_MM: Final = 1.1
_NECK_MM: Final = 8.0
_TOP_MM: Final = 7.0
_SIDE_MM: Final = 20.0
_DIGIT_MM: Final = 3.3
_NOTE_MM: Final = 4.2


class PegSide(StrEnum):
    """How the pegs are arranged."""

    BOTH = "both sides"
    ROW = "in a row"


@dataclass(frozen=True, slots=True)
class _Peg:
    """One peg with its string."""

    string: int
    x_mm: float
    y_mm: float
    post_x_mm: float
    nut_x_mm: float
    is_left: bool
    note: str


def peg_diagram(
    tuning: Tuning, side: PegSide = PegSide.BOTH, *, left_handed: bool = False, id_prefix: str = "pegs"
) -> Diagram:
    """Draw the head with its pegs.

    Every id in the SVG starts with ``id_prefix``.
    Raises :class:`~fretwright.base.errors.RenderError` where the prefix is no XML name.
    """
    require_id(id_prefix)
    pegs = _pegs(tuning, side, left_handed=left_handed)
    rows = max(sum(peg.is_left for peg in pegs), sum(not peg.is_left for peg in pegs))
    height = _TOP_MM + rows * _STEP_MM + _NECK_MM
    width = 2 * (_HALF_HEAD_MM + _SIDE_MM)
    title = f"Pegs, seen from the front{', left-handed' if left_handed else ''}"
    description = _describe(tuning, side, pegs)
    return Diagram(
        svg="".join(_svg(pegs, width, height, (title, description), id_prefix)),
        width_mm=round(width, 3),
        height_mm=round(height, 3),
        boxes={},
        title=title,
        description=description,
        legend="Numbers are strings, from the thickest to the thinnest; letters are their notes.",
    )


def _pegs(tuning: Tuning, side: PegSide, *, left_handed: bool) -> list[_Peg]:
    """The pegs from the thickest string on."""
    count = tuning.string_count
    on_left = count if side is PegSide.ROW else (count + 1) // 2
    middle = _HALF_HEAD_MM + _SIDE_MM
    rows = max(on_left, count - on_left)
    base = _TOP_MM + (rows - 0.5) * _STEP_MM
    found = []
    for nth, string in enumerate(reversed(tuning.strings)):
        is_left = nth < on_left
        row = nth if is_left else count - 1 - nth
        way = -1 if is_left else 1
        nut = _NUT_SHARE * _HALF_NUT_MM * (2 * nth / max(count - 1, 1) - 1)
        mirror = -1 if left_handed else 1
        found.append(
            _Peg(
                string=string,
                x_mm=middle + mirror * way * (_HALF_HEAD_MM + _PEG_OUT_MM),
                y_mm=base - row * _STEP_MM,
                post_x_mm=middle + mirror * way * (_HALF_HEAD_MM - _POST_IN_MM),
                nut_x_mm=middle + mirror * nut,
                is_left=is_left != left_handed,
                note=tuning.open_pitch(string).name.pretty,
            )
        )
    return found


def _describe(tuning: Tuning, side: PegSide, pegs: list[_Peg]) -> str:
    """The pegs in words, column by column from the nut up."""
    parts = []
    for is_left in (True, False):
        column = [peg for peg in pegs if peg.is_left == is_left]
        column.sort(key=lambda peg: -peg.y_mm)
        if not column:
            continue
        names = [f"{ordinal(peg.string)} string, {_spoken(tuning, peg)}" for peg in column]
        where = "" if side is PegSide.ROW else f"on the {'left' if is_left else 'right'} "
        parts.append(sentence(f"{where}from the nut up: {'; '.join(names)}"))
    return " ".join(parts)


def _spoken(tuning: Tuning, peg: _Peg) -> str:
    return tuning.open_pitch(peg.string).name.spoken


def order_words(tuning: Tuning) -> str:
    """The order of the strings, from the thickest on, in one sentence."""
    names = [tuning.open_pitch(string).name.spoken for string in reversed(tuning.strings)]
    return sentence(
        f"{number(tuning.string_count)} strings, from the thickest to the thinnest: {listed(names)}"
    )


def _svg(pegs: list[_Peg], width: float, height: float, words: tuple[str, str], prefix: str) -> Iterator[str]:
    title, description = words
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{mm(width)}mm" height="{mm(height)}mm" '
        f'viewBox="0 0 {mm(width)} {mm(height)}" class="pegs" role="img" '
        f'aria-labelledby="{prefix}-title" aria-describedby="{prefix}-desc">\n'
        f'<title id="{prefix}-title">{xml_text(title)}</title>\n'
        f'<desc id="{prefix}-desc">{xml_text(description)}</desc>\n'
    )
    yield _head(width, height)
    nut = height - _NECK_MM
    left, right = width / 2 - _HALF_NUT_MM, width / 2 + _HALF_NUT_MM
    yield f'<g class="strings" stroke="{INK_COLOUR}" fill="none">\n'
    for peg in pegs:
        thickness = 0.18 + 0.09 * (peg.string - 1)
        path = f"M{mm(peg.nut_x_mm)} {mm(height)}V{mm(nut)}L{mm(peg.post_x_mm)} {mm(peg.y_mm)}"
        yield f'<path d="{path}" stroke-width="{mm(thickness)}"/>\n'
    yield f'<path class="nut" d="M{mm(left)} {mm(nut)}H{mm(right)}" stroke-width="1.1"/>\n</g>\n'
    for peg in pegs:
        yield _peg(peg, prefix)
    yield "</svg>\n"


def _head(width: float, height: float) -> str:
    """The outline of the head and the first bit of the neck."""
    middle, nut = width / 2, height - _NECK_MM
    left, right = middle - _HALF_HEAD_MM, middle + _HALF_HEAD_MM
    path = (
        f"M{mm(middle - _HALF_NUT_MM)} {mm(height)}V{mm(nut)}L{mm(left)} {mm(nut - 4)}V3"
        f"Q{mm(middle)} 0.4 {mm(right)} 3V{mm(nut - 4)}L{mm(middle + _HALF_NUT_MM)} {mm(nut)}V{mm(height)}"
    )
    return f'<path class="head" d="{path}" fill="{PAPER}" stroke="{SOFT}" stroke-width="0.3"/>\n'


def _peg(peg: _Peg, prefix: str) -> str:
    """A peg with its number, its post, and the note beside it."""
    digit = _centred(str(peg.string), _DIGIT_MM, peg.x_mm, peg.y_mm, "digit")
    beside = peg.x_mm + (-1 if peg.is_left else 1) * (_PEG_MM + 4.6)
    note = _centred(peg.note, _NOTE_MM, beside, peg.y_mm, "note")
    shaft = f"M{mm(peg.x_mm)} {mm(peg.y_mm)}H{mm(peg.post_x_mm)}"
    return (
        f'<g id="{prefix}-s{peg.string}" class="peg">'
        f'<path d="{shaft}" stroke="{SOFT}" stroke-width="0.5"/>'
        f'<circle cx="{mm(peg.post_x_mm)}" cy="{mm(peg.y_mm)}" r="{_POST_MM}" fill="{INK_COLOUR}"/>'
        f'<circle cx="{mm(peg.x_mm)}" cy="{mm(peg.y_mm)}" r="{_PEG_MM}" fill="{INK_COLOUR}"/>'
        f"{digit.svg(PAPER)}{note.svg(INK_COLOUR)}</g>\n"
    )


def _centred(text: str, size_mm: float, x_mm: float, y_mm: float, role: str) -> Letters:
    """Letters whose ink has its middle at a point."""
    left, top, right, bottom = ink_of(text, Face.SANS, size_mm)
    return Letters(role, text, Face.SANS, size_mm, x_mm - (left + right) / 2, y_mm - (top + bottom) / 2)
