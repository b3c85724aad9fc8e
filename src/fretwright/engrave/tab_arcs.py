"""Slurs and slides in the tab: an arc over each slurred pair, its letter over the arc.

An arc fits between its string and the next one, and its letter into the space above; both give way to fret
numbers, and the letter to bar lines as well. Where several strings of a chord are slurred alike, the letter
stands once, over the highest.
"""

from collections.abc import Iterator, Sequence
from typing import Final, Literal

from fretwright.engrave.arcs import opening_x
from fretwright.engrave.bonds import LETTERS, Bond
from fretwright.engrave.ink import Arc, Box, Ink, Line, Text, centred, ink_of
from fretwright.engrave.marks import LETTER_FACE, LETTER_SIZE
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.staff import Drawing, HeadSpot
from fretwright.engrave.style import ARC_MIDDLE, DIGIT_HEIGHT, TAB_SPACE
from fretwright.score.note import Attack

_RISE: Final = 0.42
_FOOT: Final = DIGIT_HEIGHT / 2 + 0.16
"""How far from its string's line an arc starts."""
_LOW_FOOT: Final = 0.55
_LOW_RISE: Final = 0.2
_WAYS: Final = (
    (-1, True, _FOOT, _RISE), (-1, False, _FOOT, _RISE), (1, False, _FOOT, _RISE), (1, True, _FOOT, _RISE),
    (-1, False, _LOW_FOOT, _LOW_RISE), (1, False, _LOW_FOOT, _LOW_RISE), (-1, True, _FOOT, _LOW_RISE),
    (1, True, _FOOT, _LOW_RISE), (-1, False, _FOOT, _LOW_RISE), (1, False, _FOOT, _LOW_RISE),
)  # fmt: skip
"""What is tried for an arc: its side, whether from middle to middle or between the two, how far, how high."""
_CLOSE_WAYS: Final = (*_WAYS[4:6], *_WAYS)
"""The same where several strings are slurred together: first what keeps to its own string."""
_ASIDE: Final = (0.0, -0.7, 0.7, -1.4, 1.4)
_NEAR: Final = 2.0
"""Nothing further than this beside a pair can be in the way of its marks."""
_LEAN: Final = 0.4
"""How far a slide's stroke starts and ends off its string's line."""


def tab_arcs(
    pairs: Sequence[Bond],
    drawing: Drawing,
    system: PlacedSystem,
    standing: Sequence[Ink],
    corridors: Sequence[Box],
) -> list[Ink]:
    """All arcs, letters and strokes of slides in a system, clear of what stands there already.

    No letter stands in a corridor, where the arrow of a bend will rise.
    """
    drawn: list[Ink] = []
    strokes = {pair.last: list(_slide(pair, drawing, system)) for pair in pairs}
    taken = [box for each in standing for box in each.boxes]
    taken += [box for stroke in strokes.values() for each in stroke for box in each.boxes]
    lettered: set[tuple[object, ...]] = set()
    for pair in sorted(pairs, key=lambda pair: (pair.start, pair.string)):
        first, last = drawing.heads.get(pair.first), drawing.heads.get(pair.last)
        if (first is None and last is None) or pair.attack is None:
            continue
        left = first.left if first else opening_x(system)
        right = last.right if last else system.right
        near = [box for box in taken if box.right > left - _NEAR and box.left < right + _NEAR]
        if pair.is_struck:
            drawn.extend(strokes[pair.last])
            continue
        together = sum((other.start, other.end) == (pair.start, pair.end) for other in pairs) > 1
        arc = _arc(pair, (first, last), system, near, _CLOSE_WAYS if together else _WAYS)
        marks: list[Ink] = [arc]
        alike = (pair.start, pair.end, pair.attack)
        if last is not None and alike not in lettered:
            lettered.add(alike)
            crowded = last.is_crowded or first is None or first.is_crowded
            blocked = [*near, *corridors]
            marks.append(_letter(pair, arc, last.y, blocked, system, crowded=crowded))
        drawn.extend([*marks, *strokes[pair.last]])
        taken.extend(box for mark in marks for box in mark.boxes)
    return drawn


def _arc(
    pair: Bond,
    ends: tuple[HeadSpot | None, HeadSpot | None],
    system: PlacedSystem,
    taken: Sequence[Box],
    ways: Sequence[tuple[int, bool, float, float]],
) -> Arc:
    """Over the fret numbers' middles; where another number is in the way, between the two; else below."""
    first, last = ends
    opens: Literal["", "left", "right"] = "" if first and last else "right" if first else "left"
    known = first or last
    assert known is not None  # noqa: S101 - one of the two is always there
    best: tuple[int, Arc] | None = None
    for side, centred_on, foot, rise in ways:
        x0, x1 = opening_x(system), system.bars[-1].inner_right - 0.15
        if first is not None:
            x0 = (first.left + first.right) / 2 + 0.12 if centred_on else first.clear_right + 0.12
        if last is not None:
            x1 = (last.left + last.right) / 2 - 0.12 if centred_on else last.clear_left - 0.12
        y = known.y + side * foot
        arc = Arc(x0, y, x1, y, side * rise, ARC_MIDDLE, opens, role="slur", note=pair.last[0], layer="tab")
        met = sum(piece.meets(box) for piece in arc.boxes for box in taken)
        if best is None or met < best[0]:
            best = met, arc
        if not met:
            break
    assert best is not None  # noqa: S101 - the loop runs
    return best[1]


def _letter(
    pair: Bond, arc: Arc, string_y: float, taken: Sequence[Box], system: PlacedSystem, *, crowded: bool
) -> Text:
    """The letter in the space over its arc, clear of bar lines and of all that stands there.

    Where more than numbers stands there it may give way to the side before it moves up.
    """
    text = LETTERS[pair.attack or Attack.HAMMER_ON]
    half = ink_of(text, LETTER_FACE, LETTER_SIZE).width / 2
    middle = at = (arc.x0 + arc.x1) / 2
    y = string_y - (TAB_SPACE + 0.3 if string_y else _FOOT + _RISE + 0.28)
    if y > 0:
        for bar in system.bars:
            near = bar.inner_right - half - 0.3, bar.right + half + 0.3
            if near[0] < at < near[1]:
                at = min(near, key=lambda edge: abs(edge - middle))
    letter = centred(text, LETTER_FACE, LETTER_SIZE, at, y, role="letter", note=pair.last[0], layer="tab")
    # Where a letter moves aside it keeps clear of bar lines and of the signs that open the system.
    lines = [Box(bar.inner_right - 0.2, 0.0, bar.right + 0.2, 99.0) for bar in system.bars if crowded]
    lines.append(Box(-99.0, 0.0, opening_x(system), 99.0))
    height = 0.0
    while True:
        for aside in _ASIDE if crowded else (0.0,):
            moved = letter.moved(aside, height)
            if not any(moved.box.meets(box) for box in (*taken, *lines)):
                return moved
        height -= TAB_SPACE


def _slide(pair: Bond, drawing: Drawing, system: PlacedSystem) -> Iterator[Ink]:
    """The stroke along the string; up to the end of the line where the note it leads to stands on the next."""
    first, last = drawing.heads.get(pair.first), drawing.heads.get(pair.last)
    known = first or last
    if pair.attack is not Attack.SLIDE or known is None:
        return
    left, right = opening_x(system), system.bars[-1].inner_right - 0.15
    if first:
        left = (first.clear_right if first.is_crowded else first.right) + 0.25
    if last:
        right = (last.clear_left if last.is_crowded else last.left) - 0.25
    if right - left > 0.3:
        lean = -_LEAN if pair.falls else _LEAN
        yield Line(
            left, known.y + lean, right, known.y - lean, 0.13, role="slide", note=pair.last[0], layer="tab"
        )
